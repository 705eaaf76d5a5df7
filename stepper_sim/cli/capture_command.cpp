#include <fmt/core.h>

#include <array>
#include <fstream>

#include "planner/units/units_text.hpp"
#include "stepper_sim/capture/capture.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/machine/nearest.hpp"
#include "stepper_sim/report/capture_text.hpp"

namespace stepper_sim::cli {

namespace {

constexpr auto kOptions = std::to_array<OptionRow>({
    kMachineOption,
    {"TRACE", "FILE", "capture: value change dump (IEEE 1364) or CSV with a header", true, false},
    {"PROGRAM", "FILE", "G-code program that ran, to compare with", false, false},
    {"--channel", "LINE=NAME", "channel of a line, such as step.x=D0 or direction.x=D1", false,
     true},
    {"--invert", "LINE", "line that is active low or counts down when high, such as step.x", false,
     true},
    {"--resolution", "TIME", "what the recording resolves, such as \"42 ns\"; else the trace's own",
     false, false},
    {"--strict", "", "exit with status 1 on 'thin' too", false, false},
    kJsonOption,
    kCatalogueOption,
});

/// The line "step.x" of a machine, or null with an error printed.
machine::CaptureLine* line_of(machine::Machine& machine, const std::string& name,
                              const std::string& option) {
    std::vector<std::string> known;
    for (machine::Axis& axis : machine.axes) {
        const auto letter = planner::axis_key(axis.letter);
        known.push_back(fmt::format("step.{}", letter));
        if (name == known.back()) return &axis.step_line;
        known.push_back(fmt::format("direction.{}", letter));
        if (name == known.back()) return &axis.direction_line;
    }
    print_error(fmt::format("{}: found '{}', expected a line such as step.x; {}", option,
                            planner::printable(name), machine::reading::suggest(name, known)));
    return nullptr;
}

bool apply_lines(const Invocation& invocation, machine::Machine& machine) {
    bool good = true;
    for (const std::string& text : invocation.all("--channel")) {
        const std::size_t equals = std::min(text.find('='), text.size());
        if (equals + 1 >= text.size()) {
            print_error("--channel: found '" + planner::printable(text) +
                        "', expected a line and its channel such as step.x=D0");
            good = false;
            continue;
        }
        machine::CaptureLine* const line = line_of(machine, text.substr(0, equals), "--channel");
        if (line != nullptr) line->channel = text.substr(equals + 1);
        good = good && line != nullptr;
    }
    for (const std::string& name : invocation.all("--invert")) {
        machine::CaptureLine* const line = line_of(machine, name, "--invert");
        if (line != nullptr) line->inverted = !line->inverted;
        good = good && line != nullptr;
    }
    return good;
}

std::optional<capture::CaptureOptions> options_of(const Invocation& invocation) {
    capture::CaptureOptions options;
    if (invocation.has("PROGRAM")) options.program = invocation.text("PROGRAM");
    if (!invocation.has("--resolution")) return options;
    const auto time = planner::parse_quantity<planner::Time>(invocation.text("--resolution"),
                                                             {"--resolution", 0, 0});
    if (!time) {
        print_diagnostics(time.diagnostics());
        return std::nullopt;
    }
    options.resolution_s = time.value().value();
    constexpr double kMost_s = 1.0;
    if (*options.resolution_s >= 0.0 && *options.resolution_s <= kMost_s) return options;
    print_error("--resolution: expected a time from 0 s to 1 s");
    return std::nullopt;
}

/// The trace, open; an error is printed when it cannot be.
std::ifstream open_file(const std::string& file, capture::CaptureOptions& options) {
    std::error_code error;
    const auto status = std::filesystem::status(file, error);
    std::ifstream in;
    std::string why = "cannot be read";
    if (!std::filesystem::exists(status)) {
        why = "no such file";
    } else if (!std::filesystem::is_regular_file(status)) {
        why = "not a regular file";
    } else {
        in.open(file, std::ios::binary);
        options.trace_bytes = std::filesystem::file_size(file, error);
    }
    if (!in.is_open())
        print_error(fmt::format("{}: {}, expected a capture as VCD or CSV",
                                planner::printable(file, 200), why));
    return in;
}

Exit run(const Invocation& invocation) {
    auto options = options_of(invocation);
    auto machine = machine_of(invocation);
    if (!options || !machine || !apply_lines(invocation, *machine)) return Exit::unusable;
    const std::string file = invocation.text("TRACE");
    std::ifstream trace = open_file(file, *options);
    if (!trace.is_open()) return Exit::unusable;
    Progress progress("capture");
    const auto report = capture::run_capture(*machine, trace, file, *options,
                                             [&](double share) { progress.share(share); });
    progress.done();
    if (!report) {
        print_diagnostics(report.diagnostics());
        return Exit::unusable;
    }
    if (invocation.has("--json") &&
        !write_file(invocation.text("--json"), report::capture_json(report.value())))
        return Exit::unusable;
    if (!json_to_output(invocation) && !print(report::capture_text(report.value())))
        return Exit::unusable;
    return exit_of(report.value().verdict, invocation);
}

}  // namespace

const CommandRow kCaptureCommand{
    "capture", "checks a logic-analyser capture against the drivers' timing and the plan",
    "stepper_sim capture machine.toml capture.vcd part.gcode --channel step.x=D0 "
    "--channel direction.x=D1",
    kOptions, run};

}  // namespace stepper_sim::cli
