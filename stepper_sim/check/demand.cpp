#include "stepper_sim/check/demand.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "planner/profile/motion.hpp"
#include "stepper_sim/check/use.hpp"
#include "stepper_sim/motor/speed_step.hpp"

namespace stepper_sim {

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

/// Travel speed of a motor at axis speeds: planner::to_motors() for one motor.
double travel_m_s(const MotorLoad& load, const AxisArray& axis_speed_m_s) {
    return load.motion[0] * axis_speed_m_s[load.axis[0]] +
           load.motion[1] * axis_speed_m_s[load.axis[1]];
}

/// asked_Nm() of this motor is never more in a move along `unit`, up to this speed and acceleration.
double most_asked_Nm(const MotorLoads& loads, const MotorLoad& motor, const AxisArray& unit,
                     double speed_m_s, double acceleration_m_s2) {
    double force_N = 0.0, travel_m_s2 = 0.0;
    for (std::size_t i = 0; i < motor.axis.size(); ++i) {
        const AxisLoad& axis = loads.axes[motor.axis[i]];
        const double along = std::abs(unit[motor.axis[i]]);
        travel_m_s2 += std::abs(motor.motion[i]) * along * acceleration_m_s2;
        force_N += std::abs(motor.share[i]) *
                   (axis.mass_kg * along * acceleration_m_s2 + axis.friction_N +
                    axis.viscous_N_s_m * along * speed_m_s + std::abs(axis.weight_N));
    }
    const double gain = std::max(std::abs(motor.forward_gain), std::abs(motor.back_gain));
    return motor.rotating_inertia_kg_m2 * travel_m_s2 / motor.radius_m +
           force_N * motor.radius_m * gain;
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

MotorModels motor_models(const Machine& machine) {
    MotorModels models{motor_loads(machine), {}, {}};
    for (const Axis& axis : machine.axes)
        models.available.push_back(
            available_torque(axis.motor, axis.current, axis.supply, axis.running_factor));
    for (int m = 0; m < models.loads.count; ++m)
        models.inertia_kg_m2.push_back(
            models.loads.motors[static_cast<std::size_t>(m)].rotating_inertia_kg_m2 +
            load_inertia_kg_m2(models.loads, m));
    return models;
}

double top_travel_m_s(const Machine& machine, const MotorLoads& loads, std::size_t motor) {
    const MotorLoad& load = loads.motors[motor];
    double speed_m_s = 0.0;
    for (std::size_t i = 0; i < load.axis.size(); ++i)
        speed_m_s +=
            std::abs(load.motion[i]) * machine.axes[load.axis[i]].settings.max_speed.value();
    return speed_m_s;
}

StepUse step_use(const MotorModels& models, std::size_t motor, double jump_rad_s, double low_Nm,
                 double high_Nm, double asked_Nm) {
    const auto limit_rad_s = [&](double torque_Nm) {
        return speed_step_rad_s(torque_Nm, models.inertia_kg_m2[motor],
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

Demand::Demand(const Machine& machine, const MotorModels& models)
    : models_(models), count_(static_cast<int>(machine.axes.size())) {
    for (std::size_t m = 0; m < machine.axes.size(); ++m)
        rad_per_m_[m] = 2.0 * std::numbers::pi / machine.axes[m].drive.travel_per_turn().value();
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

    double peak_m_s = 0.0, peak_m_s2 = 0.0;
    for (int p = 0; p < move.profile.count; ++p) {
        const planner::Phase& phase = move.profile.phases[static_cast<std::size_t>(p)];
        peak_m_s = std::max({peak_m_s, phase.start_speed_m_s, planner::end_speed(phase)});
        peak_m_s2 = std::max(peak_m_s2, std::abs(phase.acceleration_m_s2));
    }
    for (int i = 0; i < count_; ++i) {
        const auto s = static_cast<std::size_t>(i);
        AxisRange& range = result_.axes[s];
        range.peak_speed_m_s = std::max(range.peak_speed_m_s, peak_m_s * std::abs(unit[s]));
        range.peak_acceleration_m_s2 =
            std::max(range.peak_acceleration_m_s2, std::abs(peak_m_s2 * unit[s]));
        most_asked_Nm_[s] =
            most_asked_Nm(models_.loads, models_.loads.motors[s], unit, peak_m_s, peak_m_s2);
    }

    if (move.profile.count > 0)
        add_corner(move, unit, move.profile.phases[0].start_speed_m_s, from_rest);
    double after_s = 0.0;
    for (int p = 0; p < move.profile.count; ++p) {
        const planner::Phase& phase = move.profile.phases[static_cast<std::size_t>(p)];
        add_phase(move, unit, phase, after_s);
        after_s += phase.duration_s;
    }

    ++result_.moves;
    result_.path_m += move.length_m;
    result_.duration_s = move.start.seconds() + move.profile.duration_s;
}

void Demand::add_corner(const planner::MotorMove& move, const AxisArray& unit, double speed_m_s,
                        bool from_rest) {
    AxisArray jump{};
    const double before_m_s = from_rest ? 0.0 : last_speed_m_s_;
    for (std::size_t i = 0; i < unit.size(); ++i)
        jump[i] = unit[i] * speed_m_s - last_unit_[i] * before_m_s;
    const AxisArray axis_speed = scaled(unit, speed_m_s);
    const AxisArray axis_acceleration = scaled(unit, move.profile.phases[0].acceleration_m_s2);
    for (int m = 0; m < count_; ++m) {
        const auto s = static_cast<std::size_t>(m);
        const MotorLoad& load = models_.loads.motors[s];
        const double jump_rad_s = std::abs(travel_m_s(load, jump) * rad_per_m_[s]);
        if (jump_rad_s < kNoJump_rad_s) continue;
        // The faster side of the corner has the weaker motor.
        const double after_rad_s = std::abs(travel_m_s(load, axis_speed) * rad_per_m_[s]);
        const double rate_rad_s = std::max(after_rad_s, std::abs(after_rad_s - jump_rad_s));
        const AvailableTorque& available = models_.available[s];
        StepMoment& worst = result_.motors[s].speed_step;
        const double low_Nm = available.low_Nm(rate_rad_s);
        if (step_surely_below(worst.use_low, jump_rad_s, low_Nm, most_asked_Nm_[s],
                              models_.inertia_kg_m2[s], load.rotor_teeth))
            continue;
        const double asked = asked_Nm(models_.loads, m, axis_speed, axis_acceleration);
        const StepUse use =
            step_use(models_, s, jump_rad_s, low_Nm, available.high_Nm(rate_rad_s), asked);
        if (use.low <= worst.use_low) continue;
        worst = {use.low,
                 use.high,
                 jump_rad_s,
                 use.limit_low_rad_s,
                 {move.line, move.start.seconds(), move.tool_start_m[s]}};
    }
    last_unit_ = unit;
}

void Demand::add_phase(const planner::MotorMove& move, const AxisArray& unit,
                       const planner::Phase& phase, double start_s) {
    const double end_speed_m_s = planner::end_speed(phase);
    add_torque(move, unit, phase, phase.start_speed_m_s, start_s);
    if (end_speed_m_s != phase.start_speed_m_s)
        add_torque(move, unit, phase, end_speed_m_s, start_s + phase.duration_s);
    last_speed_m_s_ = end_speed_m_s;
}

void Demand::add_torque(const planner::MotorMove& move, const AxisArray& unit,
                        const planner::Phase& phase, double speed_m_s, double after_s) {
    const AxisArray axis_speed = scaled(unit, speed_m_s);
    const AxisArray axis_acceleration = scaled(unit, phase.acceleration_m_s2);
    for (int m = 0; m < count_; ++m) {
        const auto s = static_cast<std::size_t>(m);
        const MotorLoad& load = models_.loads.motors[s];
        if (unit[load.axis[0]] == 0.0 && unit[load.axis[1]] == 0.0) {
            // What holding still asks is the same in every move.
            if (held_still_[s]) continue;
            held_still_[s] = true;
        }
        const double rate_rad_s = std::abs(travel_m_s(load, axis_speed) * rad_per_m_[s]);
        MotorResult& motor = result_.motors[s];
        motor.peak_rate_rad_s = std::max(motor.peak_rate_rad_s, rate_rad_s);
        const AvailableTorque& available = models_.available[s];
        const double low = available.low_Nm(rate_rad_s);
        if (most_asked_Nm_[s] * kRoom < motor.torque.use_low * low) continue;
        const double asked = asked_Nm(models_.loads, m, axis_speed, axis_acceleration);
        const double use_low = use_of(asked, low);
        if (use_low <= motor.torque.use_low) continue;
        const double high = available.high_Nm(rate_rad_s);
        const Motion motion = phase.acceleration_m_s2 > 0.0   ? Motion::speeding_up
                              : phase.acceleration_m_s2 < 0.0 ? Motion::slowing_down
                                                              : Motion::cruising;
        motor.torque = {
            use_low,
            use_of(asked, available.nominal_Nm(rate_rad_s)),
            use_of(asked, high),
            asked,
            low,
            high,
            rate_rad_s,
            motion,
            available.at(planner::from_si<planner::AngularSpeed>(rate_rad_s)).beyond_curve,
            moment_in(move, s, after_s)};
    }
}

void Demand::finish(ProgramResult& result) {
    result.axes = result_.axes;
    result.moves = result_.moves;
    result.path_m = result_.path_m;
    result.duration_s = result_.duration_s;
    for (int m = 0; m < count_; ++m) {
        const auto s = static_cast<std::size_t>(m);
        result.motors[s].torque = result_.motors[s].torque;
        result.motors[s].speed_step = result_.motors[s].speed_step;
        result.motors[s].peak_rate_rad_s = result_.motors[s].peak_rate_rad_s;
    }
}

}  // namespace stepper_sim
