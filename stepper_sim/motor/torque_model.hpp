/// Internal to stepper_sim/motor: the exact curves behind AvailableTorque, whose header tells the bands. Read available_torque.hpp instead.
/// Model:   plate: the rounded torque of voltage_limit.hpp times the running factor; published: the maker's curve, transferred by the
///          plate's torque at the same share of the base speed
/// Formula: plate P(w) = k(Km w/V) M(w); transferred T(w) = T_pub(s) P(w)/P_pub(s), s = w wc_pub/wc, or w V_pub/V where one of them
///          never has its full torque
/// Symbols: k = running factor, M = rounded torque [N m], V = supply [V], wc = base speed [rad/s]; pub = at the curve's own conditions
/// Valid:   s is held within the published points, and low is 0 past the last; where the plate's model is spent there, the curve is scaled
///          by the current alone
/// Source:  fitted to makers' curves, see running_factor.hpp; derived here
/// Checked by: AvailableTorque.PublishedCurveIsMetAtItsPointsAndConditions, AvailableTorque.NothingIsPromisedPastThePublishedPoints,
///             AvailableTorque.TransferredCurveScalesSpeedWithTheCornerAndWidensItsBand
#pragma once

#include <optional>
#include <string>
#include <utility>

#include "stepper_sim/motor/available_torque.hpp"
#include "stepper_sim/motor/pull_out_curve.hpp"
#include "stepper_sim/motor/running_factor.hpp"

namespace stepper_sim::motor::detail {

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

}  // namespace stepper_sim::motor::detail
