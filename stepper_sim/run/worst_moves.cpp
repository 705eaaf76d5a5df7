#include "stepper_sim/run/worst_moves.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <utility>

#include "planner/profile/trapezoid.hpp"
#include "stepper_sim/dynamics/band_edge.hpp"
#include "stepper_sim/run/worst_motions.hpp"

namespace stepper_sim::run {

namespace {

using planner::AxisArray;

// Swings of one piece die before the next begins.
constexpr double kRest_s = 0.1;
// So long that what must be simulated of fast strokes, at several dampings, ends with them.
constexpr double kLongRest_s = 0.7;
// Neighbouring zig-zags are this far apart in frequency: eight strokes answer over about a quarter.
constexpr double kFrequencyStep = 1.08;
// Below a sixth of the natural frequency a reversal is over before the next begins.
constexpr double kSlowestShare = 1.0 / 6.0;
constexpr double kFastestShare = 1.5;
constexpr double kLengthStep = 1.6;
// Long enough for an instability to show.
constexpr double kCruise_s = 0.2;
constexpr double kSpeedStep = 1.1;
// Guess: a motor that never has its full torque has no base speed; what is slower than so many full steps a second is no fast cruise.
constexpr double kSlowestCruise_Hz = 100.0;
constexpr int kStairs = 8;
// Corners this far apart know nothing of each other.
constexpr double kLongestLeg_m = 0.05;

class MoveWriter {
  public:
    explicit MoveWriter(const machine::Machine& machine) {
        for (std::size_t i = 0; i < machine.axes.size(); ++i)
            if (machine.axes[i].travel_min) at_[i] = machine.axes[i].travel_min->value();
    }

    void rest(double rest_s = kRest_s) { rest_s_ = rest_s; }

    const AxisArray& at() const { return at_; }

    /// Goes there first, if it is not there.
    void start_at(std::size_t slot, const std::optional<planner::Length>& place) {
        AxisArray to_m = at_;
        if (place) to_m[slot] = place->value();
        if (to_m[slot] == at_[slot]) return;
        rest();
        go(to_m);
    }

    void go(const AxisArray& to_m, double feed_m_s = std::numeric_limits<double>::infinity()) {
        planner::Move& move = moves_.emplace_back();
        move.start_m = at_;
        double square = 0.0;
        for (std::size_t i = 0; i < at_.size(); ++i)
            square += (to_m[i] - at_[i]) * (to_m[i] - at_[i]);
        at_ = to_m;
        move.end_m = at_;
        move.length_m = std::sqrt(square);
        move.feed_m_s = feed_m_s;
        move.rapid = std::isinf(feed_m_s);
        move.rest_before_s = rest_s_;
        rest_s_ = -1.0;
    }

    std::vector<planner::Move> take() { return std::move(moves_); }

  private:
    std::vector<planner::Move> moves_;
    AxisArray at_{};
    double rest_s_ = kRest_s;
};

AxisArray along(AxisArray from_m, const AxisArray& direction, double length_m) {
    for (std::size_t i = 0; i < from_m.size(); ++i)
        from_m[i] += direction[i] * length_m;
    return from_m;
}

/// Strokes that speed up to top speed and below, every other one back so that they stay inside the travel; `both_ways`: each in
/// either direction.
class StrokeWriter {
  public:
    StrokeWriter(const AxisArray& direction, const Reach& reach, bool both_ways, MoveWriter& writer)
        : direction_(direction),
          reach_(reach),
          both_ways_(both_ways),
          writer_(writer),
          home_m_(writer.at()) {}

    /// Cruises at top speed and below, down to `slowest_m_s`: programs ask for any speed up to the setting, and an instability at one
    /// need not show at a higher one. All but the first are rungs of one ladder: what shows at one top speed shows at higher ones too.
    void cruises(double slowest_m_s) {
        cruise(reach_.speed_m_s);
        const double rungs = std::log(reach_.speed_m_s / slowest_m_s) / std::log(kSpeedStep);
        for (double rung = std::ceil(rungs) - 1.0; rung > 0.0; --rung)
            cruise(slowest_m_s * std::pow(kSpeedStep, rung));
    }

