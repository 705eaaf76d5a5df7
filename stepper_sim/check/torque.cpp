#include <fmt/core.h>

#include <cmath>
#include <numbers>
#include <optional>

#include "planner/kinematics/kinematics.hpp"
#include "planner/units/bisect.hpp"
#include "stepper_sim/check/candidates.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/run/use.hpp"
#include "stepper_sim/run/worst_motions.hpp"

namespace stepper_sim::check {

namespace {

constexpr std::string_view kNothingSlowerHelps =
    "; it is mostly friction or weight, so no slower setting helps: {}gearing or a stronger motor "
    "would";

std::string_view motion_words(run::Motion motion) {
    switch (motion) {
        case run::Motion::speeding_up:
            return "speeding up";
        case run::Motion::slowing_down:
            return "slowing down";
        case run::Motion::cruising:
            break;
    }
    return "cruising";
}

/// "clear" is taken on the low curve with the margin kept, "fault" on the high curve; between them the room is thin.
std::optional<Grade> grade_of(const run::TorqueMoment& moment, double margin) {
    if (moment.use_high > 1.0) return Grade::fault;
    if (moment.use_low > 1.0 - margin) return Grade::risk;
    return std::nullopt;
}

run::TorqueMoment judge(const CheckInput& input, std::size_t motor,
                        const run::WorstMotion& motion) {
    const machine::Axis& axis = input.machine.axes[motor];
    const auto motor_speed =
        planner::to_motors(input.machine.kinematics, input.machine.program.axes, motion.speed_m_s);
    run::TorqueMoment moment;
    moment.rate_rad_s = std::abs(motor_speed[motor]) * 2.0 * std::numbers::pi /
                        axis.drive.travel_per_turn().value();
    moment.asked_Nm = motor::asked_Nm(input.models.loads, static_cast<int>(motor), motion.speed_m_s,
                                      motion.acceleration_m_s2);
    const motor::TorqueBand band = input.models.available[motor].at(
        planner::from_si<planner::AngularSpeed>(moment.rate_rad_s));
    moment.low_Nm = band.low.value();
    moment.high_Nm = band.high.value();
    moment.use_low = run::use_of(moment.asked_Nm, moment.low_Nm);
    moment.use_nominal = run::use_of(moment.asked_Nm, band.nominal.value());
    moment.use_high = run::use_of(moment.asked_Nm, moment.high_Nm);
    moment.motion = run::Motion::speeding_up;
    moment.beyond_curve = band.beyond_curve;
    return moment;
}

Finding describe(const machine::Axis& axis, const run::TorqueMoment& moment, Grade grade,
                 double margin) {
    Finding finding = words::about("torque", grade, axis);
    finding.value = moment.asked_Nm;
    finding.limit = grade == Grade::fault ? moment.high_Nm : moment.low_Nm * (1.0 - margin);
    finding.unit = "N m";
    finding.message = fmt::format(
        "motor {}: {} asked while {} at {}, {} to {} available ({} of the low figure{})",
        axis.letter, words::torque(moment.asked_Nm), motion_words(moment.motion),
        words::speed_of(axis, moment.rate_rad_s), words::torque(moment.low_Nm),
        words::torque(moment.high_Nm), words::percent(moment.use_low),
        moment.beyond_curve ? "; past the published curve" : "");
    return finding;
}

struct Remedy {
    std::vector<Change> changes;
    bool slower_helps = false;
};

/// The largest scale of acceleration, and of speed, that leaves the margin at this motion; then more current.
Remedy remedy(const CheckInput& input, std::size_t motor, const run::WorstMotion& motion) {
    const auto holds = [&](double speed_scale, double acceleration_scale) {
        run::WorstMotion scaled = motion;
        for (double& v : scaled.speed_m_s)
            v *= speed_scale;
        for (double& a : scaled.acceleration_m_s2)
            a *= acceleration_scale;
        return judge(input, motor, scaled).use_low <= 1.0 - input.margin;
    };
    const auto largest = [&](auto&& test) {
        constexpr int kHalvings = 40;  // 2^-40 of the setting: far below any digit shown
        return planner::bisect({0.0, 1.0}, kHalvings, test).holds;
    };
    // Of every axis that takes part: on a diagonal both belt axes.
    const auto with = [&](machine::SettingKey key, const planner::AxisArray& values, double scale) {
        Change change;
        for (std::size_t slot = 0; slot < input.machine.axes.size(); ++slot)
            if (values[slot] != 0.0)
                change.settings.push_back(candidates::set(input.machine,
                                                          input.machine.axes[slot].letter, key,
                                                          scale * std::abs(values[slot])));
        return change;
    };
    Remedy remedy;
    // Guess: below this share of the setting, less speed is the better change.
    constexpr double kUsefulShare = 0.25;
    const double acceleration = largest([&](double s) { return holds(1.0, s); });
    const Change gentler =
        with(machine::SettingKey::max_acceleration, motion.acceleration_m_s2, acceleration);
    if (acceleration > kUsefulShare) candidates::add(remedy.changes, gentler);
    const double speed = largest([&](double s) { return holds(s, 1.0); });
    if (speed > 0.0)
        candidates::add(remedy.changes,
                        with(machine::SettingKey::max_speed, motion.speed_m_s, speed));
    if (acceleration > 0.0) candidates::add(remedy.changes, gentler);
    remedy.slower_helps = !remedy.changes.empty();
    const SettingChange current =
        candidates::highest_current(input.machine, input.machine.axes[motor]);
    if (input.machine.axes[motor].driver.current_max && current.to.value > current.now)
        candidates::add(remedy.changes, {{current}});
    return remedy;
}

}  // namespace

void check_torque(const CheckInput& input, Findings& findings) {
    const std::vector<run::WorstMotion> motions = run::worst_motions(input.machine);
    for (std::size_t m = 0; m < input.machine.axes.size(); ++m) {
        const machine::Axis& axis = input.machine.axes[m];
        const run::WorstMotion* worst = nullptr;
        run::TorqueMoment at_worst;
        for (const run::WorstMotion& motion : motions) {
            const run::TorqueMoment moment = judge(input, m, motion);
            if (!moment.use().worse_than(at_worst.use())) continue;
            at_worst = moment;
            worst = &motion;
        }
        const Remedy found = worst != nullptr ? remedy(input, m, *worst) : Remedy();
        if (const auto grade = grade_of(at_worst, input.margin)) {
            Finding finding = describe(axis, at_worst, *grade, input.margin);
            finding.message += worst->diagonal ? " with both belt axes at full acceleration"
                                               : " at full acceleration";
            if (!found.slower_helps)
                finding.message +=
                    fmt::format(kNothingSlowerHelps, found.changes.empty() ? "" : "more current, ");
            finding.changes = found.changes;
            findings.push_back(std::move(finding));
        }
        for (const run::ProgramResult& program : input.programs) {
            const auto grade = grade_of(program.motors[m].torque, input.margin);
            if (!grade) continue;
            Finding finding = describe(axis, program.motors[m].torque, *grade, input.margin);
            words::place(finding, axis, program.motors[m].torque.at);
            finding.changes = found.changes;
            findings.push_back(std::move(finding));
        }
    }
}

}  // namespace stepper_sim::check
