/// What the `rates` command says: the step rate of each axis at a speed against every ceiling, as a table and as JSON.
#pragma once

#include <string>
#include <vector>

#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/run/ceilings.hpp"

namespace stepper_sim::report {

struct RateRow {
    const machine::Axis& axis;
    run::Ceilings ceilings;
    double speed_m_s, rate_hz, highest_m_s;
};

/// `crossed`: X and Y share their motors.
std::string rates_text(const std::vector<RateRow>& rows, bool crossed);
std::string rates_json(const std::vector<RateRow>& rows, const machine::Machine& machine);

}  // namespace stepper_sim::report
