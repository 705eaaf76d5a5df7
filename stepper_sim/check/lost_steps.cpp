#include <fmt/core.h>

#include <cmath>
#include <numbers>
#include <optional>
#include <span>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/candidates.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim {

namespace {

double degrees(double electrical_rad) {
    return electrical_rad * 180.0 / std::numbers::pi;
}

/// A load angle in electrical degrees, and the run it is of.
std::string angle(const Confirmation& low) {
    const double angle_rad = low.peak_load_angle_rad;
    std::string out = angle_rad > 2.0 * std::numbers::pi
                          ? std::string("more than a whole tooth pitch")
                          : fmt::format("{:.0f} deg", degrees(angle_rad));
    out += " at the low torque figure, ";
    if (angle_rad == low.dead_beat.peak_load_angle_rad)
        out += "with a good sine regulator";
    else if (angle_rad == low.mixed_decay.peak_load_angle_rad)
        out += "with a simple chopper";
    else
        out += "where the damping is a third or three times the usual";
    return out + " (torque is highest at 90 deg)";
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

// Guesses for tries: by so much beyond what was found, since slips come in bands; and halves of what no search looks at.
constexpr double kFurther = 0.8, kHalf = 0.5, kQuarter = 0.25;

SettingKey key_of(LoweredSetting setting) {
    return setting == LoweredSetting::max_speed ? SettingKey::max_speed
                                                : SettingKey::max_acceleration;
}

/// The cure that was found, then tries.
std::vector<Change> changes_of(const CheckInput& input, const SlipWindow& slip,
                               const std::optional<SlipCure>& cure) {
    const auto motor = static_cast<std::size_t>(slip.motor);
    std::vector<Change> changes;
    const auto add = [&](SettingKey key, double share, bool is_try) {
        candidates::add(changes, candidates::scaled(input, motor, key, share, is_try));
    };
    if (cure) {
        add(key_of(cure->setting), cure->scale, false);
        add(key_of(cure->setting), kFurther * cure->scale, true);
    }
    if (input.machine.planning.corner == planner::CornerRule::speed_step)
        for (const double share : {kHalf, kQuarter})
            add(SettingKey::speed_step, share, true);
    const bool by_speed = slip.lower() == LoweredSetting::max_speed;
    add(by_speed ? SettingKey::max_acceleration : SettingKey::max_speed, kHalf, true);
    return changes;
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
             bool cure_sought, const std::optional<SlipCure>& cure, Findings& findings) {
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
    if (cure_sought) {
        finding.changes = changes_of(input, slip, cure);
    } else {
        finding.lower = key_of(slip.lower());
        finding.message += fmt::format("; lower {}", path_text(axis.letter, *finding.lower));
    }
    findings.push_back(std::move(finding));
}

/// What the simulations of a motor say, over one program or several.
struct Outcome {
    std::uint64_t suspicious = 0, simulated = 0, cut_off = 0, slipping = 0;
    const SlipWindow* slips = nullptr;  // the worst that slips
    const MotorSlip* of_slips = nullptr;
    const SlipWindow* holds = nullptr;  // the nearest miss
};

bool worse(const SlipWindow& slip, const SlipWindow& than) {
    return slip.high.verdict > than.high.verdict ||
           (slip.high.verdict == than.high.verdict && slip.likelihood > than.likelihood);
}

void add(const SlipResult& result, int motor, Outcome& outcome) {
    const MotorSlip& of_motor = result.motors[static_cast<std::size_t>(motor)];
    outcome.suspicious += of_motor.suspicious;
    outcome.simulated += of_motor.simulated;
    for (const SlipWindow& window : result.windows) {
        if (window.motor != motor) continue;
        outcome.cut_off += window.window.cut_off;
        if (window.low.verdict == SlipVerdict::passes) {
            if (outcome.holds == nullptr ||
                window.low.peak_load_angle_rad > outcome.holds->low.peak_load_angle_rad)
                outcome.holds = &window;
            continue;
        }
        ++outcome.slipping;
        if (outcome.slips != nullptr && !worse(window, *outcome.slips)) continue;
        outcome.slips = &window;
        outcome.of_slips = &of_motor;
    }
}

/// How much was simulated and the nearest miss of what held. Windows left out or cut off are a risk,
/// unless the motor slips anyway. Times and places in made-up moves tell nobody anything.
void summary(const Axis& axis, const Outcome& outcome, bool made_up, Findings& findings) {
    if (outcome.suspicious == 0) return;
    const bool left_out = outcome.simulated < outcome.suspicious;
    const bool unseen = left_out || outcome.cut_off > 0;
    Finding finding = words::about(
        "lost-steps", unseen && outcome.slips == nullptr ? Grade::risk : Grade::note, axis);
    finding.value = static_cast<double>(outcome.simulated);
    finding.limit = static_cast<double>(outcome.suspicious);
    finding.unit = "1";
    finding.message = fmt::format("motor {}: {} of {} suspicious windows simulated", axis.letter,
                                  outcome.simulated, outcome.suspicious);
    if (left_out) finding.message += " (more with --windows)";
    if (outcome.cut_off > 0)
        finding.message += fmt::format(
            ", {} of them only for the first {} s of a longer move: its rest was not looked at",
            outcome.cut_off, planner::format_number(kLongestSimulated_s, 3));
    if (outcome.holds != nullptr) {
        finding.message += fmt::format("; the worst that holds passes with load angle {}",
                                       angle(outcome.holds->low));
        if (made_up)
            finding.message += "; " + reason(*outcome.holds);
        else
            words::place(finding, axis, outcome.holds->at);
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
    std::span<const ProgramResult> left = input.programs;
    while (!left.empty()) {
        // The user's programs one by one, made-up ones together.
        const bool made_up = left.front().made_up;
        const auto together = left.first(made_up ? left.size() : 1);
        left = left.subspan(together.size());
        if (!together.front().slips.run) {
            not_looked_at("resonance and slips were not looked at (--no-dynamics)", findings);
            continue;
        }
        for (int m = 0; m < static_cast<int>(input.machine.axes.size()); ++m) {
            Outcome outcome;
            for (const ProgramResult& program : together)
                add(program.slips, m, outcome);
            if (outcome.slips != nullptr)
                slipped(input, *outcome.slips, outcome.slipping, outcome.of_slips->cure_sought,
                        outcome.of_slips->cure, findings);
            summary(input.machine.axes[static_cast<std::size_t>(m)], outcome, made_up, findings);
        }
    }
}

}  // namespace stepper_sim
