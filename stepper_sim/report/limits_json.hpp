/// The JSON of the `limits` command: schema stepper_sim.limits.1 (limits.schema.json) for one machine, stepper_sim.limits_list.1 for many.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "stepper_sim/limits/proposal.hpp"
#include "stepper_sim/machine/input_files.hpp"

namespace stepper_sim::report {

/// One machine of several. Programs that it cannot run are left out of its limits and told as errors.
struct MachineLimits {
    std::string file;
    std::optional<machine::Machine> machine;
    std::vector<run::ProgramSource> programs;
    std::optional<limits::Proposal> proposal;
    std::vector<planner::Diagnostic> errors;

    bool usable() const { return proposal && errors.empty(); }
};

/// An object with one entry for each axis, by its letter.
nlohmann::ordered_json axes_json(const limits::Limits& limits);
std::string limits_json(const machine::Machine& machine, const limits::Proposal& proposal,
                        std::span<const run::ProgramSource> programs);
std::string limits_json(std::span<const MachineLimits> machines,
                        std::span<const machine::LeftOut> left_out);

}  // namespace stepper_sim::report
