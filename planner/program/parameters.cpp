#include "planner/program/parameters.hpp"

#include "planner/program/ascii.hpp"

namespace planner {

int Parameters::index_of(std::string_view name) {
    std::string key;
    for (const char c : name) {
        if (is_blank(c)) {
            continue;
        }
        if (!is_letter(c) && !is_digit(c) && c != '_' && c != '-') {
            return 0;
        }
        key += to_upper(c);
    }
    const auto found = names_.find(key);
    if (found != names_.end()) {
        return found->second;
    }
    if (key.empty() || names_.size() >= kMostNames) {
        return 0;
    }
    const int index = static_cast<int>(values_.size());
    values_.push_back(0.0);
    set_.push_back(false);
    if (key[0] != '_') {
        local_names_.push_back(index);
    }
    names_.emplace(std::move(key), index);
    return index;
}

Parameters::Locals Parameters::take_locals() {
    Locals kept;
    const auto take = [&](int index) {
        const auto place = static_cast<std::size_t>(index);
        if (set_[place]) {
            kept.emplace_back(index, values_[place]);
        }
        values_[place] = 0.0;
        set_[place] = false;
    };
    for (int index = 1; index <= kLocalParameters; ++index) {
        take(index);
    }
    for (const int index : local_names_) {
        take(index);
    }
    return kept;
}

void Parameters::give_locals(const Locals& kept) {
    take_locals();
    for (const auto& [index, value] : kept) {
        set(index, value);
    }
}

}  // namespace planner
