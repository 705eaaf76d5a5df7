#include "stepper_sim/motor/available_torque.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <numbers>
#include <utility>

#include "planner/units/units_text.hpp"
#include "stepper_sim/motor/torque_model.hpp"

namespace stepper_sim::motor {

namespace {

using detail::Condition;
using detail::Level;
using detail::TorqueModel;

constexpr int kCells = 512;
constexpr double kBorder = 1e-9;  // far above rounding
constexpr int kSamples = 16;  // exact values inside a cell that its straight line is held against
constexpr double kTransferSlack =
    1e-3;  // of the torque: a transferred curve may turn between two samples, by far less than this
constexpr double kSameCondition = 0.02;  // supply and current agree with the published ones

Condition condition(const MotorConstants& constants, planner::Current peak,
                    planner::Voltage supply) {
    return {peak.value(), supply.value(), base_rate_rad_s(constants, peak.value(), supply.value())};
}

double distance(const machine::PullOutCurve& curve, planner::Current peak,
                planner::Voltage supply) {
    return std::fabs(std::log(curve.supply / supply)) +
           std::fabs(std::log(curve.current.peak() / peak));
}

std::vector<machine::PullOutCurve>::const_iterator nearest(const machine::MotorPart& motor,
                                                           planner::Current peak,
                                                           planner::Voltage supply) {
    return std::min_element(motor.curves.begin(), motor.curves.end(),
                            [&](const machine::PullOutCurve& a, const machine::PullOutCurve& b) {
                                return distance(a, peak, supply) < distance(b, peak, supply);
                            });
}

std::string condition_text(planner::Voltage supply, planner::Current peak) {
    return planner::format_quantity(supply) + ", " +
           planner::format_quantity(peak / std::sqrt(2.0), 3) + " RMS";
}

std::string cited(const machine::Source& source) {
    return source.known == machine::Known::read
               ? source.document
               : source.document + " (" + std::string(machine::to_word(source.known)) + ")";
}

std::string end_text(const TorqueModel& model) {
    return planner::format_number(
               model.rate_here(model.curve->last_rad_s()) * 30.0 / std::numbers::pi, 3) +
           " rpm";
}

void set_curve(TorqueModel& model, const machine::PullOutCurve& curve) {
    model.curve.emplace(curve);
    model.published = condition(model.constants, curve.current.peak(), curve.supply);
}

void use_curve(TorqueModel& model, const machine::MotorPart& motor, planner::Current peak,
               planner::Voltage supply) {
    const machine::PullOutCurve& curve = *nearest(motor, peak, supply);
    set_curve(model, curve);
    model.from_plate = false;
    const bool same = std::fabs(curve.supply / supply - 1.0) <= kSameCondition &&
                      std::fabs(curve.current.peak() / peak - 1.0) <= kSameCondition;
    const double spread = same ? kPublishedSpread : transfer_spread(curve.supply / supply);
    model.low_share = 1.0 - spread;
    model.high_share = 1.0 + spread;
    model.basis = same ? TorqueBasis::published_curve : TorqueBasis::transferred_curve;
    const std::string at = condition_text(curve.supply, curve.current.peak());
    const std::string where = same ? " at its own " + at
                                   : " at " + at + ", scaled to " + condition_text(supply, peak) +
                                         " in proportion to the base speed";
    double gap = 0.0;  // the widest place between two points
    const std::vector<double>& rates = model.curve->rates_rad_s();
    for (std::size_t i = 1; i < rates.size(); ++i)
        gap = std::max(gap, model.curve->gap_spread(0.5 * (rates[i - 1] + rates[i])));
    model.wide_gaps = gap > spread;
    model.description = "published pull-out curve" + where + ", band +-" +
                        planner::format_number(100.0 * spread, 2) + " %" +
                        (model.wide_gaps ? " and up to " + planner::format_number(100.0 * gap, 2) +
                                               " % between points far apart"
                                         : "") +
                        ", up to " + end_text(model) + "; source: " + cited(curve.source);
}

void use_plate(TorqueModel& model, const machine::MotorPart& motor,
               std::optional<double> running_factor) {
    const MotorConstants& c = model.constants;
    model.running.factor = running_factor.value_or(kRunningFactor);
    model.low_share = running_factor ? kMeasuredLow : kRunningFactorLow / kRunningFactor;
    model.high_share = running_factor ? kMeasuredHigh : kRunningFactorHigh / kRunningFactor;
    if (c.inductance_estimated) {
        model.weaker.inductance_H *= kInductanceSpread;
        model.stronger.inductance_H /= kInductanceSpread;
    }
    const bool estimated = c.inductance_estimated || c.resistance_estimated;
    model.basis = estimated ? TorqueBasis::estimated_nameplate : TorqueBasis::nameplate;
    model.description =
        std::string(motor.curves.empty() ? "no published curve: " : "") + "plate values times " +
        (running_factor ? "the running factor " + planner::format_number(*running_factor, 3) +
                              " of this machine"
                        : "the running factor fitted to published curves of other motors") +
        ", at low speed " + planner::format_number(model.low_share * model.running.factor, 2) +
        " to " + planner::format_number(model.high_share * model.running.factor, 2) +
        " of the holding torque at this current";
    if (estimated)
        model.description +=
            "; inductance or resistance is missing and was estimated from the holding torque";
    model.description += "; source: " + cited(motor.source);
}

/// What was measured at some speeds says nothing of those that not even the maker ran the motor at.
void end_with_curve(TorqueModel& model, const machine::PullOutCurve& curve) {
    set_curve(model, curve);
    model.description += "; nothing is promised past " + end_text(model) +
                         ", where the published curve ends; source: " + cited(curve.source);
}

/// Straight line along the first and last sample, shifted to lie on `side` (-1 below, +1 above) of
/// a curve that is monotone between neighbouring samples: there the curve stays between the two
/// values, so the line must clear the nearer one at both ends.
std::pair<double, double> bounding_line(const std::vector<double>& rates,
                                        const std::vector<double>& torques, int side,
                                        double slack) {
    const double slope = (torques.back() - torques.front()) / (rates.back() - rates.front());
    double stray = slack * torques.front();
    for (std::size_t i = 1; i < rates.size(); ++i) {
        const double line_before = torques.front() + slope * (rates[i - 1] - rates.front());
        const double line_after = torques.front() + slope * (rates[i] - rates.front());
        const double clear = std::max(side * torques[i - 1], side * torques[i]) -
                             std::min(side * line_before, side * line_after);
        stray = std::max(stray, clear + slack * torques.front());
    }
    return {torques.front() - slope * rates.front() + side * stray, slope};
}

}  // namespace

const char* name(TorqueBasis basis) {
    switch (basis) {
        case TorqueBasis::published_curve:
            return "published curve";
        case TorqueBasis::transferred_curve:
            return "transferred curve";
        case TorqueBasis::nameplate:
            return "nameplate";
        case TorqueBasis::estimated_nameplate:
            return "incomplete nameplate";
    }
    return "";
}

TorqueBand AvailableTorque::at(planner::AngularSpeed speed) const {
    const double rate_rad_s = std::fabs(speed.value());
    const Level level = model_->at(rate_rad_s);
    return {planner::from_si<planner::Torque>(level.low_Nm),
            planner::from_si<planner::Torque>(level.nominal_Nm),
            planner::from_si<planner::Torque>(level.high_Nm),
            region_at(rate_rad_s, model_->here.base_rad_s), level.beyond_curve};
}

planner::AngularSpeed AvailableTorque::base_speed() const {
    return planner::from_si<planner::AngularSpeed>(model_->here.base_rad_s);
}

std::optional<planner::AngularSpeed> AvailableTorque::curve_end() const {
    if (!model_->curve) return {};
    return planner::from_si<planner::AngularSpeed>(model_->rate_here(model_->curve->last_rad_s()));
}

TorqueBasis AvailableTorque::basis() const {
    return model_->basis;
}
const MotorConstants& AvailableTorque::constants() const {
    return model_->constants;
}
planner::Current AvailableTorque::peak_current() const {
    return planner::from_si<planner::Current>(model_->here.peak_A);
}
planner::Voltage AvailableTorque::supply() const {
    return planner::from_si<planner::Voltage>(model_->here.voltage_V);
}
const std::string& AvailableTorque::description() const {
    return model_->description;
}

AvailableTorque::Cell AvailableTorque::tabulate(double from_rad_s, double to_rad_s) const {
    std::vector<double> rates;
    for (int i = 0; i <= kSamples; ++i)
        rates.push_back(from_rad_s + (to_rad_s - from_rad_s) * i / kSamples);
    if (model_->curve) {  // kinks and the end of the published points
        for (const double published : model_->curve->rates_rad_s()) {
            const double rate = model_->rate_here(published);
            for (const double kink :
                 {rate, std::nextafter(rate, 0.0), std::nextafter(rate, 2.0 * rate)}) {
                if (kink > from_rad_s && kink < to_rad_s) rates.push_back(kink);
            }
        }
        std::sort(rates.begin(), rates.end());
    }
    std::vector<double> low, nominal, high;
    for (const double rate : rates) {
        const Level level = model_->at(rate);
        low.push_back(level.low_Nm);
        nominal.push_back(level.nominal_Nm);
        high.push_back(level.high_Nm);
    }
    const double slack = model_->basis == TorqueBasis::transferred_curve || model_->wide_gaps ||
                                 model_->measured_rad_s
                             ? kTransferSlack
                             : 0.0;
    const auto [low_value, low_slope] = bounding_line(rates, low, -1, slack);
    const auto [high_value, high_slope] = bounding_line(rates, high, 1, slack);
    const double nominal_slope = (nominal.back() - nominal.front()) / (to_rad_s - from_rad_s);
    return {low_value,     low_slope,  nominal.front() - nominal_slope * from_rad_s,
            nominal_slope, high_value, high_slope};
}

AvailableTorque available_torque(const machine::MotorPart& motor, machine::RatedCurrent current,
                                 planner::Voltage supply, std::optional<double> running_factor,
                                 std::optional<planner::AngularSpeed> measured_at) {
    auto model = std::make_shared<TorqueModel>();
    model->constants = motor_constants(motor);
    model->weaker = model->stronger = model->constants;
    model->here = condition(model->constants, current.peak(), supply);
    model->running = {kRunningFactor, kEmfLoss};
    if (!motor.curves.empty() && !running_factor) {
        use_curve(*model, motor, current.peak(), supply);
    } else {
        use_plate(*model, motor, running_factor);
        if (running_factor && measured_at) {
            model->measured_rad_s = measured_at->value();
            model->description += "; the band is narrower near " +
                                  planner::format_quantity(*measured_at, 3) +
                                  ", where it was measured";
        }
        if (!motor.curves.empty()) end_with_curve(*model, *nearest(motor, current.peak(), supply));
    }
    AvailableTorque out;
    out.model_ = model;
    const double end_rad_s = model->end_rad_s();
    out.cells_per_rad_s_ = kCells / end_rad_s;
    out.last_cell_ = kCells;
    out.cells_.reserve(kCells + 1);
    for (int i = 0; i < kCells; ++i)
        out.cells_.push_back(out.tabulate(end_rad_s * i / kCells, end_rad_s * (i + 1) / kCells));
    const Level last = model->at(end_rad_s);
    out.cells_.push_back({0.0, 0.0, last.nominal_Nm, 0.0, last.high_Nm, 0.0});
    double least_Nm = std::numeric_limits<double>::infinity();
    for (int i = 0; i <= kCells; ++i) {
        const AvailableTorque::Cell& cell = out.cells_[static_cast<std::size_t>(i)];
        // A speed on a border may be counted to either cell.
        for (const double edge : {i * (1.0 - kBorder), (i + 1) * (1.0 + kBorder)})
            least_Nm = std::min(least_Nm, cell.low + cell.low_slope * end_rad_s * edge / kCells);
        out.least_low_Nm_.push_back(std::max(0.0, least_Nm));
    }
    return out;
}

AvailableTorque available_torque(const machine::Axis& axis) {
    std::optional<planner::AngularSpeed> measured_at;
    if (axis.running_factor_at)
        measured_at = planner::from_si<planner::AngularSpeed>(2.0 * std::numbers::pi *
                                                              axis.running_factor_at->value() /
                                                              axis.drive.travel_per_turn().value());
    return available_torque(axis.motor, axis.current, axis.supply, axis.running_factor,
                            measured_at);
}

}  // namespace stepper_sim::motor
