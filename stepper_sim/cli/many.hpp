/// `check` and `limits` over folders and several machines.
#pragma once

#include <initializer_list>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "stepper_sim/cli/invocation.hpp"
#include "stepper_sim/machine/input_files.hpp"
#include "stepper_sim/run/run_program.hpp"

namespace stepper_sim::cli {

inline constexpr OptionRow kMachinesOption{
    "MACHINE", "FILE", "machine file (TOML), or a folder of machines and programs", true, false};

/// What MACHINE and PROGRAM name; prints one line per error, and returns nothing where there is nothing to work on.
std::optional<machine::InputFiles> files_of(const Invocation& invocation);

/// True, with an error printed, where an option is given that only one machine can have.
bool asks_for_one(const Invocation& invocation, std::initializer_list<std::string_view> options);

/// Each error once, in order: a program's error is the same on every machine.
class ErrorsOnce {
  public:
    /// The first of them stands in the text that is printed.
    void stands_elsewhere(std::span<const planner::Diagnostic> errors);
    void print(std::span<const planner::Diagnostic> errors);

  private:
    std::set<std::string> said_;
};

Exit check_many(const Invocation& invocation, const machine::InputFiles& files,
                const run::RunOptions& options, double margin);

Exit limits_many(const Invocation& invocation, const machine::InputFiles& files, double margin);

}  // namespace stepper_sim::cli
