#include <unistd.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <system_error>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/sheets.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/report/trial_view.hpp"
#include "stepper_sim/run/run_program.hpp"
#include "stepper_sim/trial/trial_program.hpp"
#include "stepper_sim/trial/trial_text.hpp"

namespace stepper_sim::cli {

namespace {

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

std::optional<trial::TrialQuestion> question_of(const Invocation& invocation) {
    const std::string text = invocation.text("--raise");
    std::string words;
    for (int i = 0; i < trial::kTrialQuestions; ++i) {
        const auto question = static_cast<trial::TrialQuestion>(i);
        if (text == trial::to_word(question)) return question;
        words += (i == 0 ? "" : ", ") + std::string(trial::to_word(question));
    }
    print_error("--raise: found '" + planner::printable(text) + "', expected one of " + words);
    return std::nullopt;
}

/// The findings about ratings, travel and words, of the trial run at the settings of its last rung.
/// What the trial looks for, lost steps, is not among them.
bool about_ratings(const check::Finding& finding) {
    constexpr std::array<std::string_view, 4> kSought{"torque", "speed-step", "lost-steps",
                                                      "steps-per-mm"};
    return std::find(kSought.begin(), kSought.end(), finding.check) == kSought.end() &&
           finding.grade != check::Grade::note;
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

std::optional<check::Findings> check_trial(const machine::Machine& machine,
                                           const trial::Trial& trial, const std::string& program) {
    const PassingFile file(program);
    const machine::Machine raised = trial::set_to(machine, trial, trial.rungs.back());
    const run::MotorModels models = run::motor_models(raised);
    const auto result = run::run_program(raised, models, file.path(), {.dynamics = false});
    if (!result) {
        print_diagnostics(result.diagnostics());
        return std::nullopt;
    }
    const std::vector<run::ProgramResult> programs{result.value()};
    check::Findings kept;
    for (const check::Finding& finding : check::run_checks({raised, models, programs}))
        if (about_ratings(finding) && (finding.motor == 0 || finding.motor == trial.letter))
            kept.push_back(finding);
    return kept;
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

bool write_all(const machine::Machine& machine, const trial::Trial& trial,
               const std::string& program, const Invocation& invocation) {
    const std::string out = invocation.text("--out");
    const std::string sheet = sheet_file(invocation);
    if (!out.empty() && !write_file(out, program)) return false;
    if (sheet.empty()) return true;
    const std::string reading = with_extension(sheet, ".md");
    const auto name = [](const std::string& file) {
        return std::filesystem::path(file).filename().string();
    };
    return write_file(sheet, trial::trial_sheet_toml(machine, trial)) &&
           (sheet == "-" ||
            write_file(reading, trial::trial_markdown(machine, trial, name(out), name(sheet))));
}

/// The trial after earlier ones: with what they leave of the belief in the machine file, and their strokes.
planner::Result<trial::Trial> next_trial(const machine::Machine& machine,
                                         const run::MotorModels& models, int slot,
                                         trial::TrialQuestion question,
                                         const std::vector<trial::AxisFit>& fits) {
    const auto own = std::find_if(fits.begin(), fits.end(),
                                  [&](const trial::AxisFit& fit) { return fit.slot == slot; });
    if (own == fits.end()) return trial::design_trial(machine, models, slot, question);
    std::optional<trial::RungMotion> strokes;
    for (const trial::SheetFit& sheet : own->sheets)
        if (sheet.motion.question == question) strokes = sheet.motion;
    return trial::design_trial(machine, models, slot, question, own->after, strokes);
}

Exit run(const Invocation& invocation) {
    const auto question = question_of(invocation);
    const auto machine = machine_of(invocation);
    if (!question || !machine || overwrites_input(invocation)) return Exit::unusable;
    const auto slot = axis_of(*machine, invocation);
    if (!slot) return Exit::unusable;
    const run::MotorModels models = run::motor_models(*machine);
    const auto fits = fits_of(*machine, models, invocation.all("--after"));
    if (!fits) return Exit::unusable;
    const auto trial = next_trial(*machine, models, *slot, *question, fits->axes);
    if (!trial) {
        print_diagnostics(trial.diagnostics());
        return Exit::unusable;
    }
    const std::string program = trial::trial_program(*machine, trial.value());
    const auto findings = check_trial(*machine, trial.value(), program);
    if (!findings || !write_all(*machine, trial.value(), program, invocation))
        return Exit::unusable;
    const std::string json = invocation.text("--json");
    if (!json.empty() && !write_file(json, report::trial_json(*machine, trial.value(), *findings)))
        return Exit::unusable;
    const bool quiet =
        json == "-" || invocation.text("--out") == "-" || invocation.text("--sheet") == "-";
    if (!quiet && !print(report::trial_text(trial.value(), *findings))) return Exit::unusable;
    const bool bad = std::any_of(findings->begin(), findings->end(), [](const check::Finding& f) {
        return f.grade == check::Grade::fault;
    });
    return bad ? Exit::fault : Exit::good;
}

}  // namespace

const CommandRow kTrialCommand{
    "trial", "a test program for the real machine, and the sheet to write down what it did",
    "stepper_sim trial configs/machines/tray-printer.toml --axis y --raise acceleration --out "
    "y.gcode",
    kOptions, run};

}  // namespace stepper_sim::cli
