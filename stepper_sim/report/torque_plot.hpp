/// Draws the torque bands of candidates over speed, with the torque a program asks as a cloud of points: an SVG that stands alone.
/// Only draws: candidates come from compare_motors.hpp, the cloud from whoever ran the program.
#pragma once

#include <span>
#include <string>

#include "stepper_sim/limits/asked_cloud.hpp"
#include "stepper_sim/limits/compare_motors.hpp"

namespace stepper_sim::report {

/// Up to kPlotCandidates candidates are drawn, the first ones. Each band runs from low to high, with the nominal curve as a line that is
/// dashed above the base speed and ends with the published points, where there are any. Colours stay apart for the colour-blind and
/// each curve is named beside the plot. `top_speed_m_s` is the right end of the speed axis, > 0.
inline constexpr std::size_t kPlotCandidates = 6;
std::string torque_plot_svg(std::span<const limits::Candidate> candidates,
                            std::span<const limits::AskedPoint> asked, double top_speed_m_s);

}  // namespace stepper_sim::report