    /// From the one that just reaches top speed down.
    void peaks(double shortest_m) {
        go_home();
        double length_m = reach_.speed_m_s * reach_.speed_m_s / reach_.acceleration_m_s2;
        length_m = std::min(length_m, reach_.travel_m);
        double rest_s = kLongRest_s;
        for (; length_m >= shortest_m; length_m /= kLengthStep) {
            stroke(length_m, std::numeric_limits<double>::infinity(), rest_s);
            rest_s = kRest_s;
        }
        go_home();
    }

  private:
    void cruise(double speed_m_s) {
        const double length_m = speed_m_s * (speed_m_s / reach_.acceleration_m_s2 + kCruise_s);
        stroke(std::min(length_m, reach_.travel_m), speed_m_s, kLongRest_s);
    }

    /// Strokes that shorten from there on stay between it and the end of the first.
    void go_home() {
        if (writer_.at() == home_m_) return;
        writer_.rest(kLongRest_s);
        writer_.go(home_m_);
        sign_ = 1.0;
    }

    void stroke(double length_m, double feed_m_s, double rest_s) {
        for (int i = 0; i < (both_ways_ ? 2 : 1); ++i) {
            writer_.rest(rest_s);
            writer_.go(along(writer_.at(), direction_, sign_ * length_m), feed_m_s);
            sign_ = -sign_;
        }
    }

