/// Torque a motor can make at speed, with its error: low, nominal and high curves at one supply and
/// current. A published pull-out curve comes first, at its own supply and current or transferred to
/// others; without one, the plate and the running factor. Torque asked is asked_torque.hpp's
/// business; the ideal motor behind this is voltage_limit.hpp.
///
/// Model:   published: the maker's points, monotone cubic between them (PCHIP), flat below the
///          first, nothing promised past the last; transferred: T(w) = T_pub(s) k M(w)/M(s), s = w
///          wc_pub/wc, so that points at the same share of base speed correspond; plate: T(w) =
///          k(w) M(w)
/// Formula: low, nominal, high = (1 - e, 1, 1 + e) T for curves, e = 0.15 at the curve's own
///          conditions, from 0.25 elsewhere, more the further the supply is off, and more between two points that
///          are far apart; (0.61, 0.95, 1.20) (1 - 0.195 E/V) M(w) for plates, high
///          never above 1.1 Km I
/// Symbols: M = rounded torque of each condition [N m] (voltage_limit.hpp), Km I = holding torque
///          at the current, wc = its base speed [rad/s], k = running factor (running_factor.hpp),
///          E/V = back EMF over supply, w, s = rotor speed [rad/s]
/// Valid:   verdicts of "clear" use low, of "fault" use high; past the last published point low is
///          0 and `beyond_curve` is set, with a given running factor too; beyond 1.5 wc all curves are upper bounds that depend on
///          damping
/// Source:  curves: the motor's own document; transfer and bands: fitted, see running_factor.hpp.
///          Scaling the speed axis with supply is also a maker's first estimate (Trinamic QSH4218
///          manual, sect. 6.3, read)
/// Checked by: AvailableTorque.*, RunningFactorFit.*
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "planner/units/units.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/motor/voltage_limit.hpp"

namespace stepper_sim::motor {

struct TorqueBand {
    planner::Torque low, nominal, high;
    Region region = Region::supported;
    bool beyond_curve = false;  // past the last published point: nothing supports the nominal
};

enum class TorqueBasis : std::uint8_t {
    published_curve,
    transferred_curve,
    nameplate,
    estimated_nameplate
};

const char* name(TorqueBasis basis);  // "published curve", ...

namespace detail {
struct TorqueModel;  // exact curves; torque_model.hpp
}

class AvailableTorque {
  public:
    /// Exact band at a speed (its sign does not matter). About 200 ns.
    TorqueBand at(planner::AngularSpeed speed) const;

    /// The same curves by table for hot loops, about 2 ns: low is never above the exact curve, high
    /// never below it.
    double low_Nm(double rate_rad_s) const {
        const Cell& c = cell(rate_rad_s);
        const double torque_Nm = c.low + c.low_slope * std::fabs(rate_rad_s);
        return torque_Nm > 0.0 ? torque_Nm : 0.0;
    }
    /// No more than low_Nm() at any speed up to this one.
    double least_low_Nm(double rate_rad_s) const { return least_low_Nm_[place(rate_rad_s)]; }
    double nominal_Nm(double rate_rad_s) const {
        const Cell& c = cell(rate_rad_s);
        return c.nominal + c.nominal_slope * std::fabs(rate_rad_s);
    }
    double high_Nm(double rate_rad_s) const {
        const Cell& c = cell(rate_rad_s);
        return c.high + c.high_slope * std::fabs(rate_rad_s);
    }

    /// Highest speed at which the full current still flows; 0 if it never does.
    planner::AngularSpeed base_speed() const;
    /// Speed of the last published point, carried to this supply and current; absent without a
    /// curve.
    std::optional<planner::AngularSpeed> curve_end() const;
    TorqueBasis basis() const;
    const MotorConstants& constants() const;
    planner::Current peak_current() const;
    planner::Voltage supply() const;
    /// One sentence for reports: what the curves rest on, with the source.
    const std::string& description() const;

  private:
    friend AvailableTorque available_torque(const machine::MotorPart&, machine::RatedCurrent,
                                            planner::Voltage, std::optional<double>,
                                            std::optional<planner::AngularSpeed>);

    struct Cell {  // torque = value + slope * rate inside one speed interval
        double low, low_slope, nominal, nominal_slope, high, high_slope;
    };

    std::size_t place(double rate_rad_s) const {
        return static_cast<std::size_t>(
            std::min(last_cell_, std::fabs(rate_rad_s) * cells_per_rad_s_));
    }
    const Cell& cell(double rate_rad_s) const { return cells_[place(rate_rad_s)]; }
    Cell tabulate(double from_rad_s, double to_rad_s) const;

    std::shared_ptr<const detail::TorqueModel> model_;
    std::vector<Cell> cells_;
    std::vector<double> least_low_Nm_;  // by cell: of it and those below
    double cells_per_rad_s_ = 0.0;
    double last_cell_ = 0.0;  // the cell past the table: no torque promised
};

/// The curves of `motor` driven at `current` (its basis is honoured) from `supply`.
/// `running_factor` (> 0): measured or fitted level of this motor on this machine, relative to the
/// ideal torque at low speed; it replaces the default level and narrows the band, and a published
/// curve made elsewhere gives way to it. `measured_at`: the motor's speed at which it was; the band is narrow near
/// that alone.
AvailableTorque available_torque(const machine::MotorPart& motor, machine::RatedCurrent current,
                                 planner::Voltage supply, std::optional<double> running_factor = {},
                                 std::optional<planner::AngularSpeed> measured_at = {});

/// Of an axis as the machine file has it.
AvailableTorque available_torque(const machine::Axis& axis);

}  // namespace stepper_sim::motor
