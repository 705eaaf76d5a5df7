#include <fmt/core.h>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim::check {

// The friction of a machine file may hold what only a cut or a full load adds, so it is named but not relied on: a load that comes
// down can crush.
void check_falling_load(const CheckInput& input, Findings& findings) {
    for (std::size_t m = 0; m < input.machine.axes.size(); ++m) {
        const motor::MotorLoads& loads = input.models.loads;
        if (!motor::weight_drives_back(loads, m)) continue;
        const machine::Axis& axis = input.machine.axes[m];
        Finding finding = words::about("falling-load", Grade::note, axis);
        finding.value = loads.axes[m].weight_N;
        finding.limit = loads.axes[m].friction_N;
        finding.unit = "N";
        finding.message = fmt::format(
            "{}: the load can drive the {} backwards: only friction ({} N as stated, perhaps less) "
            "holds its weight of {} N, and it may come down when the motor is off or loses steps; "
            "support it first, or fit a brake",
            axis.letter, axis.drive.screw_lead ? "screw" : "belt",
            planner::format_number(finding.limit, 3), planner::format_number(finding.value, 3));
        findings.push_back(std::move(finding));
    }
}

}  // namespace stepper_sim::check
