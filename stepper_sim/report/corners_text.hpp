/// The corners of `limits` with programs: ringing against dwell over the corner setting. The same tables for a terminal and for the page.
#pragma once

#include <string>
#include <vector>

#include "stepper_sim/limits/corner_quality.hpp"

namespace stepper_sim::report {

/// How far the tool swings after a corner; what nobody can see is not told apart.
std::string ringing_text(double amplitude_m);

/// For a terminal of 80 columns. `files`: the programs that were asked about.
std::string corners_text(const limits::CornerQuality& quality,
                         const std::vector<std::string>& files);

struct CornerTable {
    std::string caption;
    std::vector<std::vector<std::string>> rows;  // the first is the head
};
/// One for each axis, and one of the longest dwell.
std::vector<CornerTable> corner_tables(const limits::CornerQuality& quality,
                                       const std::vector<std::string>& files);
/// How to read them, in a sentence or two.
std::string corners_reading(const limits::CornerQuality& quality);

}  // namespace stepper_sim::report
