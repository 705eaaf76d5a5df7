#include <array>
#include <charconv>

#include "stepper_sim/check/record_program.hpp"
#include "stepper_sim/check/report.hpp"
#include "stepper_sim/check/run_program.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/report/json.hpp"
#include "stepper_sim/report/page.hpp"
#include "stepper_sim/report/text.hpp"

namespace stepper_sim::cli {

namespace {

constexpr auto kOptions = std::to_array<OptionRow>({
    kMachineOption,
    {"PROGRAM", "FILE", "G-code programs to check the machine on; none: settings only", false,
     true},
    kMarginOption,
    {"--windows", "N", "simulate at most N suspicious windows in full (default 200)", false, false},
    {"--no-dynamics", "", "leave out resonance and slip simulation; never ends in 'clear'", false,
     false},
    {"--strict", "", "exit with status 1 on 'thin' too", false, false},
    {"--quiet", "", "print the verdict in one line", false, false},
    kJsonOption,
    {"--html", "FILE", "write one self-contained page with maps and charts to FILE", false, false},
    kCatalogueOption,
});

std::optional<RunOptions> run_options(const Invocation& invocation) {
    RunOptions options;
    options.dynamics = !invocation.has("--no-dynamics");
    if (!invocation.has("--windows")) return options;
    const std::string text = invocation.text("--windows");
    const auto [end, error] =
        std::from_chars(text.data(), text.data() + text.size(), options.most_windows);
    if (error == std::errc() && end == text.data() + text.size() && options.most_windows >= 0)
        return options;
    print_error("--windows: found '" + planner::printable(text) +
                "', expected a whole number such as 200");
    return std::nullopt;
}

/// What the programs left behind; recordings only where pictures are asked for.
struct Programs {
    std::vector<ProgramResult> results;
    std::vector<RecordedProgram> recorded;
};

std::optional<Programs> run_all(const Machine& machine, const MotorModels& models,
                                const RunOptions& options, double margin,
                                const Invocation& invocation) {
    Programs programs;
    const bool pictures = invocation.has("--html");
    bool good = true;
    for (const std::string& file : invocation.all("PROGRAM")) {
        Progress progress("checking " + planner::printable(file, 40));
        const ProgressCall show = [&](double share) { progress.share(share); };
        std::vector<planner::Diagnostic> wrong;
        if (pictures) {
            auto recorded = record_program(machine, models, file, options, margin, show);
            if (recorded) {
                programs.recorded.push_back(std::move(recorded).value());
                programs.results.push_back(programs.recorded.back().result);
            } else {
                wrong = recorded.diagnostics();
            }
        } else {
            auto result = run_program(machine, models, file, options, show);
            if (result)
                programs.results.push_back(std::move(result).value());
            else
                wrong = result.diagnostics();
        }
        progress.done();
        print_diagnostics(wrong);
        good = good && wrong.empty();
    }
    if (!good) return std::nullopt;
    return programs;
}

/// Every file asked for; false, with an error printed, when one cannot be written.
bool write_views(const Invocation& invocation, const Report& report, const Programs& programs) {
    if (invocation.has("--json") && !write_file(invocation.text("--json"), to_json(report)))
        return false;
    return !invocation.has("--html") ||
           write_file(invocation.text("--html"), to_page(report, programs.recorded));
}

Exit run(const Invocation& invocation) {
    const auto margin = margin_of(invocation);
    const auto options = run_options(invocation);
    const auto machine = machine_of(invocation);
    if (!margin || !options || !machine) return Exit::unusable;
    const MotorModels models = motor_models(*machine);
    const auto programs = run_all(*machine, models, *options, *margin, invocation);
    if (!programs) return Exit::unusable;

    const Report report = make_report({*machine, models, programs->results, *margin});
    if (!write_views(invocation, report, *programs)) return Exit::unusable;
    if (!json_to_output(invocation) &&
        !print(invocation.has("--quiet") ? to_line(report) : to_text(report, use_colour())))
        return Exit::unusable;
    const bool bad = report.verdict == Verdict::fault ||
                     (report.verdict == Verdict::thin && invocation.has("--strict"));
    return bad ? Exit::fault : Exit::good;
}

}  // namespace

const CommandRow kCheckCommand{
    "check", "every check on a machine and its programs: clear, thin or fault",
    "stepper_sim check configs/machines/tray-printer.toml configs/programs/tray-insert.gcode",
    kOptions, run};

}  // namespace stepper_sim::cli
