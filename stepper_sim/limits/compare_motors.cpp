#include "stepper_sim/limits/compare_motors.hpp"

#include <algorithm>
#include <cmath>

#include "planner/units/bisect.hpp"
#include "stepper_sim/limits/torque_bench.hpp"
#include "stepper_sim/run/ceilings.hpp"
#include "stepper_sim/run/use.hpp"

namespace stepper_sim::limits {

namespace {

constexpr int kScanPerBase =
    200;  // speeds looked at per base speed; a dip narrower than that is below the curves' own detail
constexpr int kScanEnd = 20000;  // a hundred base speeds
constexpr double kSlowScan_rad_s =
    0.5;  // step where the full current never flows and there is no base speed
constexpr int kBisections = 40;

/// One candidate with its curves and loads, built once.
struct Bench {
    TorqueBench torque;
    double acceleration_m_s2 = 0.0;

    double radius_m() const { return torque.radius_m(); }
    SpeedPoint point(double speed_m_s) const;
};

SpeedPoint Bench::point(double speed_m_s) const {
    SpeedPoint p;
    p.speed_m_s = speed_m_s;
    p.rate_rad_s = speed_m_s / radius_m();
    const motor::TorqueBand band =
        torque.available.at(planner::from_si<planner::AngularSpeed>(p.rate_rad_s));
    p.low_Nm = band.low.value();
    p.nominal_Nm = band.nominal.value();
    p.high_Nm = band.high.value();
    p.asked_Nm = torque.asked_Nm(speed_m_s, acceleration_m_s2);
    p.margin_low = 1.0 - run::use_of(p.asked_Nm, p.low_Nm);
    p.margin_nominal = 1.0 - run::use_of(p.asked_Nm, p.nominal_Nm);
    p.margin_high = 1.0 - run::use_of(p.asked_Nm, p.high_Nm);
    p.region = band.region;
    p.beyond_curve = band.beyond_curve;
    return p;
}

/// Highest shaft speed up to which `margin_of` never falls below `margin`; 0 where it fails at rest.
template <class MarginOf>
double top_rate(const Bench& bench, double margin, const MarginOf& margin_of) {
    const double base = bench.torque.available.base_speed().value();
    const double step = base > 0.0 ? base / kScanPerBase : kSlowScan_rad_s;
    const auto holds = [&](double rate) {
        return margin_of(bench.point(rate * bench.radius_m())) >= margin;
    };
    double low = 0.0;
    if (!holds(low)) return 0.0;
    int i = 1;
    while (i <= kScanEnd && holds(step * i))
        low = step * i++;
    return planner::bisect({low, step * i}, kBisections, holds).holds;
}

void set_top_speeds(Candidate& candidate, const Bench& bench, double margin) {
    const machine::Axis& axis = candidate.axis;
    const double ceiling_m_s = run::ceiling_speed_m_s(bench.torque.machine, axis);
    const double rate = top_rate(bench, margin, [](const SpeedPoint& p) { return p.margin_low; });
    const double nominal =
        top_rate(bench, margin, [](const SpeedPoint& p) { return p.margin_nominal; });
    candidate.top_speed_m_s = std::min(rate * bench.radius_m(), ceiling_m_s);
    candidate.top_speed_nominal_m_s = std::min(nominal * bench.radius_m(), ceiling_m_s);
    if (rate * bench.radius_m() > ceiling_m_s) {
        candidate.binds = run::ceilings_of(bench.torque.machine, axis).binding();
        return;
    }
    constexpr double kJustPast = 1.0 + 1e-6;
    const bool at_end = bench.point(kJustPast * rate * bench.radius_m()).beyond_curve;
    candidate.binds = at_end ? run::Binding::curve_end : run::Binding::torque;
}

Candidate judge(const machine::Machine& machine, std::size_t slot, const std::string& label,
                const machine::Axis& axis, const ComparisonQuestion& question) {
    const Bench bench{torque_bench(machine, slot, axis),
                      question.acceleration_m_s2.value_or(axis.settings.max_acceleration.value())};
    Candidate candidate;
    candidate.label = label;
    candidate.axis = axis;
    std::vector<double> speeds = question.speeds_m_s;
    if (speeds.empty()) speeds.push_back(axis.settings.max_speed.value());
    for (const double speed : speeds)
        candidate.points.push_back(bench.point(speed));
    candidate.base_speed_m_s = bench.torque.available.base_speed().value() * bench.radius_m();
    set_top_speeds(candidate, bench, question.margin);
    candidate.torque_basis = bench.torque.available.description();
    candidate.problems = ratings_broken(axis);
    return candidate;
}

double smallest_margin(const Candidate& candidate) {
    double least = 1.0;
    for (const SpeedPoint& p : candidate.points)
        least = std::min(least, p.margin_low);
    return least;
}

}  // namespace

machine::Axis swapped(const machine::Axis& axis, const Swap& swap) {
    machine::Axis out = axis;
    if (swap.driver) out.driver = *swap.driver;
    if (swap.supply) out.supply = *swap.supply;
    if (swap.microsteps) out.microsteps = *swap.microsteps;
    if (swap.gear_ratio) out.drive.gear_ratio = *swap.gear_ratio;
    if (swap.motor) {
        out.motor = *swap.motor;
        out.running_factor.reset();
        out.current = out.motor.rated_current;
        if (out.driver.current_max && out.driver.current_max->peak() < out.current.peak())
            out.current = *out.driver.current_max;
    }
    if (swap.current) out.current = *swap.current;
    out.settings.steps_per_mm *= out.mechanical_steps_per_m() / axis.mechanical_steps_per_m();
    return out;
}

std::vector<Candidate> compare_motors(const machine::Machine& machine, int axis_slot,
                                      std::span<const Swap> swaps,
                                      const ComparisonQuestion& question) {
    const auto slot = static_cast<std::size_t>(axis_slot);
    const machine::Axis& axis = machine.axes[slot];
    std::vector<Candidate> candidates = {judge(machine, slot, "as it is", axis, question)};
    for (const Swap& swap : swaps)
        candidates.push_back(judge(machine, slot, swap.label, swapped(axis, swap), question));
    std::stable_sort(
        candidates.begin(), candidates.end(), [](const Candidate& a, const Candidate& b) {
            if (a.problems.empty() != b.problems.empty()) return a.problems.empty();
            const double least_a = smallest_margin(a);
            const double least_b = smallest_margin(b);
            return least_a != least_b ? least_a > least_b : a.top_speed_m_s > b.top_speed_m_s;
        });
    return candidates;
}

}  // namespace stepper_sim::limits
