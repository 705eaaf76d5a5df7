/// The main charts of a check as stand-alone SVGs: the part map, torque and resonance of each motor, step rates. The page has the same
/// and more, to explore; these are for documents.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "stepper_sim/picture/record_program.hpp"

namespace stepper_sim::report {

struct Picture {
    std::string name;  // of its file, without folder: "torque-y.svg"
    std::string svg;
};

/// In program order; names of the second and further programs begin with their number.
std::vector<Picture> pictures(std::span<const picture::RecordedProgram> programs);

/// The height with the worst moment, seen from above, with findings as numbered rings.
std::string map_svg(const picture::RecordedProgram& program);

}  // namespace stepper_sim::report
