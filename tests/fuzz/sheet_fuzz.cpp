// Fuzzer of the trial sheet reader: any bytes give a TrialSheet or diagnostics of one short line each.
// Seed it with configs/trials/*.toml. A crash becomes a case of tests/stepper_sim/tune/fit_test.cpp.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "stepper_sim/tune/trial_sheet.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    stepper_sim::Machine machine;
    machine.name = "fuzz";
    machine.axes.resize(2);
    machine.axes[1].letter = 'Y';
    const std::string text(data, data + size);
    const auto result = stepper_sim::read_sheet_text(text, "fuzz.toml", machine);
    if (static_cast<bool>(result) != result.diagnostics().empty()) std::abort();
    for (const planner::Diagnostic& diagnostic : result.diagnostics()) {
        const std::string line = planner::to_line(diagnostic);
        if (line.size() > 300 || line.find('\n') != std::string::npos) std::abort();
    }
    return 0;
}
