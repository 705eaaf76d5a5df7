#include "stepper_sim/motor/electrical.hpp"

#include <cmath>

namespace stepper_sim::motor {

namespace {

constexpr double kSameNumber = 0.03;  // far below the 41 % between the two readings
constexpr double kRoundingShare =
    1.005;  // a setting rounded to the drive's current steps is still "rated"

bool same(planner::Current a, planner::Current b) {
    return std::fabs(a / b - 1.0) <= kSameNumber;
}

}  // namespace

std::optional<SupplyRule> supply_rule(const machine::MotorPart& motor, planner::Voltage supply) {
    if (!motor.resistance) return {};
    SupplyRule rule;
    rule.ratio = supply.value() / (motor.rated_current.rms().value() * motor.resistance->value());
    if (rule.ratio < kSupplyRatioMin) {
        rule.grade = SupplyGrade::too_low;
    } else if (rule.ratio < kSupplyRatioBestFrom) {
        rule.grade = SupplyGrade::low;
    } else if (rule.ratio <= kSupplyRatioBestTo) {
        rule.grade = SupplyGrade::best;
    } else {
        rule.grade = rule.ratio <= kSupplyRatioMax ? SupplyGrade::high : SupplyGrade::too_high;
    }
    return rule;
}

CurrentUse current_use(const machine::MotorPart& motor, machine::RatedCurrent current) {
    const double rms_A = current.rms().value();
    CurrentUse use;
    use.share = rms_A / motor.rated_current.rms().value();
    use.loss_share = use.share * use.share;
    if (motor.resistance) use.loss_W = 2.0 * rms_A * rms_A * motor.resistance->value();
    if (use.share < kWeakCurrent) {
        use.grade = CurrentGrade::weak;
    } else if (use.share <= kRoundingShare) {
        use.grade = CurrentGrade::continuous;
    } else if (use.share <= 1.25) {
        use.grade = CurrentGrade::limited_time;
    } else {
        use.grade = use.share <= 1.5 ? CurrentGrade::seconds : CurrentGrade::never;
    }
    return use;
}

InertiaGrade inertia_grade(double load_kg_m2, double rotor_kg_m2) {
    const double ratio = load_kg_m2 / rotor_kg_m2;
    if (ratio <= 1.0) return InertiaGrade::good;
    if (ratio <= 3.0) return InertiaGrade::quick;
    if (ratio <= 10.0) return InertiaGrade::works;
    return ratio <= 20.0 ? InertiaGrade::poor : InertiaGrade::too_much;
}

BasisMistake basis_mistake(const machine::MotorPart& motor, const machine::DriverPart& driver,
                           machine::RatedCurrent setting) {
    const bool plate_is_peak = motor.rated_current.basis == machine::CurrentBasis::peak;
    const bool setting_is_peak = setting.basis == machine::CurrentBasis::peak;
    const bool carries_plate = same(setting.value, motor.rated_current.value);
    if (setting_is_peak && !plate_is_peak && carries_plate)
        return BasisMistake::plate_rms_set_as_peak;
    if (!setting_is_peak && plate_is_peak && carries_plate)
        return BasisMistake::plate_peak_set_as_rms;
    const bool driver_is_peak =
        driver.current_max && driver.current_max->basis == machine::CurrentBasis::peak;
    if (!setting_is_peak && driver_is_peak && same(setting.value, driver.current_max->value)) {
        return BasisMistake::driver_peak_set_as_rms;
    }
    return BasisMistake::none;
}

}  // namespace stepper_sim::motor
