#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <span>

#include "planner/lookahead/corner.hpp"
#include "planner/units/units_text.hpp"
#include "stepper_sim/check/candidates.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim::check {

namespace {

double degrees(double electrical_rad) {
    return electrical_rad * 180.0 / std::numbers::pi;
}

std::string motors(const CheckInput& input, const run::SlipWindow& slip) {
    const auto letter = [&](int slot) {
        return input.machine.axes[static_cast<std::size_t>(slot)].letter;
    };
    if (slip.beside < 0) return fmt::format("motor {}", letter(slip.motor));
    return fmt::format("motors {} and {}", letter(slip.motor), letter(slip.beside));
}

std::string reason(const run::SlipWindow& slip) {
    const std::string hz = planner::format_number(slip.natural_hz, 3);
    const std::string corner = planner::format_number(slip.base_share, 2);
    switch (slip.reason()) {
        case run::SlipReason::late_pulses:
            return "the controller sends pulses late; with punctual ones it holds";
        case run::SlipReason::resonance:
            return fmt::format(
                "resonance: {} reversals, {} cycles a second, meet the axis's own {} Hz and build "
                "up a "
                "swing",
                slip.reversals, planner::format_number(slip.reversal_rate_hz, 3), hz);
        case run::SlipReason::instability:
            return fmt::format(
                "a long cruise at {} times the motor's base speed may swing up by itself", corner);
        case run::SlipReason::torque:
            return fmt::format("torque falls off at {} times the motor's base speed", corner);
        case run::SlipReason::swing:
            break;
    }
    return fmt::format("speed steps and accelerations swing the axis at its {} Hz", hz);
}

std::string_view edge_word(dynamics::BandEdge edge) {
    if (edge == dynamics::BandEdge::low) return "low";
    return edge == dynamics::BandEdge::high ? "high" : "nominal";
}

/// "the low torque figure less the margin, friction 30 % less, stiffness 12 % more".
std::string variant_text(const dynamics::PlantVariant& v) {
    std::string out = fmt::format("the {} torque figure", edge_word(v.edge));
    if (v.torque < 1.0) out += " less the margin";
    const auto off = [&out](std::string_view what, double factor) {
        const double percent = std::fabs(100.0 * (factor - 1.0));
        if (percent >= 0.5)
            out += fmt::format(", {} {:.0f} % {}", what, percent, factor < 1.0 ? "less" : "more");
    };
    off("friction", v.friction);
    off("stiffness", v.stiffness);
    off("mass", v.mass);
    return out;
}

/// Under which assumptions it does not hold.
std::string when(const run::SlipAnswer& answer) {
    if (answer.past_peak)
        return fmt::format(
            "the rotor swings to {:.0f} deg of load angle with the low torque figure, {:.0f} deg "
            "in "
            "the worst case of all that is uncertain, and only just comes back (torque is highest "
            "at "
            "90 deg)",
            degrees(answer.low_angle_rad), degrees(answer.peak_angle_rad));
    if (answer.verdict == run::SlipVerdict::likely)
        return "it slips at the low, the nominal and the high torque figure";
    std::string out = fmt::format("it slips at {}", variant_text(answer.slips_at));
    if (answer.viscous_factor < 1.0) out += " and a third of the usual bearing friction";
    if (answer.viscous_factor > 1.0) out += " and three times the usual bearing friction";
    if (answer.chopper_alone) out += ", with a simple chopper as current regulator";
    return out;
}

// Guesses for tries: by so much beyond what was found, since slips come in bands; and halves of what no search looks at.
constexpr double kFurther = 0.8, kHalf = 0.5, kQuarter = 0.25;

/// The cure that was found, then tries.
std::vector<Change> changes_of(const CheckInput& input, const run::SlipWindow& slip,
                               const std::optional<run::SlipCure>& cure) {
    const auto motor = static_cast<std::size_t>(slip.motor);
    std::vector<Change> changes;
    const auto add = [&](machine::SettingKey key, double share, bool is_try) {
        candidates::add(changes, candidates::scaled(input, motor, key, share, is_try));
    };
    if (cure) {
        add(cure->setting, cure->scale, false);
        add(cure->setting, kFurther * cure->scale, true);
    }
    if (planner::row_of(input.machine.planning.corner).of_each_axis)
        for (const double share : {kHalf, kQuarter})
            add(machine::SettingKey::speed_step, share, true);
    const bool by_speed = slip.lower() == machine::SettingKey::max_speed;
    add(by_speed ? machine::SettingKey::max_acceleration : machine::SettingKey::max_speed, kHalf,
        true);
    return changes;
}

/// Where the controller is late: what asks it for fewer pulses.
std::vector<Change> fewer_pulses(const CheckInput& input, const run::SlipWindow& slip) {
    std::vector<Change> changes;
    for (const double share : {kHalf, kQuarter})
        candidates::add_slower_steps(input, static_cast<std::size_t>(slip.motor), share,
                                     candidates::Reached::in_programs, changes);
    return changes;
}

/// How bad one is beside another.
bool worse(const run::SlipWindow& slip, const run::SlipWindow& than) {
    const run::SlipAnswer& a = slip.answer;
    const run::SlipAnswer& b = than.answer;
    if (a.verdict != b.verdict) return a.verdict > b.verdict;
    if (a.past_peak != b.past_peak) return !a.past_peak;
    if (slip.likelihood != than.likelihood) return slip.likelihood > than.likelihood;
    return a.slips * b.runs > b.slips * a.runs;
}

void slipped(const CheckInput& input, const run::SlipWindow& slip, std::uint64_t windows,
             bool cure_sought, const std::optional<run::SlipCure>& cure, Findings& findings) {
    const machine::Axis& axis = input.machine.axes[static_cast<std::size_t>(slip.motor)];
    const run::SlipAnswer& answer = slip.answer;
    const bool likely = answer.verdict == run::SlipVerdict::likely;
    Finding finding = words::about("lost-steps", likely ? Grade::fault : Grade::risk, axis);
    finding.value = answer.peak_angle_rad;
    finding.limit = answer.past_peak ? 0.5 * std::numbers::pi : 2.0 * std::numbers::pi;
    finding.unit = "rad";
    finding.message = fmt::format("{}: slip {}", motors(input, slip),
                                  likely ? "likely" : (answer.past_peak ? "near" : "possible"));
    words::place(finding, axis, slip.at);
    // What one motor of crossed belts turns says nothing of X or Y.
    if (slip.beside < 0)
        finding.message += fmt::format(" moving {}{}",
                                       slip.window.ratio_rate_rad_s < 0.0 ? '-' : '+', axis.letter);
    finding.message +=
        fmt::format("; {}; simulated with the emitted pulses {}", reason(slip), when(answer));
    if (slip.likelihood >= 0.0) {
        finding.likelihood = slip.likelihood;
        finding.message +=
            fmt::format(", in {} of draws over what is uncertain", words::percent(slip.likelihood));
    }
    if (windows > 1) finding.message += fmt::format("; {} windows do not hold", windows);
    if (slip.reason() == run::SlipReason::late_pulses) {
        finding.message += "; it needs fewer pulses";
        finding.changes = fewer_pulses(input, slip);
    } else if (cure_sought) {
        finding.changes = changes_of(input, slip, cure);
    } else {
        finding.lower = slip.lower();
        finding.message +=
            fmt::format("; lower {}", machine::path_text(axis.letter, *finding.lower));
    }
    findings.push_back(std::move(finding));
}

/// What the simulations of a motor say, over one program or several.
struct Outcome {
    std::uint64_t suspicious = 0, simulated = 0, like_simulated = 0, cut_off = 0, objected = 0;
    const run::SlipWindow* slips = nullptr;  // the worst that does not hold
    const run::MotorSlip* of_slips = nullptr;
    const run::SlipWindow* holds = nullptr;  // the nearest miss
};

void add(const run::SlipResult& result, int motor, Outcome& outcome) {
    const run::MotorSlip& of_motor = result.motors[static_cast<std::size_t>(motor)];
    outcome.suspicious += of_motor.suspicious;
    outcome.simulated += of_motor.simulated;
    outcome.like_simulated += of_motor.like_simulated;
    for (const run::SlipWindow& window : result.windows) {
        if (window.motor != motor) continue;
        outcome.cut_off += window.window.cut_off;
        if (window.answer.holds()) {
            if (outcome.holds == nullptr ||
                window.answer.low_angle_rad > outcome.holds->answer.low_angle_rad)
                outcome.holds = &window;
            continue;
        }
        ++outcome.objected;
        if (outcome.slips != nullptr && !worse(window, *outcome.slips)) continue;
        outcome.slips = &window;
        outcome.of_slips = &of_motor;
    }
}

/// How much was simulated and the nearest miss of what held. Windows left out or cut off are a risk,
/// unless the motor slips anyway or ones like them hold. Times and places in made-up moves tell nobody anything.
void summary(const CheckInput& input, int motor, const Outcome& outcome, bool made_up,
             Findings& findings) {
    if (outcome.suspicious == 0) return;
    const machine::Axis& axis = input.machine.axes[static_cast<std::size_t>(motor)];
    const std::uint64_t left_out =
        outcome.suspicious -
        std::min(outcome.suspicious, outcome.simulated + outcome.like_simulated);
    const bool unseen = left_out > 0 || outcome.cut_off > 0;
    Finding finding = words::about(
        "lost-steps", unseen && outcome.slips == nullptr ? Grade::risk : Grade::note, axis);
    finding.value = static_cast<double>(outcome.simulated);
    finding.limit = static_cast<double>(outcome.suspicious);
    finding.unit = "1";
    finding.message = fmt::format("motor {}: {} of {} suspicious windows simulated", axis.letter,
                                  outcome.simulated, outcome.suspicious);
    if (outcome.like_simulated > 0)
        finding.message += fmt::format(", {} are like them and less risky", outcome.like_simulated);
    if (left_out > 0)
        finding.message += fmt::format(", {} not looked at (more with --windows)", left_out);
    if (outcome.cut_off > 0)
        finding.message += fmt::format(
            ", {} of them only for the first {} s of a longer move: its rest was not looked at",
            outcome.cut_off, planner::format_number(dynamics::kLongestSimulated_s, 3));
    if (outcome.holds != nullptr) {
        const run::SlipAnswer& answer = outcome.holds->answer;
        finding.message += fmt::format(
            "; the worst that holds swings to {:.0f} deg of load angle with the low torque figure, "
            "{:.0f} deg in the worst case of all that is uncertain (torque is highest at 90 deg{})",
            degrees(answer.low_angle_rad), degrees(answer.peak_angle_rad),
            outcome.holds->fast() ? "; above the base speed the current lags and the peak is later"
                                  : "");
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

/// A belt whose give nobody knows may have any natural frequency of its class: what was looked at is not enough to be sure.
void unknown_stiffness(const CheckInput& input, Findings& findings) {
    for (std::size_t slot = 0; slot < input.machine.axes.size(); ++slot) {
        const machine::Axis& axis = input.machine.axes[slot];
        const auto band =
            dynamics::stiffness_band(input.machine, input.models.loads, static_cast<int>(slot));
        if (!band || band->given || !axis.drive.belt_pitch) continue;
        Finding finding = words::about("lost-steps", Grade::risk, axis);
        finding.value = band->nominal_N_m;
        finding.limit = band->nominal_N_m;
        finding.unit = "N/m";
        finding.message = fmt::format(
            "axis {}: its stiffness is not given, so its natural frequency is not known; looked at "
            "{} to {} N/mm, as belts have. Pull the tool with a scale, motor held, and give "
            "newtons "
            "a millimetre as {}",
            axis.letter, planner::format_number(1e-3 * band->low_factor * band->nominal_N_m, 3),
            planner::format_number(1e-3 * band->high_factor * band->nominal_N_m, 3),
            fmt::format("axes.{}.stiffness", planner::axis_key(axis.letter)));
        findings.push_back(std::move(finding));
    }
}

}  // namespace

void check_lost_steps(const CheckInput& input, Findings& findings) {
    if (input.programs.empty())
        not_looked_at("resonance and slips depend on the moves: give a program to look at them",
                      findings);
    else
        unknown_stiffness(input, findings);
    std::span<const run::ProgramResult> left = input.programs;
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
            for (const run::ProgramResult& program : together)
                add(program.slips, m, outcome);
            if (outcome.slips != nullptr)
                slipped(input, *outcome.slips, outcome.objected, outcome.of_slips->cure_sought,
                        outcome.of_slips->cure, findings);
            summary(input, m, outcome, made_up, findings);
        }
    }
}

}  // namespace stepper_sim::check
