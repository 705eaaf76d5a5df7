#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/candidates.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/top_speed.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/motor/screw_whip.hpp"

namespace stepper_sim::check {

namespace {

std::string rpm(double rate_rad_s) {
    return planner::format_quantity(planner::from_si<planner::AngularSpeed>(rate_rad_s), 3);
}

}  // namespace

// No program goes faster than the settings let it, so they alone are judged.
void check_screw_whip(const CheckInput& input, Findings& findings) {
    for (std::size_t slot = 0; slot < input.machine.axes.size(); ++slot) {
        const machine::Axis& axis = input.machine.axes[slot];
        const machine::Drive& drive = axis.drive;
        if (!drive.screw_lead || !drive.screw_root || !drive.screw_length) continue;
        const double critical_rad_s =
            motor::critical_rate_rad_s(*drive.screw_root, *drive.screw_length, drive.screw_ends);
        const double top_m_s = top_axis_speed_m_s(input.machine, slot);
        const double top_rad_s = 2.0 * std::numbers::pi * top_m_s / drive.screw_lead->value();
        const double allowed = std::min(motor::kAllowedOfCritical, 1.0 - input.margin);
        if (top_rad_s <= allowed * critical_rad_s) continue;
        const bool over = top_rad_s > critical_rad_s;
        Finding finding = words::about("screw-whip", over ? Grade::fault : Grade::risk, axis);
        finding.value = top_rad_s;
        finding.limit = over ? critical_rad_s : allowed * critical_rad_s;
        finding.unit = "rad/s";
        finding.message = fmt::format(
            "{}: the screw turns at {} at top speed and whips at {} ({} of it is used; makers "
            "allow "
            "{}): {} is the highest speed that stays clear of it; better held ends or a thicker "
            "screw allow more",
            axis.letter, rpm(top_rad_s), rpm(critical_rad_s),
            words::percent(top_rad_s / critical_rad_s), words::percent(motor::kAllowedOfCritical),
            words::mm_s(top_m_s * allowed * critical_rad_s / top_rad_s));
        candidates::add(finding.changes,
                        candidates::slower(input, slot, allowed * critical_rad_s / top_rad_s,
                                           candidates::Reached::by_settings));
        findings.push_back(std::move(finding));
    }
}

}  // namespace stepper_sim::check
