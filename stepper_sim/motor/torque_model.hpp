/// Internal to stepper_sim/motor: the exact curves behind AvailableTorque. Read
/// available_torque.hpp instead.
#pragma once

#include <optional>
#include <string>
#include <utility>

#include "stepper_sim/motor/available_torque.hpp"
#include "stepper_sim/motor/pull_out_curve.hpp"
#include "stepper_sim/motor/running_factor.hpp"

namespace stepper_sim::detail {

struct Level {
    double low_Nm, nominal_Nm, high_Nm;
    bool beyond_curve;
};

/// A motor at one current and supply.
struct Condition {
    double peak_A = 0.0;
    double voltage_V = 0.0;
    double base_rad_s = 0.0;
};

struct TorqueModel {
    MotorConstants constants;
    MotorConstants weaker,
        stronger;  // for the low and high curves: they differ where the inductance is an estimate
    Condition here;
    RunningFactor running;
    double low_share = 1.0, high_share = 1.0;  // of the nominal
    std::optional<double>
        measured_rad_s;  // where the running factor was measured: there the band is narrower
    std::optional<PullOutInterpolant> curve;
    Condition published;     // of the curve
    bool wide_gaps = false;  // points so far apart that the band is wider between them
    bool from_plate =
        true;  // false: from the curve. A plate's model still promises nothing past the end of a curve.
    TorqueBasis basis = TorqueBasis::nameplate;
    std::string description;

    Level at(double rate_rad_s) const;
    bool beyond_curve(double rate_rad_s) const {
        return curve && published_rate(rate_rad_s) > curve->last_rad_s();
    }
    /// Running factor times rounded torque [N m] of `motor` at a condition.
    double plate_Nm(const MotorConstants& motor, const Condition& condition,
                    double rate_rad_s) const;
    /// Speed of the published condition that stands at the same share of its base speed, and
    /// back.
    double published_rate(double rate_rad_s) const { return rate_rad_s * rate_ratio(); }
    double rate_here(double published_rad_s) const { return published_rad_s / rate_ratio(); }
    /// Speed from which no curve promises any torque.
    double end_rad_s() const;

  private:
    double rate_ratio() const;
    Level curve_at(double rate_rad_s) const;
    /// Both shares at a speed.
    std::pair<double, double> plate_shares(double rate_rad_s) const;
};

}  // namespace stepper_sim::detail
