#include "stepper_sim/run/demand.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "planner/profile/motion.hpp"
#include "stepper_sim/motor/speed_step.hpp"
#include "stepper_sim/run/use.hpp"

namespace stepper_sim::run {

namespace {

using planner::AxisArray;

// Corner jumps below this are rounding of the planner's speeds, far below what any motor notices.
constexpr double kNoJump_rad_s = 1e-9;

AxisArray scaled(const AxisArray& unit, double factor) {
    AxisArray out;
    for (std::size_t i = 0; i < out.size(); ++i)
        out[i] = unit[i] * factor;
    return out;
}

// Far above the rounding of the quick answers that rule out a new worst moment.
constexpr double kRoom = 1.0 + 1e-9;

/// Whether a jump's use of the low torque surely stays below `use`, without the roots and the arc sine
/// of the answer: the well of motor/speed_step.hpp is at least 2 - pi f + f^2.
bool step_surely_below(double use, double jump_rad_s, double low_Nm, double asked_Nm,
                       double inertia_kg_m2, int rotor_teeth) {
    const double f = asked_Nm / low_Nm;
    const double well = 2.0 - std::numbers::pi * f + f * f;
    return f < 0.5 && jump_rad_s * jump_rad_s * kRoom * inertia_kg_m2 * rotor_teeth <
                          use * use * 2.0 * low_Nm * well;
}

}  // namespace

MotorModels motor_models(const machine::Machine& machine) {
    MotorModels models{motor::motor_loads(machine), {}, {}};
    for (const machine::Axis& axis : machine.axes)
        models.available.push_back(motor::available_torque(axis));
    for (int m = 0; m < models.loads.count; ++m)
        models.inertia_kg_m2.push_back(
            models.loads.motors[static_cast<std::size_t>(m)].rotating_inertia_kg_m2 +
            motor::load_inertia_kg_m2(models.loads, m));
    return models;
}

double top_travel_m_s(const machine::Machine& machine, const motor::MotorLoads& loads,
                      std::size_t motor) {
    const motor::MotorLoad& load = loads.motors[motor];
    double speed_m_s = 0.0;
    for (std::size_t i = 0; i < load.axis.size(); ++i)
        speed_m_s +=
            std::abs(load.motion[i]) * machine.axes[load.axis[i]].settings.max_speed.value();
    return speed_m_s;
}

StepUse step_use(const MotorModels& models, std::size_t motor, double jump_rad_s, double low_Nm,
                 double high_Nm, double asked_Nm) {
    const auto limit_rad_s = [&](double torque_Nm) {
        return motor::speed_step_rad_s(torque_Nm, models.inertia_kg_m2[motor],
                                       models.loads.motors[motor].rotor_teeth,
                                       use_of(asked_Nm, torque_Nm));
    };
    // Where the steady demand alone takes all of a torque, torque is the trouble and not the step:
    // the torque check says so.
    StepUse use;
    use.limit_low_rad_s = limit_rad_s(low_Nm);
    use.high = asked_Nm < high_Nm ? use_of(jump_rad_s, limit_rad_s(high_Nm)) : 0.0;
    use.low = asked_Nm < low_Nm ? use_of(jump_rad_s, use.limit_low_rad_s) : use.high;
    return use;
}

Demand::Demand(const machine::Machine& machine, const MotorModels& models)
    : models_(models),
      count_(static_cast<int>(machine.axes.size())),
      tool_slots_{machine.program.axes.slot('X'), machine.program.axes.slot('Y'),
                  machine.program.axes.slot('Z')},
      e_slot_(machine.program.axes.slot('E')) {
    for (std::size_t m = 0; m < machine.axes.size(); ++m) {
        const motor::MotorLoad& load = models.loads.motors[m];
        const double gain = std::max(std::abs(load.forward_gain), std::abs(load.back_gain));
        const double rad_per_m =
            2.0 * std::numbers::pi / machine.axes[m].drive.travel_per_turn().value();
        Motor& motor = motors_[m];
        motor.axis = load.axis;
        for (std::size_t i = 0; i < load.axis.size(); ++i) {
            const motor::AxisLoad& axis = models.loads.axes[load.axis[i]];
            const double lever_m = std::abs(load.share[i]) * load.radius_m * gain;
            motor.rad_per_m[i] = load.motion[i] * rad_per_m;
            motor.still_Nm += lever_m * (axis.friction_N + std::abs(axis.weight_N));
            motor.viscous_Nm_per_m_s[i] = lever_m * axis.viscous_N_s_m;
            motor.inertia_Nm_per_m_s2[i] = lever_m * axis.mass_kg + load.rotating_inertia_kg_m2 *
                                                                        std::abs(load.motion[i]) /
                                                                        load.radius_m;
        }
    }
}

void Demand::push(std::span<const planner::MotorMove> moves) {
    for (const planner::MotorMove& move : moves)
        add_move(move);
}

void Demand::keep_range(int slot, double position_m, const planner::MotorMove& move,
                        double after_s) {
    const auto s = static_cast<std::size_t>(slot);
    AxisRange& range = result_.axes[s];
    if (!any_ || position_m < range.min_m) {
        range.min_m = position_m;
        range.at_min = {move.line, move.start.seconds() + after_s, position_m};
    }
    if (!any_ || position_m > range.max_m) {
        range.max_m = position_m;
        range.at_max = {move.line, move.start.seconds() + after_s, position_m};
    }
    range.end_m = position_m;
}

void Demand::add_move(const planner::MotorMove& move) {
    AxisArray unit{};
    for (int i = 0; i < count_; ++i) {
        const auto s = static_cast<std::size_t>(i);
        unit[s] = (move.tool_end_m[s] - move.tool_start_m[s]) / move.length_m;
        if (!any_) keep_range(i, move.tool_start_m[s], move, 0.0);
    }
    const bool from_rest = !any_ || move.rest_before_s >= 0.0;
    any_ = true;
    for (int i = 0; i < count_; ++i)
        keep_range(i, move.tool_end_m[static_cast<std::size_t>(i)], move, move.profile.duration_s);

    const double peak_m_s = planner::peak_speed(move.profile);
    const double peak_m_s2 = planner::peak_acceleration(move.profile);
    std::array<bool, planner::kMaxAxes> may_be_worst{};
    for (std::size_t m = 0; m < static_cast<std::size_t>(count_); ++m)
        may_be_worst[m] = begin_motor(m, unit, peak_m_s, peak_m_s2);
    if (const auto phases = planner::phases_of(move.profile); !phases.empty()) {
        add_corner(move, unit, phases.front(), from_rest ? 0.0 : last_speed_m_s_);
        last_speed_m_s_ = planner::end_speed(phases.back());
    }
    for (std::size_t m = 0; m < static_cast<std::size_t>(count_); ++m)
        if (may_be_worst[m]) add_phases(m, move, unit);

    if (!move.arc_chord) ++result_.moves;
    ++result_.planned_moves;
    add_length(move);
    result_.duration_s = move.start.seconds() + move.profile.duration_s;
}

/// Of the tool along X Y Z; and of filament, less what is drawn back.
void Demand::add_length(const planner::MotorMove& move) {
    double square_m2 = 0.0;
    for (const int slot : tool_slots_) {
        if (slot < 0) continue;
        const auto s = static_cast<std::size_t>(slot);
        const double along_m = move.tool_end_m[s] - move.tool_start_m[s];
        square_m2 += along_m * along_m;
    }
    result_.path_m += std::sqrt(square_m2);
    if (e_slot_ < 0) return;
    const auto e = static_cast<std::size_t>(e_slot_);
    result_.filament_m += move.tool_end_m[e] - move.tool_start_m[e];
}

/// Fastest and steepest of the move. Says whether its torque may be the worst yet.
bool Demand::begin_motor(std::size_t m, const AxisArray& unit, double peak_m_s, double peak_m_s2) {
    AxisRange& range = result_.axes[m];
    range.peak_speed_m_s = std::max(range.peak_speed_m_s, peak_m_s * std::abs(unit[m]));
    range.peak_acceleration_m_s2 =
        std::max(range.peak_acceleration_m_s2, peak_m_s2 * std::abs(unit[m]));

    Motor& motor = motors_[m];
    motor.turn_rad_m = 0.0;
    motor.most_asked_Nm = motor.still_Nm;
    for (std::size_t i = 0; i < motor.axis.size(); ++i) {
        const double along = unit[motor.axis[i]];
        motor.turn_rad_m += motor.rad_per_m[i] * along;
        motor.most_asked_Nm += std::abs(along) * (motor.viscous_Nm_per_m_s[i] * peak_m_s +
                                                  motor.inertia_Nm_per_m_s2[i] * peak_m_s2);
    }
    MotorResult& result = result_.motors[m];
    const double peak_rad_s = std::abs(motor.turn_rad_m) * peak_m_s;
    result.peak_rate_rad_s = std::max(result.peak_rate_rad_s, peak_rad_s);
    const double least_Nm = models_.available[m].least_low_Nm(peak_rad_s * kRoom);
    return !(motor.most_asked_Nm * kRoom < result.torque.use().surely_worse_than() * least_Nm);
}

void Demand::add_corner(const planner::MotorMove& move, const AxisArray& unit,
                        const planner::Phase& first, double speed_before_m_s) {
    const double speed_m_s = planner::start_speed(first);
    for (int m = 0; m < count_; ++m) {
        const auto s = static_cast<std::size_t>(m);
        Motor& motor = motors_[s];
        const double turn_rad_s = motor.turn_rad_m * speed_m_s;
        const double jump_rad_s = std::abs(turn_rad_s - motor.last_turn_rad_m * speed_before_m_s);
        motor.last_turn_rad_m = motor.turn_rad_m;
        if (jump_rad_s < kNoJump_rad_s) continue;
        // The faster side of the corner has the weaker motor.
        const double after_rad_s = std::abs(turn_rad_s);
        const double rate_rad_s = std::max(after_rad_s, std::abs(after_rad_s - jump_rad_s));
        const motor::AvailableTorque& available = models_.available[s];
        StepMoment& worst = result_.motors[s].speed_step;
        const double low_Nm = available.low_Nm(rate_rad_s);
        if (step_surely_below(worst.use().surely_worse_than(), jump_rad_s, low_Nm,
                              motor.most_asked_Nm, models_.inertia_kg_m2[s],
                              models_.loads.motors[s].rotor_teeth))
            continue;
        const double asked = motor::asked_Nm(models_.loads, m, scaled(unit, speed_m_s),
                                             scaled(unit, planner::acceleration_at(first, 0.0)));
        const StepUse use =
            step_use(models_, s, jump_rad_s, low_Nm, available.high_Nm(rate_rad_s), asked);
        if (!BandUse{use.low, use.high}.worse_than(worst.use())) continue;
        worst = {use.low,
                 use.high,
                 jump_rad_s,
                 use.limit_low_rad_s,
                 {move.line, move.start.seconds(), move.tool_start_m[s]}};
    }
}

void Demand::add_phases(std::size_t m, const planner::MotorMove& move, const AxisArray& unit) {
    double start_s = 0.0;
    for (const planner::Phase& phase : planner::phases_of(move.profile)) {
        add_torque(m, move, unit, phase, 0.0, start_s);
        start_s += phase.duration_s;
        if (planner::end_speed(phase) != planner::start_speed(phase))
            add_torque(m, move, unit, phase, phase.duration_s, start_s);
    }
}

void Demand::add_torque(std::size_t m, const planner::MotorMove& move, const AxisArray& unit,
                        const planner::Phase& phase, double at_s, double after_s) {
    Motor& motor = motors_[m];
    if (unit[motor.axis[0]] == 0.0 && unit[motor.axis[1]] == 0.0) {
        // What holding still asks is the same in every move.
        if (motor.held_still) return;
        motor.held_still = true;
    }
    const double speed_m_s = planner::speed_at(phase, at_s);
    const double acceleration_m_s2 = planner::acceleration_at(phase, at_s);
    const double rate_rad_s = std::abs(motor.turn_rad_m) * speed_m_s;
    const motor::AvailableTorque& available = models_.available[m];
    const double low = available.low_Nm(rate_rad_s);
    TorqueMoment& worst = result_.motors[m].torque;
    if (motor.most_asked_Nm * kRoom < worst.use().surely_worse_than() * low) return;
    const double asked = motor::asked_Nm(models_.loads, static_cast<int>(m),
                                         scaled(unit, speed_m_s), scaled(unit, acceleration_m_s2));
    const double high = available.high_Nm(rate_rad_s);
    const BandUse use{use_of(asked, low), use_of(asked, high)};
    if (!use.worse_than(worst.use())) return;
    const Motion motion = acceleration_m_s2 > 0.0   ? Motion::speeding_up
                          : acceleration_m_s2 < 0.0 ? Motion::slowing_down
                                                    : Motion::cruising;
    worst = {use.low,
             use_of(asked, available.nominal_Nm(rate_rad_s)),
             use.high,
             asked,
             low,
             high,
             rate_rad_s,
             motion,
             available.at(planner::from_si<planner::AngularSpeed>(rate_rad_s)).beyond_curve,
             moment_in(move, m, after_s)};
}

void Demand::finish(ProgramResult& result) {
    result.axes = result_.axes;
    result.moves = result_.moves;
    result.planned_moves = result_.planned_moves;
    result.path_m = result_.path_m;
    result.filament_m = result_.filament_m;
    result.duration_s = result_.duration_s;
    for (int m = 0; m < count_; ++m) {
        const auto s = static_cast<std::size_t>(m);
        result.motors[s].torque = result_.motors[s].torque;
        result.motors[s].speed_step = result_.motors[s].speed_step;
        result.motors[s].peak_rate_rad_s = result_.motors[s].peak_rate_rad_s;
    }
}

}  // namespace stepper_sim::run
