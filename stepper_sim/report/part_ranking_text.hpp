/// The ranking of a catalogue's parts for one axis, as a table that fits a terminal and as JSON.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "stepper_sim/limits/part_ranking.hpp"

namespace stepper_sim::report {

/// The first dozen motors, each with its best driver, and what the axis has.
std::string part_ranking_text(const limits::PartRanking& ranking, char axis, double margin);
nlohmann::ordered_json part_ranking_json(const limits::PartRanking& ranking);

}  // namespace stepper_sim::report
