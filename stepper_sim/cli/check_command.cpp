#include <fmt/core.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <filesystem>

#include "stepper_sim/check/report.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/many.hpp"
#include "stepper_sim/cli/proposal.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/cli/words_option.hpp"
#include "stepper_sim/picture/record_program.hpp"
#include "stepper_sim/report/before_after.hpp"
#include "stepper_sim/report/json.hpp"
#include "stepper_sim/report/markdown.hpp"
#include "stepper_sim/report/page.hpp"
#include "stepper_sim/report/pictures.hpp"
#include "stepper_sim/report/test_xml.hpp"
#include "stepper_sim/report/text.hpp"
#include "stepper_sim/run/run_sources.hpp"

namespace stepper_sim::cli {

namespace {

constexpr auto kOptions = std::to_array<OptionRow>({
    kMachinesOption,
    {"PROGRAM", "FILE",
     "G-code programs to check it on; none: worst-case moves. Several machines (.toml) or a "
     "folder: every machine with every program",
     false, true},
    kMarginOption,
    {"--windows", "N", "simulate at most N suspicious windows in full (default 200)", false, false},
    {"--no-dynamics", "", "leave out resonance and slip simulation; never ends in 'clear'", false,
     false},
    {"--compare", "FILE",
     "check FILE too, as what MACHINE would become: before and after side by side; the exit status "
     "is FILE's",
     false, false},
    {"--strict", "", "exit with status 1 on 'thin' too", false, false},
    {"--quiet", "", "print the verdict in one line", false, false},
    kJsonOption,
    {"--html", "FILE", "write one self-contained page with maps and charts to FILE", false, false},
    {"--limits", "",
     "with --html: look for the settings that hold and what they are worth, too; takes its time",
     false, false},
    {"--svg", "FOLDER", "write the main charts as pictures into FOLDER, made if missing", false,
     false},
    {"--md", "FILE", "write a Markdown summary for pasting, '-' for standard output", false, false},
    {"--test-xml", "FILE",
     "write the verdicts as the XML that build servers read from test runs; with --strict a risk "
     "fails too",
     false, false},
    {"--words", "",
     "print the lines of [program.words] that the machine file lacks for these programs, and "
     "nothing else",
     false, false},
    kProgressOption,
    kCatalogueOption,
});

std::optional<run::RunOptions> run_options(const Invocation& invocation) {
    run::RunOptions options;
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
    std::vector<run::ProgramResult> results;
    std::vector<picture::RecordedProgram> recorded;
};

std::optional<Programs> run_all(const machine::Machine& machine, const run::MotorModels& models,
                                const run::RunOptions& options, bool with_pictures,
                                std::span<const run::ProgramSource> sources) {
    Programs programs;
    bool good = true;
    for (const run::ProgramSource& source : run::sources_of(machine, models, sources, options)) {
        Progress progress("checking " + planner::printable(source.name(), 40));
        const run::ProgressCall show = [&](double share) { progress.share(share); };
        std::vector<planner::Diagnostic> wrong;
        if (with_pictures && !source.made_up()) {
            auto recorded =
                picture::record_program(machine, models, source, options, options.margin, show);
            if (recorded) {
                programs.recorded.push_back(std::move(recorded).value());
                programs.results.push_back(programs.recorded.back().result);
            } else {
                wrong = recorded.diagnostics();
            }
        } else {
            auto result = run::run_program(machine, models, source, options, show);
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

/// The charts of all programs; without one there are none to draw.
bool write_pictures(const std::filesystem::path& folder, const Programs& programs) {
    std::error_code error;
    std::filesystem::create_directories(folder, error);
    if (error) {
        print_error("cannot make folder " + planner::printable(folder.string(), 200) + ": " +
                    error.message());
        return false;
    }
    const std::vector<report::Picture> all = report::pictures(programs.recorded);
    return std::all_of(all.begin(), all.end(), [&](const report::Picture& picture) {
        return write_file((folder / picture.name).string(), picture.svg);
    });
}

/// One machine with its programs, checked.
struct Checked {
    machine::Machine machine;
    Programs programs;
    check::Report report;
};

check::Report report_of(const check::CheckInput& input, const run::RunOptions& options,
                        std::span<const run::ProgramSource> programs) {
    Progress progress("checking the change again");
    check::Report report = check::make_report(input, {programs, options},
                                              [&](double share) { progress.share(share); });
    progress.done();
    return report;
}

std::optional<Checked> checked(machine::Machine machine, const run::RunOptions& options,
                               bool with_pictures, const Invocation& invocation) {
    const run::MotorModels models = run::motor_models(machine);
    // Without dynamics nothing goes over a program twice.
    const std::vector<run::ProgramSource> files = programs_of(invocation);
    const auto sources = options.dynamics ? run::read_once(machine, files)
                                          : planner::Result<std::vector<run::ProgramSource>>(files);
    print_diagnostics(sources.diagnostics());
    if (!sources) return std::nullopt;
    auto programs = run_all(machine, models, options, with_pictures, sources.value());
    if (!programs) return std::nullopt;
    check::Report report =
        report_of({machine, models, programs->results, options.margin}, options, sources.value());
    return Checked{std::move(machine), std::move(*programs), std::move(report)};
}

/// Every file asked for; false, with an error printed, when one cannot be written. `both`: null where one machine stands alone.
bool write_views(const Invocation& invocation, const Checked& one,
                 const std::optional<limits::Proposal>& proposal, const report::BeforeAfter* both) {
    const check::Report& report = one.report;
    const check::PairReport pair{
        report.machine_file, fmt::format("{}", fmt::join(report.program.files, " ")), report, {}};
    if (invocation.has("--json") &&
        !write_file(invocation.text("--json"),
                    both != nullptr ? report::before_after_json(*both) : report::to_json(report)))
        return false;
    if (invocation.has("--md") &&
        !write_file(invocation.text("--md"),
                    report::to_markdown(report) +
                        (both != nullptr ? report::before_after_markdown(*both) : "")))
        return false;
    if (invocation.has("--test-xml") &&
        !write_file(invocation.text("--test-xml"),
                    report::test_xml({&pair, 1}, invocation.has("--strict"))))
        return false;
    if (invocation.has("--svg") && !write_pictures(invocation.text("--svg"), one.programs))
        return false;
    return !invocation.has("--html") ||
           write_file(invocation.text("--html"),
                      report::to_page(
                          report, one.programs.recorded, proposal ? &proposal->limits : nullptr,
                          proposal && proposal->time ? &*proposal->time : nullptr,
                          proposal && proposal->corners ? &*proposal->corners : nullptr, both));
}

std::string text_of(const Invocation& invocation, const check::Report& report,
                    const report::BeforeAfter* both) {
    if (!invocation.has("--quiet"))
        return both != nullptr ? report::with_caution(report::before_after_text(*both))
                               : report::to_text(report, use_colour());
    return (both != nullptr ? "before: " + report::to_line(both->before) + "after: " : "") +
           report::to_line(report);
}

Exit run(const Invocation& invocation) {
    const auto margin = margin_of(invocation);
    auto options = run_options(invocation);
    if (!margin || !options) return Exit::unusable;
    options->margin = *margin;
    const auto files = files_of(invocation);
    if (!files) return Exit::unusable;
    if (!files->one_machine()) return check_many(invocation, *files, *options, *margin);
    if (invocation.has("--limits") && !invocation.has("--html")) {
        print_error(
            "--limits: found no --html, expected --html FILE beside it; 'stepper_sim limits' "
            "prints them");
        return Exit::unusable;
    }
    const auto machine = machine_of(invocation);
    if (!machine) return Exit::unusable;
    if (invocation.has("--words")) return print_words(invocation, *machine);
    const bool compares = invocation.has("--compare");
    const auto other = compares ? machine_at(invocation.text("--compare"), invocation) : machine;
    if (!other) return Exit::unusable;

    std::optional<Checked> before;
    if (compares && !(before = checked(*machine, *options, false, invocation)))
        return Exit::unusable;
    const auto one =
        checked(*other, *options, invocation.has("--html") || invocation.has("--svg"), invocation);
    if (!one) return Exit::unusable;
    std::optional<limits::Proposal> proposal;
    if (invocation.has("--limits") &&
        !(proposal = propose(one->machine, *margin, programs_of(invocation))))
        return Exit::unusable;
    std::optional<report::BeforeAfter> both;
    if (before) both.emplace(report::BeforeAfter{before->report, one->report});
    const report::BeforeAfter* beside = both ? &*both : nullptr;
    if (!write_views(invocation, *one, proposal, beside)) return Exit::unusable;
    const auto to_output = [&](std::string_view view) { return invocation.text(view) == "-"; };
    if (!to_output("--json") && !to_output("--md") && !to_output("--html") &&
        !to_output("--test-xml") && !print(text_of(invocation, one->report, beside)))
        return Exit::unusable;
    return exit_of(one->report.verdict, invocation);
}

}  // namespace

const CommandRow kCheckCommand{
    "check", "every check on a machine and its programs: clear, thin or fault",
    "stepper_sim check configs/machines/tray-printer.toml configs/programs/tray-insert.gcode",
    kOptions, run};

}  // namespace stepper_sim::cli
