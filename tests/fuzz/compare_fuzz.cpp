// Recordings beside the program that ran: any bytes give a report or diagnostics of one short line each, and no pulse is
// lost on the way: every planned one is paired, missing or outside the trace, and every recorded one is paired or extra.
#include <array>
#include <sstream>

#include "claims.hpp"
#include "stepper_sim/capture/capture.hpp"
#include "stepper_sim/machine/read_machine.hpp"

namespace {

stepper_sim::machine::Machine plotter() {
    const std::string configs = STEPPER_SIM_CONFIGS;
    auto machine =
        stepper_sim::machine::read_machine(configs + "/machines/label-plotter.toml", {configs});
    fuzz::require(static_cast<bool>(machine));
    return std::move(machine).value();
}

// Pulses of X, Y and Z in compare.gcode at 100, 100 and 400 steps per mm.
constexpr std::array<std::int64_t, 3> kPlanned{50, 10, 8};

}  // namespace

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const stepper_sim::machine::Machine machine = plotter();
    std::istringstream in{std::string(fuzz::text_of(data, size))};
    stepper_sim::capture::CaptureOptions options;
    options.program = STEPPER_SIM_TESTS_DIR "/fuzz/compare.gcode";
    const auto report = stepper_sim::capture::run_capture(machine, in, "fuzz.vcd", options);
    fuzz::require_value_or_lines(report, 1000);
    if (!report) return 0;
    for (const stepper_sim::capture::CapturedMotor& motor : report.value().motors) {
        if (!motor.match || motor.match->lost) continue;
        const stepper_sim::capture::MotorMatch& match = *motor.match;
        fuzz::require(match.planned == match.matched + match.missing.count);
        fuzz::require(match.planned + match.before + match.after == kPlanned.at(motor.slot));
        fuzz::require(motor.lines.pulses() == match.matched + match.extra.count);
    }
    return 0;
}
