// Recordings: any bytes, as a value change dump or as CSV, give a report or diagnostics of one short line each.
#include <sstream>

#include "claims.hpp"
#include "stepper_sim/capture/capture.hpp"

namespace {

stepper_sim::machine::Machine two_motors() {
    stepper_sim::machine::Machine machine;
    for (const char letter : {'X', 'Y'}) {
        stepper_sim::machine::Axis axis;
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

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const stepper_sim::machine::Machine machine = two_motors();
    std::istringstream in{std::string(fuzz::text_of(data, size))};
    fuzz::require_value_or_lines(stepper_sim::capture::run_capture(machine, in, "fuzz.vcd", {}),
                                 1000);
    return 0;
}