    const AxisArray& direction_;
    const Reach& reach_;
    bool both_ways_;
    MoveWriter& writer_;
    AxisArray home_m_;
    double sign_ = 1.0;
};

/// Axis speed at the base speed of the axis's motor.
double base_speed_m_s(const MotorModels& models, std::size_t motor) {
    return models.available[motor].base_speed().value() * models.loads.motors[motor].radius_m;
}

struct Band {
    double low_hz, high_hz;
};

Band band_of(const machine::Machine& machine, const MotorModels& models, int slot) {
    const dynamics::VibrationModes modes = dynamics::vibration_modes(dynamics::axis_dynamics(
        machine, models.loads, models.available[static_cast<std::size_t>(slot)], slot,
        dynamics::BandEdge::nominal));
    constexpr double kTurn = 2.0 * std::numbers::pi;
    return {kSlowestShare * modes.mode[0].rate_rad_s / kTurn,
            kFastestShare * modes.used().back().rate_rad_s / kTurn};
}

/// Back and forth from rest, one zig-zag for each frequency.
void zig_zags(const AxisArray& direction, const Band& band, const Reach& reach, double shortest_m,
              MoveWriter& writer) {
    const AxisArray home_m = writer.at();
    for (double hz = band.low_hz; hz < band.high_hz; hz *= kFrequencyStep) {
        const double length_m = planner::length_in(0.5 / hz, reach.corner_m_s, reach.speed_m_s,
                                                   reach.acceleration_m_s2);
        if (length_m > reach.travel_m) continue;
        if (length_m < shortest_m) break;
        writer.rest();
        for (int i = 0; i < kZigZagStrokes; i += 2) {
            writer.go(along(home_m, direction, length_m));
            writer.go(home_m);
        }
    }
}

/// Then one diagonal of crossed belts is the mirror of the other.
bool equal_motors(const machine::Axis& a, const machine::Axis& b) {
    return a.motor.name == b.motor.name && a.driver.name == b.driver.name &&
           a.current.rms() == b.current.rms() && a.supply == b.supply &&
           a.running_factor == b.running_factor && a.microsteps == b.microsteps;
}

double full_step_m(const machine::Axis& axis) {
    return axis.drive.travel_per_turn().value() / axis.motor.steps_per_turn;
}

}  // namespace

std::vector<ProgramSource> worst_moves(const machine::Machine& machine, const MotorModels& models,
                                       int slot) {
    const auto s = static_cast<std::size_t>(slot);
    const machine::Axis& axis = machine.axes[s];
    const Band band = band_of(machine, models, slot);
    MoveWriter single(machine), zig_zag(machine);
    const auto run = [&](const AxisArray& direction, const Reach& reach) {
        StrokeWriter strokes(direction, reach, axis.load.vertical, single);
        strokes.cruises(std::max(base_speed_m_s(models, s), kSlowestCruise_Hz * full_step_m(axis)));
        strokes.peaks(full_step_m(axis));
        zig_zags(direction, band, reach, full_step_m(axis), zig_zag);
    };
    const Reach reach = reach_of(machine, axis);
    AxisArray direction{};
    direction[s] = 1.0;
    run(direction, reach);
    const auto group = planner::motor_group(machine.kinematics, machine.program.axes, s);
    if (group.size() > 1 && group.front() == s) {
        const std::size_t y = group[1];
        const Reach beside = reach_of(machine, machine.axes[y]);
        const Reach both{std::min(reach.speed_m_s, beside.speed_m_s),
                         std::min(reach.acceleration_m_s2, beside.acceleration_m_s2),
                         std::min(reach.corner_m_s, beside.corner_m_s),
                         std::min(reach.travel_m, beside.travel_m)};
        for (const double sign : {1.0, -1.0}) {
            if (sign < 0.0 && equal_motors(axis, machine.axes[y])) break;
            direction[y] = sign;
            for (MoveWriter* writer : {&single, &zig_zag})
                writer->start_at(
                    y, sign > 0.0 ? machine.axes[y].travel_min : machine.axes[y].travel_max);
            run(direction, both);
        }
    }
    std::vector<ProgramSource> programs;
    const auto add = [&](std::string_view what, std::vector<planner::Move> moves) {
        if (!moves.empty())
            programs.emplace_back(fmt::format("worst-case {} of {}", what, axis.letter),
                                  std::move(moves));
    };
    add("strokes", single.take());
    add("zig-zags", zig_zag.take());
    return programs;
}

std::vector<ProgramSource> worst_corners(const machine::Machine& machine) {
    const int x = machine.program.axes.slot('X'), y = machine.program.axes.slot('Y');
    if (x < 0 || y < 0) return {};
    const auto a = static_cast<std::size_t>(x), b = static_cast<std::size_t>(y);
    const Reach one = reach_of(machine, machine.axes[a]);
    const Reach two = reach_of(machine, machine.axes[b]);
    const double room_m = std::min(one.travel_m, two.travel_m) / kStairs;
    const double shortest_m = full_step_m(machine.axes[a]);
    MoveWriter writer(machine);
    const AxisArray home_m = writer.at();
    for (double leg_m = std::min(room_m, kLongestLeg_m); leg_m >= shortest_m;
         leg_m /= kLengthStep) {
        writer.rest();
        AxisArray to_m = home_m;
        for (int i = 1; i <= 2 * kStairs; ++i) {
            const int stair = i <= kStairs ? i : 2 * kStairs - i;
            to_m[a] = home_m[a] + stair * leg_m;
            writer.go(to_m);
            to_m[b] = home_m[b] + stair * leg_m;
            writer.go(to_m);
        }
    }
    std::vector<planner::Move> moves = writer.take();
    if (moves.empty()) return {};
    return {ProgramSource("worst-case corners of X and Y", std::move(moves))};
}

std::vector<ProgramSource> worst_programs(const machine::Machine& machine,
                                          const MotorModels& models) {
    std::vector<ProgramSource> programs;
    for (int slot = 0; slot < static_cast<int>(machine.axes.size()); ++slot)
        for (ProgramSource& moves : worst_moves(machine, models, slot))
            programs.push_back(std::move(moves));
    for (ProgramSource& corners : worst_corners(machine))
        programs.push_back(std::move(corners));
    return programs;
}

}  // namespace stepper_sim::run
