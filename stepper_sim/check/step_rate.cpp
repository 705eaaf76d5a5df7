#include <fmt/core.h>

#include <cmath>

#include "planner/kinematics/kinematics.hpp"
#include "stepper_sim/check/candidates.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/top_speed.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/run/ceilings.hpp"
#include "stepper_sim/run/worst_motions.hpp"

namespace stepper_sim::check {

namespace {

/// The fastest a motor turns when the settings alone decide: axis moves by themselves and, on a crossed belt, the diagonals.
double top_motor_speed_m_s(const machine::Machine& machine, std::size_t motor) {
    double top = 0.0;
    for (const run::WorstMotion& motion : run::worst_motions(machine))
        top = std::max(top, std::abs(planner::to_motors(machine.kinematics, machine.program.axes,
                                                        motion.speed_m_s)[motor]));
    return top;
}

}  // namespace

void check_step_rate(const CheckInput& input, Findings& findings) {
    for (std::size_t m = 0; m < input.machine.axes.size(); ++m) {
        const machine::Axis& axis = input.machine.axes[m];
        const run::Ceilings ceilings = run::ceilings_of(input.machine, axis);
        const double top_m_s = top_motor_speed_m_s(input.machine, m);
        const double rate_hz = run::step_rate_hz(axis, top_m_s);
        const double ceiling_hz = ceilings.lowest_hz();
        const bool over = rate_hz > ceiling_hz;
        if (over || rate_hz > ceiling_hz * (1.0 - input.margin)) {
            Finding finding = words::about("step-rate", over ? Grade::fault : Grade::risk, axis);
            finding.value = rate_hz;
            finding.limit = over ? ceiling_hz : ceiling_hz * (1.0 - input.margin);
            finding.unit = "Hz";
            finding.message = fmt::format(
                "motor {}: {} steps at top speed, the {} allows {}; the highest speed that works "
                "is {}{}",
                axis.letter, words::rate(rate_hz), run::to_word(ceilings.binding()),
                words::rate(ceiling_hz),
                words::mm_s(top_axis_speed_m_s(input.machine, m) * ceiling_hz / rate_hz),
                over ? ""
                     : fmt::format(" ({} of it is used)", words::percent(rate_hz / ceiling_hz)));
            // With the margin, or the next check objects again.
            candidates::add_slower_steps(input, m, ceiling_hz * (1.0 - input.margin) / rate_hz,
                                         candidates::Reached::by_settings, finding.changes);
            findings.push_back(std::move(finding));
        }
        for (const run::ProgramResult& program : input.programs) {
            const controller::Extreme& interval = program.motors[m].timing.min_interval_s;
            const double program_rate_hz = 1.0 / interval.value;
            if (program_rate_hz <= ceilings.driver_hz) continue;
            Finding finding = words::about("step-rate", Grade::fault, axis);
            finding.value = program_rate_hz;
            finding.limit = ceilings.driver_hz;
            finding.unit = "Hz";
            finding.message = fmt::format(
                "motor {}: the shortest interval between steps is {} ({}), driver {} takes {}",
                axis.letter, words::interval(interval.value), words::rate(program_rate_hz),
                axis.driver.name, words::rate(ceilings.driver_hz));
            words::place(finding, interval);
            candidates::add_slower_steps(input, m, ceilings.driver_hz / program_rate_hz,
                                         candidates::Reached::in_programs, finding.changes);
            findings.push_back(std::move(finding));
        }
    }
}

}  // namespace stepper_sim::check
