// Settings as data: what is applied is what is read back, and what is written is what the machine file means.
#include "stepper_sim/machine/setting.hpp"

#include <gtest/gtest.h>

namespace {

using namespace stepper_sim;

machine::Machine one_axis() {
    machine::Machine machine;
    machine.axes.emplace_back().letter = 'Y';
    return machine;
}

TEST(Setting, WhatIsAppliedIsThePresentValueThen) {
    for (const machine::SettingKey key :
         {machine::SettingKey::max_speed, machine::SettingKey::max_acceleration,
          machine::SettingKey::speed_step, machine::SettingKey::steps_per_mm,
          machine::SettingKey::microsteps, machine::SettingKey::current}) {
        machine::Machine machine = one_axis();
        machine::apply({'Y', key, 8.0}, machine);
        EXPECT_DOUBLE_EQ(machine::present_value(machine, 'Y', key), 8.0) << machine::key_text(key);
        EXPECT_EQ(machine::present_value(machine, 'X', key), 0.0) << "no such axis";
    }
    for (const machine::SettingKey key :
         {machine::SettingKey::deviation, machine::SettingKey::pulse_high,
          machine::SettingKey::direction_setup, machine::SettingKey::direction_hold}) {
        machine::Machine machine = one_axis();
        machine::apply({0, key, 2e-6}, machine);
        EXPECT_DOUBLE_EQ(machine::present_value(machine, 0, key), 2e-6) << machine::key_text(key);
    }
}

TEST(Setting, IsWrittenAsInTheMachineFile) {
    EXPECT_EQ(machine::line_text({'Y', machine::SettingKey::max_acceleration, 4.03}),
              "axes.y.settings.max_acceleration = \"4030 mm/s^2\"");
    EXPECT_EQ(machine::line_text({'E', machine::SettingKey::steps_per_mm, 415812.5}),
              "axes.e.settings.steps_per_mm = 415.8125");
    EXPECT_EQ(machine::line_text({'X', machine::SettingKey::microsteps, 16.0}),
              "axes.x.microsteps = 16");
    EXPECT_EQ(machine::line_text({'X', machine::SettingKey::current, 1.4}),
              "axes.x.current = { rms = \"1.4 A\" }");
    EXPECT_EQ(machine::line_text({0, machine::SettingKey::pulse_high, 1.9e-6}),
              "controller.pulse_high = \"1.9 us\"");
    EXPECT_EQ(machine::value_text({'X', machine::SettingKey::current, 1.4}), "1.4 A RMS");
}

TEST(Setting, ANewLimitIsRoundedDownAndAFigureToTheNearest) {
    EXPECT_DOUBLE_EQ(machine::rounded(machine::SettingKey::max_speed, 0.0439999), 0.0439);
    EXPECT_DOUBLE_EQ(machine::rounded(machine::SettingKey::max_speed, 0.044), 0.044);
    EXPECT_DOUBLE_EQ(machine::rounded(machine::SettingKey::steps_per_mm, 79999.99999), 80000.0);
    EXPECT_EQ(machine::rounded(machine::SettingKey::max_speed, -1.0), 0.0);
}

}  // namespace
