#include <fmt/core.h>

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim::check {

namespace {

// A position may pass the end of travel by the rounding of a program's last digit.
constexpr double kRounding_m = 1e-6;

void outside(const machine::Axis& axis, const run::Moment& at, double limit_m, Findings& findings) {
    Finding finding = words::about("travel", Grade::fault, axis);
    finding.value = at.position_m;
    finding.limit = limit_m;
    finding.unit = "m";
    finding.message = fmt::format("{}: the program goes to {}, past the end of travel at {}",
                                  axis.letter, words::mm(at.position_m), words::mm(limit_m));
    words::place(finding, axis, at);
    finding.message +=
        "; if program zero is set at the machine, say work_offset = \"unknown\" under [program]";
    findings.push_back(std::move(finding));
}

void too_wide(const machine::Axis& axis, const run::AxisRange& range, double travel_m,
              Findings& findings) {
    Finding finding = words::about("travel", Grade::fault, axis);
    finding.value = range.max_m - range.min_m;
    finding.limit = travel_m;
    finding.unit = "m";
    finding.message = fmt::format("{}: the program spans {}, more than the travel of {}",
                                  axis.letter, words::mm(finding.value), words::mm(travel_m));
    words::place(finding, axis, range.at_max);
    findings.push_back(std::move(finding));
}

}  // namespace

void check_travel(const CheckInput& input, Findings& findings) {
    for (const run::ProgramResult& program : input.programs) {
        if (program.moves == 0) continue;
        for (std::size_t i = 0; i < input.machine.axes.size(); ++i) {
            const machine::Axis& axis = input.machine.axes[i];
            if (!axis.travel_min || !axis.travel_max) continue;
            const run::AxisRange& range = program.axes[i];
            const double low_m = axis.travel_min->value(), high_m = axis.travel_max->value();
            if (!input.machine.work_offset_known) {
                if (range.max_m - range.min_m > high_m - low_m + kRounding_m)
                    too_wide(axis, range, high_m - low_m, findings);
                continue;
            }
            if (range.min_m < low_m - kRounding_m) outside(axis, range.at_min, low_m, findings);
            if (range.max_m > high_m + kRounding_m) outside(axis, range.at_max, high_m, findings);
        }
    }
}

}  // namespace stepper_sim::check
