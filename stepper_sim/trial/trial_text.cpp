#include "stepper_sim/trial/trial_text.hpp"

#include <fmt/core.h>

#include <cmath>

#include "planner/units/units_text.hpp"
#include "stepper_sim/trial/trial_program.hpp"

namespace stepper_sim::trial {

namespace {

std::string si_text(const char* key, double value, double scale, const char* unit) {
    return fmt::format("{} = \"{} {}\"\n", key, planner::format_number(value * scale, 8), unit);
}

std::string value_text(TrialQuestion question, double value) {
    switch (question) {
        case TrialQuestion::speed:
            return si_text("speed", value, 1e3, "mm/s");
        case TrialQuestion::acceleration:
            return si_text("acceleration", value, 1e3, "mm/s^2");
        case TrialQuestion::step:
            return si_text("speed_step", value, 1e3, "mm/s");
        case TrialQuestion::resonance:
            break;
    }
    return si_text("frequency", value, 1.0, "Hz");
}

/// A text that may stand between quotes in TOML and on one line of Markdown.
std::string quoted(const std::string& text) {
    std::string out;
    for (const char c : planner::printable(text)) {
        if (c == '"' || c == '\\') out += '\\';
        out += c;
    }
    return out;
}

std::string conditions(const RungMotion& motion) {
    std::string out;
    const auto asked = [&](TrialQuestion question) { return motion.question == question; };
    if (!asked(TrialQuestion::speed)) out += value_text(TrialQuestion::speed, motion.speed_m_s);
    if (!asked(TrialQuestion::acceleration))
        out += value_text(TrialQuestion::acceleration, motion.acceleration_m_s2);
    if (!asked(TrialQuestion::step)) out += value_text(TrialQuestion::step, motion.step_m_s);
    if (!asked(TrialQuestion::resonance)) out += si_text("stroke", motion.stroke_m, 1e3, "mm");
    if (motion.sweep_from_Hz > 0.0)
        out += si_text("sweep_from", motion.sweep_from_Hz, 1.0, "Hz") +
               si_text("sweep_to", motion.sweep_to_Hz, 1.0, "Hz");
    return out;
}

// `fit` takes the moved mass of the machine file for that of the rungs.
constexpr const char* kLoad =
    "Run the rungs with the mass that the machine file states; the first, slow run without load "
    "only shows that the path is free.";

bool sweeps(const Trial& trial) {
    return trial.motion.question == TrialQuestion::resonance;
}

}  // namespace

std::string expectation(const Trial& trial) {
    if (!trial.predicted.slips) return "no rung should lose steps within this travel";
    const TrialQuestion question = trial.motion.question;
    const double low = trial.predicted.value * std::exp(-trial.spread);
    const double high = trial.predicted.value * std::exp(trial.spread);
    // The rung at which it slips is the first above what is predicted.
    std::string at = "past the last rung";
    if (trial.trouble && sweeps(trial))
        at = fmt::format("at rung {}", *trial.trouble + 1);
    else if (trial.trouble)
        at = *trial.trouble == 0
                 ? std::string("at rung 1 already")
                 : fmt::format("between rungs {} and {}", *trial.trouble, *trial.trouble + 1);
    return fmt::format(
        "{} {}, near {} (likely {} to {})",
        sweeps(trial) ? "the loudest swing is expected" : "the first loss of steps is expected", at,
        rung_text(question, trial.predicted.value), rung_text(question, low),
        rung_text(question, high));
}

std::string expectation_scope() {
    return "This counts for these strokes alone: what holds on every move is what `limits` says, "
           "and may be lower";
}

std::string trial_markdown(const machine::Machine& machine, const Trial& trial,
                           const std::string& program, const std::string& sheet) {
    const TrialQuestion question = trial.motion.question;
    std::string out = fmt::format("# Trial: {} of axis {}, {}\n\n", to_word(question), trial.letter,
                                  planner::printable(trial.machine_name));
    for (const std::string& caution : trial_cautions())
        out += "**" + caution + "**\n";
    out += "\n## Before\n\n";
    for (const std::string& step : trial_preparations(machine, trial))
        out += "- " + step + "\n";
    out += fmt::format("- {}\n", kLoad);
    out += fmt::format(
        "- Run `{}`: it rehearses slowly, then stops before every rung until you resume.\n"
        "- After the rehearsal mark where axis {} stands. Every rung ends there: off the mark is "
        "a loss.\n",
        planner::printable(program), trial.letter);
    out += fmt::format("\n## Rungs\n\nTool's guess: {}.\n", expectation(trial));
    if (!sweeps(trial)) out += expectation_scope() + ".\n";
    for (const std::string& note : trial.notes)
        out += "Note: " + note + ".\n";
    out += fmt::format("\n| rung | {} | set before it | expected | seen |\n|---|---|---|---|---|\n",
                       to_word(question));
    for (std::size_t i = 0; i < trial.rungs.size(); ++i) {
        const std::string set = rung_preparation(machine, trial, trial.rungs[i]);
        const bool trouble =
            trial.trouble && (sweeps(trial) ? i == *trial.trouble : i >= *trial.trouble);
        out += fmt::format("| {} | {} | {} | {} | |\n", i + 1, rung_text(question, trial.rungs[i]),
                           set.empty() ? "-" : set,
                           trouble ? (sweeps(trial) ? "loudest" : "loses steps") : "holds");
    }
    out += fmt::format(
        "\n## After\n\n- Set the machine back.\n- Fill in `{}` and run `stepper_sim fit` with "
        "it.\n",
        planner::printable(sheet));
    return out;
}

std::string trial_sheet_toml(const machine::Machine& machine, const Trial& trial) {
    const TrialQuestion question = trial.motion.question;
    std::string out;
    for (const std::string& caution : trial_cautions())
        out += "# " + caution + "\n";
    out += fmt::format("# {}\n", kLoad);
    out +=
        "# Results: \"held\" (back on the mark), \"lost\" (off the mark, stalled), \"resonance\" "
        "(held, but loud\n# or shaking; in a resonance trial the loudest rung). Leave \"\" where "
        "a rung was not run.\n";
    out += fmt::format("machine = \"{}\"\naxis = \"{}\"\nraise = \"{}\"\n", quoted(machine.name),
                       planner::axis_key(trial.letter), to_word(question));
    out += conditions(trial.motion);
    out +=
        "measured_frequency = \"\"   # if you measured it, such as \"23.8 Hz\"\n"
        "# ripples = 8             # if you counted how many swings until a tenth is left\n"
        "# capture = \"trial.vcd\"   # if you recorded step and direction; it ends with the last "
        "rung you ran\n";
    out += "# " + expectation(trial) + "\n";
    for (const double value : trial.rungs)
        out += "\n[[rung]]\n" + value_text(question, value) + "result = \"\"\n";
    out +=
        "\n# A torque you measured at which the motor falls out of step, as often as you like:\n"
        "# [[torque]]\n# speed = \"100 mm/s\"\n# torque = \"0.2 N m\"\n";
    return out;
}

}  // namespace stepper_sim::trial
