/// One question to the checks: does the machine hold with these settings, and if not, what gives way? The same checks as `check`, asked of
/// some motors only and ending at the first that says no, because searches (limits.hpp) ask it hundreds of times.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/run/binding.hpp"
#include "stepper_sim/run/program_source.hpp"
#include "stepper_sim/run/window_memo.hpp"

namespace stepper_sim::limits {

struct ProbeAnswer {
    bool clear = true;
    run::Binding binds = run::Binding::none;
    std::string why;                     // one sentence
    int motor = -1;                      // slot of the motor that gives way
    std::string source;                  // name of the moves; empty: the settings alone say so
    std::string end;                     // which ends of what is guessed; empty: none
    std::optional<run::PlantRun> plant;  // that slips
};

struct ProbeQuestion {
    const machine::Machine& machine;  // with the settings on trial
    const run::MotorModels& models;
    std::span<const run::ProgramSource> sources;
    double margin = run::kDefaultMargin;
    std::uint32_t motors = ~std::uint32_t{0};  // bit m: what motor m does counts
    const ProbeAnswer* last_no = nullptr;      // what it named is asked first
    run::WindowMemo* memo = nullptr;
};

/// Errors: those of run_program.hpp.
planner::Result<ProbeAnswer> probe(const ProbeQuestion& question);

}  // namespace stepper_sim::limits
