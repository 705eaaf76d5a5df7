/// What several commands read the same way: the machine, the margin, where the catalogue is.
#pragma once

#include <filesystem>
#include <optional>
#include <vector>

#include "stepper_sim/check/report.hpp"
#include "stepper_sim/cli/invocation.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::cli {

inline constexpr OptionRow kMachineOption{"MACHINE", "FILE", "machine file (TOML)", true, false};
inline constexpr OptionRow kJsonOption{"--json", "FILE",
                                       "write JSON to FILE, '-' for standard output", false, false};
inline constexpr OptionRow kCatalogueOption{"--catalogue", "FOLDER",
                                            "look up part files in FOLDER first", false, true};
inline constexpr OptionRow kProgressOption{
    "--progress", "", "say how far it is also where no terminal looks on", false, false};
inline constexpr OptionRow kMarginOption{
    "--margin", "SHARE",
    "share of what is available to keep unused, such as 20%, 20 or 0.2 (the default)", false,
    false};

/// Folders with motors/, drivers/ and controllers/: given ones first, then the installed and the source tree's.
std::vector<std::filesystem::path> catalogue_folders(const Invocation& invocation);

/// The machine named by MACHINE; prints one line per error and returns nothing where it cannot be used.
std::optional<machine::Machine> machine_of(const Invocation& invocation);

/// Likewise of any file.
std::optional<machine::Machine> machine_at(const std::string& file, const Invocation& invocation);

/// The margin, in [0, 1); prints an error and returns nothing where it is not one.
std::optional<double> margin_of(const Invocation& invocation);

/// Slot of the axis that --axis names, the first without it; prints an error and returns nothing where there is no such axis.
std::optional<int> axis_of(const machine::Machine& machine, const Invocation& invocation);

/// Text output goes to standard output unless JSON does.
bool json_to_output(const Invocation& invocation);

/// What a verdict ends the program with: `--strict` does not let thin pass.
inline Exit exit_of(check::Verdict verdict, const Invocation& invocation) {
    const bool passes = verdict == check::Verdict::clear ||
                        (verdict == check::Verdict::thin && !invocation.has("--strict"));
    return passes ? Exit::good : Exit::fault;
}

}  // namespace stepper_sim::cli
