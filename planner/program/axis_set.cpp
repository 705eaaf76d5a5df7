#include "planner/program/axis_set.hpp"

namespace planner {

AxisSet::AxisSet(std::string_view letters) {
    slots_.fill(-1);
    for (const char letter : kAxisLetters) {
        if (letters.find(letter) == std::string_view::npos) {
            continue;
        }
        slots_[static_cast<std::size_t>(letter - 'A')] = static_cast<std::int8_t>(letters_.size());
        letters_.push_back(letter);
    }
}

}  // namespace planner
