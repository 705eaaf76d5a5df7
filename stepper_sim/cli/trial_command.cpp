#include <fmt/core.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <system_error>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/sheets.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/report/version.hpp"
#include "stepper_sim/run/run_program.hpp"
#include "stepper_sim/trial/trial_program.hpp"
#include "stepper_sim/trial/trial_text.hpp"

namespace stepper_sim::cli {

namespace {

using Json = nlohmann::ordered_json;

constexpr auto kOptions = std::to_array<OptionRow>({
    kMachineOption,
    {"--axis", "LETTER", "the axis to try", true, false},
    {"--raise", "WHAT", "speed, acceleration, step or resonance (which sweeps its frequency)", true,
     false},
    {"--after", "SHEET", "filled sheets of earlier trials: finer rungs where they leave doubt",
     false, true},
    {"--out", "FILE", "write the G-code program to FILE, and its sheet beside it", false, false},
    {"--sheet", "FILE",
     "write the sheet to fill in to FILE (TOML), and one to read beside it (.md); default: beside "
     "the program",
     false, false},
    kJsonOption,
    kCatalogueOption,
});

std::optional<TrialQuestion> question_of(const Invocation& invocation) {
    const std::string text = invocation.text("--raise");
    std::string words;
    for (int i = 0; i < kTrialQuestions; ++i) {
        const auto question = static_cast<TrialQuestion>(i);
        if (text == to_word(question)) return question;
        words += (i == 0 ? "" : ", ") + std::string(to_word(question));
    }
    print_error("--raise: found '" + planner::printable(text) + "', expected one of " + words);
    return std::nullopt;
}

/// The findings about ratings, travel and words, of the trial run at the settings of its last rung.
/// What the trial looks for, lost steps, is not among them.
bool about_ratings(const Finding& finding) {
    constexpr std::array<std::string_view, 4> kSought{"torque", "speed-step", "lost-steps",
                                                      "steps-per-mm"};
    return std::find(kSought.begin(), kSought.end(), finding.check) == kSought.end() &&
           finding.grade != Grade::note;
}

/// A program on its way through the checks; gone when the object is.
class PassingFile {
  public:
    explicit PassingFile(const std::string& content) {
        std::error_code error;
        path_ = (std::filesystem::temp_directory_path(error) / "trial-XXXXXX").string();
        const int handle = mkstemp(path_.data());
        if (handle < 0) return;
        close(handle);
        std::ofstream(path_, std::ios::binary) << content;
    }
    PassingFile(const PassingFile&) = delete;
    PassingFile& operator=(const PassingFile&) = delete;
    ~PassingFile() {
        std::error_code ignored;
        std::filesystem::remove(path_, ignored);
    }
    const std::string& path() const { return path_; }

