/// JSON as every command writes it: keys in the order they were put in, indented, what is no UTF-8 replaced, a line end at the end.
/// Heavy: for sources only.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

namespace stepper_sim::report {

using Json = nlohmann::ordered_json;

inline std::string json_text(const Json& json) {
    return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace stepper_sim::report
