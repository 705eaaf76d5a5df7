#include "stepper_sim/machine/nearest.hpp"

#include <algorithm>
#include <vector>

namespace stepper_sim::machine::reading {
namespace {

std::string lower(std::string_view word) {
    std::string result(word);
    for (char& c : result) {
        if (c >= 'A' && c <= 'Z') {
            c = static_cast<char>(c - 'A' + 'a');
        }
    }
    return result;
}

}  // namespace

std::size_t edit_distance(std::string_view a, std::string_view b, std::size_t limit) {
    const std::size_t gap = a.size() > b.size() ? a.size() - b.size() : b.size() - a.size();
    if (gap > limit) {
        return limit + 1;
    }
    // Three rows of the table of distances between prefixes: two before, one before, this one.
    std::vector<std::size_t> oldest(b.size() + 1);
    std::vector<std::size_t> before(b.size() + 1);
    std::vector<std::size_t> row(b.size() + 1);
    for (std::size_t j = 0; j <= b.size(); ++j) {
        before[j] = j;
    }
    for (std::size_t i = 1; i <= a.size(); ++i) {
        row[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const std::size_t change = a[i - 1] == b[j - 1] ? 0 : 1;
            row[j] = std::min({before[j] + 1, row[j - 1] + 1, before[j - 1] + change});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                row[j] = std::min(row[j], oldest[j - 2] + 1);
            }
        }
        std::swap(oldest, before);
        std::swap(before, row);
    }
    return std::min(before[b.size()], limit + 1);
}

std::string nearest(std::string_view word, std::span<const std::string> candidates) {
    const std::string wanted = lower(word);
    std::string best;
    std::size_t best_distance = std::string_view::npos;
    for (const std::string& candidate : candidates) {
        const std::size_t limit = std::max<std::size_t>(1, candidate.size() / 3);
        const std::size_t distance = edit_distance(wanted, lower(candidate), limit);
        const bool shares_something = distance < candidate.size();
        if (distance <= limit && shares_something && distance < best_distance) {
            best = candidate;
            best_distance = distance;
        }
    }
    return best;
}

std::string suggest(std::string_view word, std::span<const std::string> candidates) {
    const std::string near = nearest(word, candidates);
    if (!near.empty()) {
        return "did you mean '" + near + "'";
    }
    std::string list = "known here:";
    for (const std::string& candidate : candidates) {
        list += (&candidate == candidates.data() ? " " : ", ") + candidate;
    }
    return list;
}

}  // namespace stepper_sim::machine::reading
