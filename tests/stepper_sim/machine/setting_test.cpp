// Settings as data: what is applied is what is read back, and what is written is what the machine file means.
#include "stepper_sim/machine/setting.hpp"

#include <gtest/gtest.h>

namespace {

using namespace stepper_sim;

Machine one_axis() {
    Machine machine;
    machine.axes.emplace_back().letter = 'Y';
    return machine;
}

TEST(Setting, WhatIsAppliedIsThePresentValueThen) {
    for (const SettingKey key :
         {SettingKey::max_speed, SettingKey::max_acceleration, SettingKey::speed_step,
          SettingKey::steps_per_mm, SettingKey::microsteps, SettingKey::current}) {
        Machine machine = one_axis();
        apply({'Y', key, 8.0}, machine);
        EXPECT_DOUBLE_EQ(present_value(machine, 'Y', key), 8.0) << key_text(key);
        EXPECT_EQ(present_value(machine, 'X', key), 0.0) << "no such axis";
    }
    for (const SettingKey key : {SettingKey::deviation, SettingKey::pulse_high,
                                 SettingKey::direction_setup, SettingKey::direction_hold}) {
        Machine machine = one_axis();
        apply({0, key, 2e-6}, machine);
        EXPECT_DOUBLE_EQ(present_value(machine, 0, key), 2e-6) << key_text(key);
    }
}

TEST(Setting, IsWrittenAsInTheMachineFile) {
    EXPECT_EQ(line_text({'Y', SettingKey::max_acceleration, 4.03}),
              "axes.y.settings.max_acceleration = \"4030 mm/s^2\"");
    EXPECT_EQ(line_text({'E', SettingKey::steps_per_mm, 415812.5}),
              "axes.e.settings.steps_per_mm = 415.8125");
    EXPECT_EQ(line_text({'X', SettingKey::microsteps, 16.0}), "axes.x.microsteps = 16");
    EXPECT_EQ(line_text({'X', SettingKey::current, 1.4}), "axes.x.current = { rms = \"1.4 A\" }");
    EXPECT_EQ(line_text({0, SettingKey::pulse_high, 1.9e-6}), "controller.pulse_high = \"1.9 us\"");
    EXPECT_EQ(value_text({'X', SettingKey::current, 1.4}), "1.4 A RMS");
}

TEST(Setting, ANewLimitIsRoundedDownAndAFigureToTheNearest) {
    EXPECT_DOUBLE_EQ(rounded(SettingKey::max_speed, 0.0439999), 0.0439);
    EXPECT_DOUBLE_EQ(rounded(SettingKey::max_speed, 0.044), 0.044);
    EXPECT_DOUBLE_EQ(rounded(SettingKey::steps_per_mm, 79999.99999), 80000.0);
    EXPECT_EQ(rounded(SettingKey::max_speed, -1.0), 0.0);
}

}  // namespace