  private:
    std::string path_;
};

std::optional<Findings> check_trial(const Machine& machine, const Trial& trial,
                                    const std::string& program) {
    const PassingFile file(program);
    const Machine raised = set_to(machine, trial, trial.rungs.back());
    const MotorModels models = motor_models(raised);
    const auto result = run_program(raised, models, file.path(), {.dynamics = false});
    if (!result) {
        print_diagnostics(result.diagnostics());
        return std::nullopt;
    }
    const std::vector<ProgramResult> programs{result.value()};
    Findings kept;
    for (const Finding& finding : run_checks({raised, models, programs}))
        if (about_ratings(finding) && (finding.motor == 0 || finding.motor == trial.letter))
            kept.push_back(finding);
    return kept;
}

std::string findings_text(const Findings& findings) {
    if (findings.empty())
        return wrapped(
            "Travel and ratings hold up to its last rung; steps may well be lost before it.", 0, 0);
    std::string out = "At the settings of its last rung:\n";
    for (const Finding& finding : findings) {
        const std::string head = fmt::format(
            "  {} {}: ", finding.grade == Grade::fault ? "fault" : "risk", finding.check);
        out += head + wrapped(planner::printable(finding.message, 400), 4, head.size());
    }
    return out;
}

std::string strokes_text(const Trial& trial) {
    const RungMotion& motion = trial.motion;
    if (motion.question == TrialQuestion::resonance)
        return fmt::format("zig-zags at {}, tapering through each frequency",
                           rung_text(TrialQuestion::speed, motion.speed_m_s));
    const std::string stroke =
        "strokes of " + planner::format_number(motion.stroke_m * 1e3, 4) + " mm";
    if (motion.question == TrialQuestion::speed)
        return stroke + " at " + rung_text(TrialQuestion::acceleration, motion.acceleration_m_s2);
    return fmt::format("{} at {}, then zig-zags that sweep {} to {}", stroke,
                       rung_text(TrialQuestion::speed, motion.speed_m_s),
                       planner::format_number(motion.sweep_from_Hz, 3),
                       rung_text(TrialQuestion::resonance, motion.sweep_to_Hz));
}

std::string to_text(const Trial& trial, const Findings& findings) {
    const bool sweep = trial.motion.question == TrialQuestion::resonance;
    std::string out =
        wrapped(fmt::format("{} of axis {}, {}: {}", to_word(trial.motion.question), trial.letter,
                            planner::printable(trial.machine_name), strokes_text(trial)),
                0, 0);
    out += wrapped(expectation(trial), 0, 0);
    if (!sweep) out += wrapped(expectation_scope(), 0, 0);
    for (const std::string& note : trial.notes)
        out += wrapped("note: " + note, 0, 0);
    std::vector<std::vector<std::string>> rows{
        {"rung", std::string(to_word(trial.motion.question)), "expected"}};
    for (std::size_t i = 0; i < trial.rungs.size(); ++i) {
        const bool trouble = trial.trouble && (sweep ? i == *trial.trouble : i >= *trial.trouble);
        rows.push_back({std::to_string(i + 1), rung_text(trial.motion.question, trial.rungs[i]),
                        trouble ? (sweep ? "loudest" : "loses steps") : "holds"});
    }
    out += '\n' + table(rows) + '\n' + findings_text(findings);
    for (const std::string& caution : trial_cautions())
        out += wrapped(caution, 0, 0);
    return out;
}

std::string to_json(const Machine& machine, const Trial& trial, const Findings& findings) {
    const RungMotion& motion = trial.motion;
    const bool sweep = motion.question == TrialQuestion::resonance;
    const char* unit = sweep                                            ? "Hz"
                       : motion.question == TrialQuestion::acceleration ? "m/s^2"
                                                                        : "m/s";
    Json out{{"schema", "stepper_sim.trial.1"},
             {"version", kVersion},
             {"machine", {{"name", machine.name}, {"file", machine.file}}},
             {"axis", std::string(1, trial.letter)},
             {"raise", to_word(motion.question)},
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
    for (const Finding& finding : findings)
        out["findings"].push_back({{"check", finding.check},
                                   {"grade", finding.grade == Grade::fault ? "fault" : "risk"},
                                   {"message", finding.message}});
    return out.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::string with_extension(const std::string& file, const char* extension) {
    return std::filesystem::path(file).replace_extension(extension).string();
}

std::string sheet_file(const Invocation& invocation) {
    const std::string out = invocation.text("--out");
    return invocation.text(
        "--sheet", out.empty() || out == "-" ? std::string() : with_extension(out, ".toml"));
}

/// Whether what is written would take the place of what was read; says so.
bool overwrites_input(const Invocation& invocation) {
    const std::string sheet = sheet_file(invocation);
    std::vector<std::string> inputs = invocation.all("--after");
    inputs.push_back(invocation.text("MACHINE"));
    for (const std::string& output :
         {invocation.text("--out"), sheet, with_extension(sheet, ".md")})
        for (const std::string& input : inputs) {
            std::error_code ignored;
            if (output.empty() || !std::filesystem::equivalent(output, input, ignored)) continue;
            print_error(output + ": found the name of a file that was read, expected another for " +
                        (output == invocation.text("--out") ? "the program" : "the sheet") +
                        "; give one with --out or --sheet");
            return true;
        }
    return false;
}

bool write_all(const Machine& machine, const Trial& trial, const std::string& program,
               const Invocation& invocation) {
    const std::string out = invocation.text("--out");
    const std::string sheet = sheet_file(invocation);
    if (!out.empty() && !write_file(out, program)) return false;
    if (sheet.empty()) return true;
    const std::string reading = with_extension(sheet, ".md");
    const auto name = [](const std::string& file) {
        return std::filesystem::path(file).filename().string();
    };
    return write_file(sheet, trial_sheet_toml(machine, trial)) &&
           (sheet == "-" ||
            write_file(reading, trial_markdown(machine, trial, name(out), name(sheet))));
}

/// The trial after earlier ones: with what they leave of the belief in the machine file, and their strokes.
planner::Result<Trial> next_trial(const Machine& machine, const MotorModels& models, int slot,
                                  TrialQuestion question, const std::vector<AxisFit>& fits) {
    const auto own = std::find_if(fits.begin(), fits.end(),
                                  [&](const AxisFit& fit) { return fit.slot == slot; });
    if (own == fits.end()) return design_trial(machine, models, slot, question);
    std::optional<RungMotion> strokes;
    for (const SheetFit& sheet : own->sheets)
        if (sheet.motion.question == question) strokes = sheet.motion;
    return design_trial(machine, models, slot, question, own->after, strokes);
}

Exit run(const Invocation& invocation) {
    const auto question = question_of(invocation);
    const auto machine = machine_of(invocation);
    if (!question || !machine || overwrites_input(invocation)) return Exit::unusable;
    const auto slot = axis_of(*machine, invocation);
    if (!slot) return Exit::unusable;
    const MotorModels models = motor_models(*machine);
    const auto fits = fits_of(*machine, models, invocation.all("--after"));
    if (!fits) return Exit::unusable;
    const auto trial = next_trial(*machine, models, *slot, *question, fits->axes);
    if (!trial) {
        print_diagnostics(trial.diagnostics());
        return Exit::unusable;
    }
    const std::string program = trial_program(*machine, trial.value());
    const auto findings = check_trial(*machine, trial.value(), program);
    if (!findings || !write_all(*machine, trial.value(), program, invocation))
        return Exit::unusable;
    const std::string json = invocation.text("--json");
    if (!json.empty() && !write_file(json, to_json(*machine, trial.value(), *findings)))
        return Exit::unusable;
    const bool quiet =
        json == "-" || invocation.text("--out") == "-" || invocation.text("--sheet") == "-";
    if (!quiet && !print(to_text(trial.value(), *findings))) return Exit::unusable;
    const bool bad = std::any_of(findings->begin(), findings->end(),
                                 [](const Finding& f) { return f.grade == Grade::fault; });
    return bad ? Exit::fault : Exit::good;
}

}  // namespace

const CommandRow kTrialCommand{
    "trial", "a test program for the real machine, and the sheet to write down what it did",
    "stepper_sim trial configs/machines/tray-printer.toml --axis y --raise acceleration --out "
    "y.gcode",
    kOptions, run};

}  // namespace stepper_sim::cli
