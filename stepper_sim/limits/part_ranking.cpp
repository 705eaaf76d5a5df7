#include "stepper_sim/limits/part_ranking.hpp"

#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <map>
#include <optional>
#include <tuple>
#include <utility>

#include "planner/units/bisect.hpp"
#include "stepper_sim/limits/axis_group.hpp"
#include "stepper_sim/limits/compare_motors.hpp"
#include "stepper_sim/limits/time_value.hpp"
#include "stepper_sim/limits/torque_bench.hpp"
#include "stepper_sim/run/ceilings.hpp"

namespace stepper_sim::limits {

namespace {

// Guesses: of the highest speed; a slower one leaves more acceleration.
constexpr std::array kSpeedShares{0.97, 0.85, 0.7, 0.55, 0.4, 0.25};
constexpr int kLooks = 64;              // speeds up to the highest at which the torque is looked at
constexpr int kBisections = 30;         // to a billionth
constexpr double kStrokeShare = 0.5;    // of the travel
constexpr double kUsualStroke_m = 0.1;  // where no travel is stated
constexpr double kLeastAcceleration_m_s2 = 1e-3;  // what moves slower than that does not move

/// One speed and the acceleration that goes with it, as they would be flashed.
struct Pace {
    double speed_m_s, acceleration_m_s2;
    auto operator<=>(const Pace&) const = default;
};

struct Pair {
    RankedPart part;
    std::vector<Pace> paces;
};

/// Largest acceleration at which every speed up to this one leaves the margin.
double acceleration_up_to(const TorqueBench& bench, double speed_m_s, double margin) {
    std::array<double, kLooks> speeds{}, low{};
    for (std::size_t i = 0; i < kLooks; ++i) {
        speeds[i] = speed_m_s * static_cast<double>(i) / (kLooks - 1);
        low[i] = bench.available
                     .at(planner::from_si<planner::AngularSpeed>(speeds[i] / bench.radius_m()))
                     .low.value();
    }
    const auto holds = [&](double acceleration_m_s2) {
        for (std::size_t i = 0; i < kLooks; ++i)
            if (bench.asked_Nm(speeds[i], acceleration_m_s2) > (1.0 - margin) * low[i])
                return false;
        return true;
    };
    if (!holds(0.0)) return 0.0;
    return planner::bisect({0.0, machine::kMaxAcceleration_m_s2}, kBisections, holds).holds;
}

/// The axis's highest speed at which it moves at all, under every ceiling.
double top_speed(const machine::Machine& machine, int slot, const Swap& swap, double margin) {
    const std::vector<Candidate> both =
        compare_motors(machine, slot, {&swap, 1}, {{}, 0.0, margin});
    for (const Candidate& candidate : both)
        if (candidate.label == swap.label) return candidate.top_speed_m_s;
    return 0.0;
}

/// The machine with the motor and driver on every axis of the group.
machine::Machine with_parts(machine::Machine machine, const AxisGroup& group, const Swap& swap) {
    for (const int slot : group.slots) {
        machine::Axis& axis = machine.axes[static_cast<std::size_t>(slot)];
        axis = swapped(axis, swap);
    }
    return machine;
}

std::vector<Pace> paces_of(const machine::Machine& machine, int slot, const AxisGroup& group,
                           const Swap& swap, double margin) {
    const machine::Machine fitted = with_parts(machine, group, swap);
    const auto s = static_cast<std::size_t>(slot);
    const TorqueBench bench = torque_bench(fitted, s, fitted.axes[s]);
    const double top_m_s = top_speed(fitted, slot, swap, margin);
    std::vector<Pace> paces;
    for (const double share : kSpeedShares) {
        const double speed_m_s = share * top_m_s;
        const double acceleration_m_s2 = acceleration_up_to(bench, speed_m_s, margin);
        if (acceleration_m_s2 > kLeastAcceleration_m_s2)
            paces.push_back({speed_m_s, acceleration_m_s2});
    }
    return paces;
}

double stroke_s(double length_m, const Pace& pace) {
    const double v = pace.speed_m_s, a = pace.acceleration_m_s2;
    return v * v / a <= length_m ? length_m / v + v / a : 2.0 * std::sqrt(length_m / a);
}

double usual_stroke_m(const machine::Axis& axis) {
    if (!axis.travel_min || !axis.travel_max) return kUsualStroke_m;
    return kStrokeShare * (axis.travel_max->value() - axis.travel_min->value());
}

/// What every pace takes, each asked once.
class Timing {
  public:
    Timing(const machine::Machine& machine, const AxisGroup& group,
           std::span<const run::ProgramSource> programs, double stroke_m)
        : machine_(machine), group_(group), programs_(programs), stroke_m_(stroke_m) {}

    void want(const Pace& pace) { times_[pace] = 0.0; }
    double of(const Pace& pace) const { return times_.at(pace); }

    std::vector<planner::Diagnostic> run(const std::function<void(double)>& progress) {
        std::vector<std::pair<const Pace, double>*> all;
        for (auto& entry : times_)
            all.push_back(&entry);
        std::vector<std::vector<planner::Diagnostic>> wrong(all.size());
        std::atomic<std::size_t> done{0};
        tbb::parallel_for(std::size_t{0}, all.size(), [&](std::size_t i) {
            auto took = time_of(all[i]->first);
            if (took)
                all[i]->second = took.value();
            else
                wrong[i] = took.diagnostics();
            if (progress) progress(static_cast<double>(++done) / static_cast<double>(all.size()));
        });
        for (auto& lines : wrong)
            if (!lines.empty()) return lines;
        return {};
    }

