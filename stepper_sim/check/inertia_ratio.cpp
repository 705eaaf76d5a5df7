#include <fmt/core.h>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/motor/electrical.hpp"

namespace stepper_sim::check {

void check_inertia_ratio(const CheckInput& input, Findings& findings) {
    for (std::size_t m = 0; m < input.machine.axes.size(); ++m) {
        const machine::Axis& axis = input.machine.axes[m];
        if (!axis.motor.rotor_inertia) continue;
        const double rotor_kg_m2 = axis.motor.rotor_inertia->value();
        const double load_kg_m2 = input.models.inertia_kg_m2[m] - rotor_kg_m2;
        const motor::InertiaGrade grade = motor::inertia_grade(load_kg_m2, rotor_kg_m2);
        if (grade != motor::InertiaGrade::poor && grade != motor::InertiaGrade::too_much) continue;
        constexpr double kWorks = 10.0;  // the rule's own limit, electrical.hpp
        Finding finding = words::about("inertia-ratio", Grade::note, axis);
        finding.value = load_kg_m2 / rotor_kg_m2;
        finding.limit = kWorks;
        finding.unit = "1";
        finding.message = fmt::format(
            "{}: the load's inertia is {} times the rotor's; makers advise up to 10: it overshoots "
            "and settles slowly",
            axis.letter, planner::format_number(finding.value, 3));
        findings.push_back(std::move(finding));
    }
}

}  // namespace stepper_sim::check
