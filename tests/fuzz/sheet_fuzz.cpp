// Trial sheets: any bytes give a TrialSheet or diagnostics of one short line each.
#include "claims.hpp"
#include "stepper_sim/trial/trial_sheet.hpp"

namespace {

stepper_sim::machine::Machine two_axes() {
    stepper_sim::machine::Machine machine;
    machine.name = "bench";
    machine.axes.resize(2);
    machine.axes[1].letter = 'Y';
    return machine;
}

}  // namespace

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const stepper_sim::machine::Machine machine = two_axes();
    fuzz::require_value_or_lines(
        stepper_sim::trial::read_sheet_text(fuzz::text_of(data, size), "fuzz.toml", machine), 300);
    return 0;
}
