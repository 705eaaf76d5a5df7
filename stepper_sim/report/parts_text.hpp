/// What the `parts` command says: the catalogue as a table for each kind of part, and as JSON. Parts that could not be read are left out; the
/// catalogue itself has what is wrong with them.
#pragma once

#include <string>
#include <string_view>

#include "stepper_sim/machine/catalogue.hpp"

namespace stepper_sim::report {

/// `kind`: "motors", "drivers" or "controllers"; empty: all. `sources`: the document of each part below its table.
std::string parts_text(const machine::Catalogue& catalogue, std::string_view kind, bool sources);
std::string parts_json(const machine::Catalogue& catalogue, std::string_view kind);

}  // namespace stepper_sim::report