  private:
    planner::Result<double> time_of(const Pace& pace) const {
        if (programs_.empty()) return stroke_s(stroke_m_, pace);
        machine::Machine machine = machine_;
        const machine::AxisSettings& now =
            machine.axes[static_cast<std::size_t>(group_.slots.front())].settings;
        group_.apply({pace.speed_m_s, pace.acceleration_m_s2,
                      std::min(now.speed_step.value(), pace.speed_m_s)},
                     machine);
        return duration_s(machine, programs_);
    }

    const machine::Machine& machine_;
    const AxisGroup& group_;
    std::span<const run::ProgramSource> programs_;
    double stroke_m_;
    std::map<Pace, double> times_;
};

/// All pairs of the catalogue's motors and drivers that break no rating, and the axis as it is.
std::vector<std::pair<RankedPart, Swap>> pairs_of(const machine::Axis& axis,
                                                  const machine::Catalogue& catalogue,
                                                  PartRanking& ranking) {
    std::vector<std::pair<RankedPart, Swap>> pairs;
    const auto add = [&](const Swap& swap, bool present) {
        const machine::Axis fitted = swapped(axis, swap);
        if (!present && !ratings_broken(fitted).empty()) {
            ++ranking.rating_broken;
            return;
        }
        RankedPart part;
        part.motor = fitted.motor.name;
        part.drivers = {fitted.driver.name};
        part.current_rms_A = fitted.current.rms().value();
        part.present = present;
        pairs.emplace_back(std::move(part), swap);
    };
    Swap none;
    none.label = "present parts";
    add(none, true);
    for (const auto& motor : catalogue.motors) {
        if (!motor.part) continue;
        if (ranking.frame != 0 && motor.part.value().frame != ranking.frame) {
            ++ranking.other_frames;
            continue;
        }
        for (const auto& driver : catalogue.drivers) {
            if (!driver.part) continue;
            Swap swap;
            swap.label = motor.name + " " + driver.name;
            swap.motor = motor.part.value();
            swap.driver = driver.part.value();
            add(swap, false);
        }
    }
    return pairs;
}

/// Drivers that make no difference to a motor stand in one entry, the axis's own first.
std::vector<RankedPart> gathered(std::vector<Pair> pairs, const std::string& own_driver,
                                 double present_s) {
    std::vector<RankedPart> parts;
    for (Pair& pair : pairs) {
        RankedPart& part = pair.part;
        const auto key = [](const RankedPart& p) {
            return std::tuple(p.present, p.motor, p.current_rms_A, p.speed_m_s,
                              p.acceleration_m_s2);
        };
        const auto same = std::ranges::find_if(
            parts, [&](const RankedPart& other) { return key(other) == key(part); });
        if (same == parts.end()) {
            parts.push_back(std::move(part));
            continue;
        }
        const bool own = part.drivers.front() == own_driver;
        same->drivers.insert(own ? same->drivers.begin() : same->drivers.end(),
                             part.drivers.front());
    }
    // Where the time is the same for all it matters, what leaves more acceleration comes first, and what is there.
    const auto rank = [&](const RankedPart& part) {
        return std::tuple(std::round(part.duration_s / (kToldShare * present_s)),
                          -part.acceleration_m_s2, !part.present);
    };
    std::ranges::stable_sort(
        parts, [&](const RankedPart& a, const RankedPart& b) { return rank(a) < rank(b); });
    return parts;
}

}  // namespace

planner::Result<PartRanking> rank_parts(const machine::Machine& machine, int slot,
                                        const machine::Catalogue& catalogue,
                                        std::span<const run::ProgramSource> programs, double margin,
                                        const std::function<void(double)>& progress) {
    const machine::Axis& axis = machine.axes[static_cast<std::size_t>(slot)];
    const std::vector<AxisGroup> groups = axis_groups(machine);
    const AxisGroup& group = *std::ranges::find_if(groups, [&](const AxisGroup& g) {
        return std::ranges::find(g.slots, slot) != g.slots.end();
    });
    PartRanking ranking;
    ranking.frame = axis.motor.frame;
    ranking.stroke_m = programs.empty() ? usual_stroke_m(axis) : 0.0;
    Timing timing(machine, group, programs, ranking.stroke_m);
    const Pace now{axis.settings.max_speed.value(), axis.settings.max_acceleration.value()};
    timing.want(now);
    std::vector<Pair> pairs;
    for (auto& [part, swap] : pairs_of(axis, catalogue, ranking)) {
        Pair pair{std::move(part), paces_of(machine, slot, group, swap, margin)};
        if (pair.paces.empty()) {
            ++ranking.too_weak;
            continue;
        }
        for (const Pace& pace : pair.paces)
            timing.want(pace);
        pairs.push_back(std::move(pair));
    }
    if (auto wrong = timing.run(progress); !wrong.empty()) return wrong;
    ranking.present_s = timing.of(now);
    for (Pair& pair : pairs) {
        const Pace& best = *std::ranges::min_element(
            pair.paces, {}, [&](const Pace& pace) { return timing.of(pace); });
        pair.part.speed_m_s = best.speed_m_s;
        pair.part.acceleration_m_s2 = best.acceleration_m_s2;
        pair.part.duration_s = timing.of(best);
    }
    ranking.parts = gathered(std::move(pairs), axis.driver.name, ranking.present_s);
    return ranking;
}

}  // namespace stepper_sim::limits
