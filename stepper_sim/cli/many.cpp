#include "stepper_sim/cli/many.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "stepper_sim/check/check_pairs.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/report/summary.hpp"
#include "stepper_sim/report/test_xml.hpp"

namespace stepper_sim::cli {

std::optional<machine::InputFiles> files_of(const Invocation& invocation) {
    std::vector<std::string> given = invocation.all("MACHINE");
    for (const std::string& file : invocation.all("PROGRAM"))
        given.push_back(file);
    auto files = machine::input_files(given);
    print_diagnostics(files ? files.value().errors : files.diagnostics());
    if (!files) return std::nullopt;
    return std::move(files).value();
}

bool asks_for_one(const Invocation& invocation, std::initializer_list<std::string_view> options) {
    const auto* const option = std::find_if(options.begin(), options.end(),
                                            [&](auto each) { return invocation.has(each); });
    if (option == options.end()) return false;
    print_error(fmt::format(
        "{}: found several machines or a folder, expected one machine file and its programs",
        *option));
    return true;
}

void ErrorsOnce::stands_elsewhere(std::span<const planner::Diagnostic> errors) {
    if (!errors.empty()) said_.insert(planner::to_line(errors.front()));
}

void ErrorsOnce::print(std::span<const planner::Diagnostic> errors) {
    for (const planner::Diagnostic& error : errors)
        if (said_.insert(planner::to_line(error)).second) print_diagnostics({&error, 1});
}

Exit check_many(const Invocation& invocation, const machine::InputFiles& files,
                const run::RunOptions& options, double margin) {
    if (asks_for_one(invocation, {"--compare", "--html", "--limits", "--svg", "--md", "--words"}))
        return Exit::unusable;
    Progress progress("checking all pairs");
    const std::vector<check::PairReport> pairs = check::check_pairs(
        {files.machines, files.programs, catalogue_folders(invocation), options, margin},
        [&](double share) { progress.share(share); });
    progress.done();
    const bool as_table = !json_to_output(invocation) && !invocation.has("--quiet") &&
                          invocation.text("--test-xml") != "-";
    ErrorsOnce errors;
    if (as_table)
        for (const check::PairReport& pair : pairs)
            errors.stands_elsewhere(pair.errors);
    for (const check::PairReport& pair : pairs)
        errors.print(pair.errors);

    if (invocation.has("--test-xml") &&
        !write_file(invocation.text("--test-xml"),
                    report::test_xml(pairs, invocation.has("--strict"))))
        return Exit::unusable;
    const report::Summary summary{pairs, files.left_out, margin, files.errors.empty()};
    if (invocation.has("--json") &&
        !write_file(invocation.text("--json"), report::summary_json(summary)))
        return Exit::unusable;
    if (!json_to_output(invocation) && invocation.text("--test-xml") != "-" &&
        !print(invocation.has("--quiet") ? report::summary_line(summary)
                                         : report::summary_text(summary)))
        return Exit::unusable;
    const auto worst = check::worst_verdict(pairs);
    if (!worst || !files.errors.empty()) return Exit::unusable;
    return exit_of(*worst, invocation);
}

}  // namespace stepper_sim::cli
