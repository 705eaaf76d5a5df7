#include "stepper_sim/motor/electrical.hpp"

#include <gtest/gtest.h>

#include "tests/stepper_sim/motor/motor_samples.hpp"

namespace stepper_sim::motor {
namespace {

using samples::peak;
using samples::rms;
using samples::volts;

constexpr double kRounding = 1e-9;

TEST(Electrical, SupplyIsGradedAgainstTheCoilVoltage) {
    const machine::MotorPart motor = samples::motor();  // 2 A x 1.5 ohm = 3 V
    EXPECT_NEAR(supply_rule(motor, volts(24.0))->ratio, 8.0, kRounding);
    EXPECT_EQ(supply_rule(motor, volts(5.0))->grade, SupplyGrade::too_low);
    EXPECT_EQ(supply_rule(motor, volts(9.0))->grade, SupplyGrade::low);
    EXPECT_EQ(supply_rule(motor, volts(12.0))->grade, SupplyGrade::best);
    EXPECT_EQ(supply_rule(motor, volts(66.0))->grade, SupplyGrade::best);
    EXPECT_EQ(supply_rule(motor, volts(75.0))->grade, SupplyGrade::high);
    EXPECT_EQ(supply_rule(motor, volts(76.0))->grade, SupplyGrade::too_high);
    machine::MotorPart bare = motor;
    bare.resistance.reset();
    EXPECT_FALSE(supply_rule(bare, volts(24.0)));
}

TEST(Electrical, LossGrowsWithTheSquareOfCurrent) {
    const CurrentUse use = current_use(samples::motor(), rms(2.5));
    EXPECT_NEAR(use.loss_share, 1.5625, kRounding);  // the maker's table: 125 % gives 156 %
    EXPECT_NEAR(*use.loss_W, 2.0 * 6.25 * 1.5, kRounding);
    EXPECT_EQ(use.grade, CurrentGrade::limited_time);
    EXPECT_EQ(current_use(samples::motor(), rms(2.0)).grade, CurrentGrade::continuous);
    EXPECT_EQ(current_use(samples::motor(), rms(3.0)).grade, CurrentGrade::seconds);
    EXPECT_EQ(current_use(samples::motor(), rms(3.2)).grade, CurrentGrade::never);
    EXPECT_EQ(current_use(samples::motor(), rms(0.9)).grade, CurrentGrade::weak);
}

TEST(Electrical, InertiaRatioIsGraded) {
    EXPECT_EQ(inertia_grade(1e-5, 1e-5), InertiaGrade::good);
    EXPECT_EQ(inertia_grade(2e-5, 1e-5), InertiaGrade::quick);
    EXPECT_EQ(inertia_grade(9e-5, 1e-5), InertiaGrade::works);
    EXPECT_EQ(inertia_grade(15e-5, 1e-5), InertiaGrade::poor);
    EXPECT_EQ(inertia_grade(21e-5, 1e-5), InertiaGrade::too_much);
}

TEST(Electrical, RmsReadAsPeakIsRecognised) {
    const machine::MotorPart motor = samples::motor();
    machine::DriverPart driver;
    driver.current_max = peak(2.5);
    EXPECT_EQ(basis_mistake(motor, driver, peak(2.0)), BasisMistake::plate_rms_set_as_peak);
    EXPECT_EQ(basis_mistake(motor, driver, rms(2.0)), BasisMistake::none);
    EXPECT_EQ(basis_mistake(motor, driver, peak(2.83)),
              BasisMistake::none);  // the right reading of 2 A RMS
    EXPECT_EQ(basis_mistake(motor, driver, rms(2.5)), BasisMistake::driver_peak_set_as_rms);
    machine::MotorPart peak_plate = motor;
    peak_plate.rated_current = peak(2.0);
    EXPECT_EQ(basis_mistake(peak_plate, driver, rms(2.0)), BasisMistake::plate_peak_set_as_rms);
}

}  // namespace
}  // namespace stepper_sim::motor
