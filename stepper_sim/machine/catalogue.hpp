/// All parts of a catalogue folder: its subfolders motors, drivers and controllers, one TOML file
/// per part. A part that cannot be read is listed with its diagnostics, so that one bad file hides
/// no other.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/machine/parts.hpp"

namespace stepper_sim::machine {

template <class Part>
struct CatalogueEntry {
    std::string name;  // as a machine file refers to it: "motors/NAME.toml"
    planner::Result<Part> part;
};

struct Catalogue {
    std::vector<CatalogueEntry<MotorPart>> motors;
    std::vector<CatalogueEntry<DriverPart>> drivers;
    std::vector<CatalogueEntry<ControllerPart>> controllers;
};

/// Each list sorted by name; a subfolder that does not exist gives an empty list.
Catalogue read_catalogue(const std::filesystem::path& folder);

}  // namespace stepper_sim::machine
