#include <fmt/core.h>

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim {

void check_processor_load(const CheckInput& input, Findings& findings) {
    const double share = input.machine.controller.processor_share;
    for (const ProgramResult& program : input.programs) {
        const ControllerTiming& timing = program.controller;
        if (timing.late_pulses > 0) {
            Finding finding;
            finding.check = "processor-load";
            finding.grade = Grade::fault;
            finding.line = timing.lateness_peak_s.line;
            finding.time_s = timing.lateness_peak_s.time_s;
            finding.value = timing.lateness_peak_s.value;
            finding.unit = "s";
            finding.message = fmt::format(
                "{} pulses leave late, the worst by {} at line {}: controller {} cannot keep up; "
                "lower the speed or the microsteps",
                timing.late_pulses, words::interval(timing.lateness_peak_s.value),
                timing.lateness_peak_s.line, input.machine.controller.name);
            findings.push_back(std::move(finding));
        } else if (timing.load_peak.value > share) {
            Finding finding;
            finding.check = "processor-load";
            finding.grade = Grade::risk;
            finding.line = timing.load_peak.line;
            finding.time_s = timing.load_peak.time_s;
            finding.value = timing.load_peak.value;
            finding.limit = share;
            finding.unit = "1";
            finding.message = fmt::format(
                "stepping takes {} of controller {} at line {}, more than the allowed {}",
                words::percent(timing.load_peak.value), input.machine.controller.name,
                timing.load_peak.line, words::percent(share));
            findings.push_back(std::move(finding));
        }
    }
}

}  // namespace stepper_sim
