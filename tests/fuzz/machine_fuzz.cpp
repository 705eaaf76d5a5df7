// Fuzzer of the machine reader: any bytes give a Machine or diagnostics of one short line each.
// Seed it with configs/machines. A crash becomes a case of
// tests/stepper_sim/machine/hostile_input_test.cpp.
#include <cstdint>
#include <cstdlib>

#include "stepper_sim/machine/read_machine.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string text(data, data + size);
    const auto result = stepper_sim::read_machine_text(text, "fuzz.toml", {});
    if (static_cast<bool>(result) != result.diagnostics().empty()) std::abort();
    for (const planner::Diagnostic& diagnostic : result.diagnostics()) {
        const std::string line = planner::to_line(diagnostic);
        if (line.size() > 300 || line.find('\n') != std::string::npos) std::abort();
    }
    return 0;
}
