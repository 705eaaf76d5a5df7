#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim {

namespace {

double degrees(double electrical_rad) {
    return electrical_rad * 180.0 / std::numbers::pi;
}

/// A load angle in electrical degrees: 90 is one full step, where torque peaks.
std::string angle(double electrical_rad) {
    return electrical_rad > 2.0 * std::numbers::pi
               ? std::string("more than a whole tooth pitch")
               : fmt::format("{:.0f} of 90 deg", degrees(electrical_rad));
}

std::string reason(const SlipWindow& slip) {
    const std::string hz = planner::format_number(slip.natural_hz, 3);
    const std::string corner = planner::format_number(slip.corner_share, 2);
    switch (slip.reason()) {
        case SlipReason::resonance:
            return fmt::format(
                "resonance: {} reversals at {} Hz meet the axis's {} Hz and build up a swing",
                slip.reversals, planner::format_number(slip.reversal_rate_hz, 3), hz);
        case SlipReason::instability:
            return fmt::format(
                "a long cruise at {} times the motor's corner speed may swing up by itself",
                corner);
        case SlipReason::torque:
            return fmt::format("torque falls off at {} times the motor's corner speed", corner);
        case SlipReason::swing:
            break;
    }
    return fmt::format("speed steps and accelerations swing the axis at its {} Hz", hz);
}

/// The line of the machine file that cures it; on crossed belts both belt axes share the motor.
std::string change_of(const CheckInput& input, const SlipWindow& slip, const SlipCure& cure) {
    const MotorLoad& motor = input.models.loads.motors[static_cast<std::size_t>(slip.motor)];
    std::string lines;
    for (std::size_t i = 0; i < motor.axis.size(); ++i) {
        if (motor.motion[i] == 0.0) continue;
        const Axis& axis = input.machine.axes[motor.axis[i]];
        if (!lines.empty()) lines += ", ";
        const AxisSettings& now = axis.settings;
        if (cure.setting == LoweredSetting::max_speed)
            lines += words::change_speed(axis, "max_speed", cure.scale * now.max_speed.value());
        else
            lines += words::change_acceleration(axis, cure.scale * now.max_acceleration.value());
        if (cure.setting == LoweredSetting::acceleration_and_step)
            lines +=
                ", " + words::change_speed(axis, "speed_step", cure.scale * now.speed_step.value());
    }
    return lines;
}

/// Under which assumptions it slips.
std::string_view when(const SlipWindow& slip) {
    if (slip.high.verdict == SlipVerdict::likely)
        return "it slips with every regulator even at the high torque figure";
    if (slip.low.verdict == SlipVerdict::likely)
        return "it slips with every regulator at the low torque figure";
    if (slip.low.dead_beat.slipped())
        return "it slips with a good sine regulator at the low torque figure";
    if (slip.low.mixed_decay.slipped())
        return "it slips with a simple chopper at the low torque figure";
    return "it slips where the damping is a third or three times the usual";
}

void slipped(const CheckInput& input, const SlipWindow& slip, std::uint64_t windows,
             const SlipResult& slips, Findings& findings) {
    const Axis& axis = input.machine.axes[static_cast<std::size_t>(slip.motor)];
    const bool likely = slip.high.verdict == SlipVerdict::likely;
    Finding finding = words::about("lost-steps", likely ? Grade::fault : Grade::risk, axis);
    finding.value = slip.low.peak_load_angle_rad;
    finding.limit = 2.0 * std::numbers::pi;
    finding.unit = "rad";
    finding.message = fmt::format("motor {}: slip {}", axis.letter, likely ? "likely" : "possible");
    words::place(finding, axis, slip.at);
    finding.message += fmt::format("{}; {}; simulated with the emitted pulses {}",
                                   slip.window.ratio_rate_rad_s < 0.0 ? " going down" : " going up",
                                   reason(slip), when(slip));
    if (slip.likelihood >= 0.0) {
        finding.likelihood = slip.likelihood;
        finding.message +=
            fmt::format(", in {} of draws over what is uncertain", words::percent(slip.likelihood));
    }
    if (windows > 1) finding.message += fmt::format("; {} windows slip", windows);
    const MotorSlip& of_motor = slips.motors[static_cast<std::size_t>(slip.motor)];
    if (of_motor.cure)
        finding.change = change_of(input, slip, *of_motor.cure);
    else
        finding.message +=
            fmt::format("; lower {}", words::setting(axis, slip.lower() == LoweredSetting::max_speed
                                                               ? "max_speed"
                                                               : "max_acceleration"));
    findings.push_back(std::move(finding));
}

/// How much was simulated and the nearest miss of what held. Windows left out or cut off are a risk,
/// unless the motor slips anyway.
void summary(const CheckInput& input, int motor, const SlipResult& slips, bool slips_anyway,
             Findings& findings) {
    const MotorSlip& of_motor = slips.motors[static_cast<std::size_t>(motor)];
    if (of_motor.suspicious == 0) return;
    const SlipWindow* worst = nullptr;
    const auto cut_off = std::ranges::count_if(slips.windows, [&](const SlipWindow& slip) {
        return slip.motor == motor && slip.window.cut_off;
    });
    for (const SlipWindow& slip : slips.windows)
        if (slip.motor == motor && slip.low.verdict == SlipVerdict::passes &&
            (worst == nullptr || slip.low.peak_load_angle_rad > worst->low.peak_load_angle_rad))
            worst = &slip;
    const Axis& axis = input.machine.axes[static_cast<std::size_t>(motor)];
    const bool left_out = of_motor.simulated < of_motor.suspicious;
    const bool unseen = left_out || cut_off > 0;
    Finding finding =
        words::about("lost-steps", unseen && !slips_anyway ? Grade::risk : Grade::note, axis);
    finding.value = static_cast<double>(of_motor.simulated);
    finding.limit = static_cast<double>(of_motor.suspicious);
    finding.unit = "1";
    finding.message = fmt::format("motor {}: {} of {} suspicious windows simulated", axis.letter,
                                  of_motor.simulated, of_motor.suspicious);
    if (left_out) finding.message += " (more with --windows)";
    if (cut_off > 0)
        finding.message += fmt::format(
            ", {} of them only for the first {} s of a longer move: its rest was not looked at",
            cut_off, planner::format_number(kLongestSimulated_s, 3));
    if (worst != nullptr) {
        finding.message += fmt::format("; the worst that holds passes with load angle {}",
                                       angle(worst->low.peak_load_angle_rad));
        words::place(finding, axis, worst->at);
    }
    findings.push_back(std::move(finding));
}

/// Whatever else holds, what nobody looked at is not clear.
void not_looked_at(std::string message, Findings& findings) {
    Finding finding;
    finding.check = "lost-steps";
    finding.grade = Grade::risk;
    finding.unit = "1";
    finding.message = std::move(message);
    findings.push_back(std::move(finding));
}

}  // namespace

void check_lost_steps(const CheckInput& input, Findings& findings) {
    if (input.programs.empty())
        not_looked_at("resonance and slips depend on the moves: give a program to look at them",
                      findings);
    for (const ProgramResult& program : input.programs) {
        const SlipResult& slips = program.slips;
        if (!slips.run) {
            not_looked_at("resonance and slips were not looked at (--no-dynamics)", findings);
            continue;
        }
        for (int m = 0; m < static_cast<int>(input.machine.axes.size()); ++m) {
            const SlipWindow* worst = nullptr;
            std::uint64_t slipping = 0;
            for (const SlipWindow& slip : slips.windows) {
                if (slip.motor != m || slip.low.verdict == SlipVerdict::passes) continue;
                ++slipping;
                const bool worse = worst == nullptr || slip.high.verdict > worst->high.verdict ||
                                   (slip.high.verdict == worst->high.verdict &&
                                    slip.likelihood > worst->likelihood);
                if (worse) worst = &slip;
            }
            if (worst != nullptr) slipped(input, *worst, slipping, slips, findings);
            summary(input, m, slips, worst != nullptr, findings);
        }
    }
}

}  // namespace stepper_sim
