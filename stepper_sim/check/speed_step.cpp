#include <fmt/core.h>

#include <cmath>
#include <numbers>

#include "planner/kinematics/kinematics.hpp"
#include "planner/lookahead/corner.hpp"
#include "stepper_sim/check/candidates.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/run/use.hpp"
#include "stepper_sim/run/worst_motions.hpp"

namespace stepper_sim::check {

namespace {

std::optional<Grade> grade_of(const run::StepMoment& moment, double margin) {
    if (moment.use_high > 1.0) return Grade::fault;
    if (moment.use_low > 1.0 - margin) return Grade::risk;
    return std::nullopt;
}

Finding describe(const machine::Axis& axis, const run::StepMoment& moment, Grade grade,
                 double margin) {
    Finding finding = words::about("speed-step", grade, axis);
    finding.value = moment.jump_rad_s;
    finding.limit = moment.limit_low_rad_s * (grade == Grade::fault ? 1.0 : 1.0 - margin);
    finding.unit = "rad/s";
    finding.message = fmt::format(
        "motor {}: its speed jumps by {}, the rotor follows {} at the low torque figure ({} used)",
        axis.letter, words::speed_of(axis, moment.jump_rad_s),
        words::speed_of(axis, moment.limit_low_rad_s), words::percent(moment.use_low));
    return finding;
}

/// The whole speed step from rest while accelerating fully: what a corner may ask at worst.
run::StepMoment from_settings(const CheckInput& input, std::size_t motor,
                              const run::WorstMotion& motion) {
    const machine::Machine& machine = input.machine;
    planner::AxisArray step{};
    for (std::size_t i = 0; i < machine.axes.size(); ++i)
        if (motion.speed_m_s[i] != 0.0)
            step[i] =
                std::copysign(machine.axes[i].settings.speed_step.value(), motion.speed_m_s[i]);
    const double jump_rad_s =
        std::abs(planner::to_motors(machine.kinematics, machine.program.axes, step)[motor]) * 2.0 *
        std::numbers::pi / machine.axes[motor].drive.travel_per_turn().value();
    const double asked = motor::asked_Nm(input.models.loads, static_cast<int>(motor), step,
                                         motion.acceleration_m_s2);
    const motor::AvailableTorque& available = input.models.available[motor];
    const run::StepUse use =
        run::step_use(input.models, motor, jump_rad_s, available.low_Nm(jump_rad_s),
                      available.high_Nm(jump_rad_s), asked);
    run::StepMoment moment;
    moment.jump_rad_s = jump_rad_s;
    moment.limit_low_rad_s = use.limit_low_rad_s;
    moment.use_low = use.low;
    moment.use_high = use.high;
    return moment;
}

/// The corner setting with which the margin is kept, then a gentler acceleration, which leaves the rotor more torque to follow with.
std::vector<Change> changes_of(const CheckInput& input, std::size_t motor,
                               const run::StepMoment& moment) {
    const double share = (1.0 - input.margin) / moment.use_low;
    const planner::CornerRule corner = input.machine.planning.corner;
    const planner::CornerRuleRow& rule = planner::row_of(corner);
    const machine::SettingKey key = machine::corner_key(corner);
    const double scale = std::pow(share, 1.0 / rule.power);
    std::vector<Change> changes;
    if (rule.of_each_axis)
        candidates::add(changes, candidates::scaled(input, motor, key, scale));
    else
        candidates::add(changes,
                        {{candidates::set(input.machine, 0, key,
                                          scale * machine::present_value(input.machine, 0, key))}});
    constexpr double kHalf = 0.5;  // Guess: a try
    candidates::add(changes, candidates::scaled(input, motor, machine::SettingKey::max_acceleration,
                                                kHalf, true));
    return changes;
}

}  // namespace

void check_speed_step(const CheckInput& input, Findings& findings) {
    const std::vector<run::WorstMotion> motions = run::worst_motions(input.machine);
    for (std::size_t m = 0; m < input.machine.axes.size(); ++m) {
        const machine::Axis& axis = input.machine.axes[m];
        run::StepMoment worst;
        if (planner::row_of(input.machine.planning.corner).of_each_axis)
            for (const run::WorstMotion& motion : motions) {
                const run::StepMoment moment = from_settings(input, m, motion);
                if (!moment.use().worse_than(worst.use())) continue;
                worst = moment;
            }
        if (const auto grade = grade_of(worst, input.margin); grade) {
            Finding finding = describe(axis, worst, *grade, input.margin);
            finding.message += " from rest at full acceleration";
            finding.changes = changes_of(input, m, worst);
            findings.push_back(std::move(finding));
        }
        for (const run::ProgramResult& program : input.programs) {
            const run::StepMoment& moment = program.motors[m].speed_step;
            const auto grade = grade_of(moment, input.margin);
            if (!grade) continue;
            Finding finding = describe(axis, moment, *grade, input.margin);
            words::place(finding, axis, moment.at);
            finding.changes = changes_of(input, m, moment);
            findings.push_back(std::move(finding));
        }
    }
}

}  // namespace stepper_sim::check
