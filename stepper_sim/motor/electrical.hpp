/// Electrical and inertia rules of motor makers, as numbers a check can grade: supply against coil
/// voltage, current against the plate, copper loss, load inertia against the rotor's, and the
/// mistake of reading an RMS current as a peak. The verdict and its words are stepper_sim/check's
/// business.
///
/// Model:   makers' rules of thumb, each with its source below
/// Formula: coil voltage = I R; copper loss = 2 I^2 R; loss share = (I/I_rated)^2
/// Symbols: I = RMS current per phase [A], R = phase resistance [ohm]
/// Valid:   chopper drives; resistance at the temperature of the plate (20 to 25 C), about 1.3
///          times as much when hot
/// Source:  Trinamic QSH4218 manual, tables 6.1 and 6.2 (read); motioncontroltips.com (2016) on
///          inertia ratios (read)
/// Checked by: Electrical.*
#pragma once

#include <cstdint>
#include <optional>

#include "stepper_sim/machine/parts.hpp"

namespace stepper_sim::motor {

/// Supply over coil voltage. Trinamic QSH4218 manual, table 6.2: at least 2, best 4 to 22, at most
/// 25 (above, switching losses heat the motor).
inline constexpr double kSupplyRatioMin = 2.0;
inline constexpr double kSupplyRatioBestFrom = 4.0;
inline constexpr double kSupplyRatioBestTo = 22.0;
inline constexpr double kSupplyRatioMax = 25.0;

enum class SupplyGrade : std::uint8_t { too_low, low, best, high, too_high };

struct SupplyRule {
    double ratio = 0.0;  // supply over I R
    SupplyGrade grade = SupplyGrade::best;
};

/// Grade of a supply for the motor's RATED current; absent where the plate gives no resistance.
std::optional<SupplyRule> supply_rule(const machine::MotorPart& motor, planner::Voltage supply);

/// How long a motor stands a current. Trinamic QSH4218 manual, table 6.1: 100 % for ever, 125 % for
/// a limited time, 150 % for seconds.
enum class CurrentGrade : std::uint8_t { weak, continuous, limited_time, seconds, never };

inline constexpr double kWeakCurrent =
    0.5;  // below, microstep errors grow because the torque nears the detent torque (same table)

struct CurrentUse {
    double share = 0.0;            // of the rated current
    double loss_share = 0.0;       // of the rated copper loss
    std::optional<double> loss_W;  // both phases; absent without a resistance
    CurrentGrade grade = CurrentGrade::continuous;
};

CurrentUse current_use(const machine::MotorPart& motor, machine::RatedCurrent current);

/// Load over rotor inertia: 1 good, up to 3 for quick machines, up to 10 works, above 20 not
/// (motioncontroltips.com 2016, read).
enum class InertiaGrade : std::uint8_t { good, quick, works, poor, too_much };

InertiaGrade inertia_grade(double load_kg_m2, double rotor_kg_m2);

/// The mistakes of basis that the numbers give away (two readings within 3 % of each other).
enum class BasisMistake : std::uint8_t {
    none,
    plate_rms_set_as_peak,  // a peak setting carries the plate's RMS number: 71 % of the rated
                            // current, 29 % less torque
    plate_peak_set_as_rms,  // an RMS setting carries the plate's peak number: 141 %, twice the heat
    driver_peak_set_as_rms,  // an RMS setting carries the driver's peak limit: 141 % of what the
                             // driver stands
};

BasisMistake basis_mistake(const machine::MotorPart& motor, const machine::DriverPart& driver,
                           machine::RatedCurrent setting);

}  // namespace stepper_sim::motor
