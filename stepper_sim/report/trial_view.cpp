#include "stepper_sim/report/trial_view.hpp"

#include <fmt/core.h>

#include "planner/units/units_text.hpp"
#include "stepper_sim/report/json_text.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/report/version.hpp"
#include "stepper_sim/trial/trial_program.hpp"
#include "stepper_sim/trial/trial_text.hpp"

namespace stepper_sim::report {

namespace {

std::string findings_text(const check::Findings& findings) {
    if (findings.empty())
        return wrapped(
            "Travel and ratings hold up to its last rung; steps may well be lost before it.", 0, 0);
    std::string out = "At the settings of its last rung:\n";
    for (const check::Finding& finding : findings) {
        const std::string head = fmt::format(
            "  {} {}: ", finding.grade == check::Grade::fault ? "fault" : "risk", finding.check);
        out += head + wrapped(planner::printable(finding.message, 400), 4, head.size());
    }
    return out;
}

std::string strokes_text(const trial::Trial& trial) {
    const trial::RungMotion& motion = trial.motion;
    if (motion.question == trial::TrialQuestion::resonance)
        return fmt::format("zig-zags at {}, tapering through each frequency",
                           trial::rung_text(trial::TrialQuestion::speed, motion.speed_m_s));
    const std::string stroke =
        "strokes of " + planner::format_number(motion.stroke_m * 1e3, 4) + " mm";
    if (motion.question == trial::TrialQuestion::speed)
        return stroke + " at " +
               trial::rung_text(trial::TrialQuestion::acceleration, motion.acceleration_m_s2);
    return fmt::format("{} at {}, then zig-zags that sweep {} to {}", stroke,
                       trial::rung_text(trial::TrialQuestion::speed, motion.speed_m_s),
                       planner::format_number(motion.sweep_from_Hz, 3),
                       trial::rung_text(trial::TrialQuestion::resonance, motion.sweep_to_Hz));
}

}  // namespace

std::string trial_text(const trial::Trial& trial, const check::Findings& findings) {
    const bool sweep = trial.motion.question == trial::TrialQuestion::resonance;
    std::string out = wrapped(
        fmt::format("{} of axis {}, {}: {}", trial::to_word(trial.motion.question), trial.letter,
                    planner::printable(trial.machine_name), strokes_text(trial)),
        0, 0);
    out += wrapped(trial::expectation(trial), 0, 0);
    if (!sweep) out += wrapped(trial::expectation_scope(), 0, 0);
    for (const std::string& note : trial.notes)
        out += wrapped("note: " + note, 0, 0);
    std::vector<std::vector<std::string>> rows{
        {"rung", std::string(trial::to_word(trial.motion.question)), "expected"}};
    for (std::size_t i = 0; i < trial.rungs.size(); ++i) {
        const bool trouble = trial.trouble && (sweep ? i == *trial.trouble : i >= *trial.trouble);
        rows.push_back({std::to_string(i + 1),
                        trial::rung_text(trial.motion.question, trial.rungs[i]),
                        trouble ? (sweep ? "loudest" : "loses steps") : "holds"});
    }
    out += '\n' + table(rows) + '\n' + findings_text(findings);
    for (const std::string& caution : trial::trial_cautions())
        out += wrapped(caution, 0, 0);
    return out;
}

std::string trial_json(const machine::Machine& machine, const trial::Trial& trial,
                       const check::Findings& findings) {
    const trial::RungMotion& motion = trial.motion;
    const bool sweep = motion.question == trial::TrialQuestion::resonance;
    const char* unit = sweep                                                   ? "Hz"
                       : motion.question == trial::TrialQuestion::acceleration ? "m/s^2"
                                                                               : "m/s";
    Json out{{"schema", "stepper_sim.trial.1"},
             {"version", kVersion},
             {"machine", {{"name", machine.name}, {"file", machine.file}}},
             {"axis", std::string(1, trial.letter)},
             {"raise", trial::to_word(motion.question)},
             {"unit", unit},
             {"rungs", trial.rungs},
             {"predicted", trial.predicted.value},
             {"predicted_spread", trial.spread},
             {"trouble_within_reach", trial.predicted.slips},
             {"trouble_rung", trial.trouble ? Json(*trial.trouble + 1) : Json(nullptr)},
             {"speed_m_s", motion.speed_m_s},
             {"acceleration_m_s2", motion.acceleration_m_s2},
             {"speed_step_m_s", motion.step_m_s},
             {"stroke_m", motion.stroke_m},
             {"notes", trial.notes},
             {"findings", Json::array()}};
    for (const check::Finding& finding : findings)
        out["findings"].push_back(
            {{"check", finding.check},
             {"grade", finding.grade == check::Grade::fault ? "fault" : "risk"},
             {"message", finding.message}});
    return json_text(out);
}

}  // namespace stepper_sim::report
