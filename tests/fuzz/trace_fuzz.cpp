// Fuzzer of the capture command's readers and of all that follows them: any bytes, as a value change
// dump or as CSV, give a report or diagnostics of one short line each. Seed it with
// tests/fuzz/corpus/trace. A crash becomes a case of
// tests/stepper_sim/controller/trace_reader_test.cpp.
#include <cstdint>
#include <cstdlib>
#include <sstream>

#include "stepper_sim/check/capture.hpp"

namespace {

stepper_sim::Machine two_motors() {
    stepper_sim::Machine machine;
    for (const char letter : {'X', 'Y'}) {
        stepper_sim::Axis axis;
        axis.letter = letter;
        axis.settings.steps_per_mm = 80.0;
        axis.driver.step_high_min = planner::from_si<planner::Time>(1e-6);
        axis.driver.step_low_min = planner::from_si<planner::Time>(1e-6);
        axis.driver.setup_min = planner::from_si<planner::Time>(2e-7);
        axis.driver.hold_min = planner::from_si<planner::Time>(2e-7);
        machine.axes.push_back(axis);
    }
    return machine;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const stepper_sim::Machine machine = two_motors();
    std::istringstream in(std::string(data, data + size));
    const auto report = stepper_sim::run_capture(machine, in, "fuzz.vcd", {});
    if (static_cast<bool>(report) != report.diagnostics().empty()) std::abort();
    for (const planner::Diagnostic& diagnostic : report.diagnostics()) {
        const std::string line = planner::to_line(diagnostic);
        if (line.size() > 1000 || line.find('\n') != std::string::npos) std::abort();
    }
    return 0;
}
