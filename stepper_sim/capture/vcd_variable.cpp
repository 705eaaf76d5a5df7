#include "stepper_sim/capture/vcd_variable.hpp"

#include <charconv>
#include <optional>

#include "stepper_sim/capture/trace_reader.hpp"

namespace stepper_sim::capture {
namespace {

struct Range {
    std::int64_t left, right;
};

std::optional<Range> range_of(std::string_view text) {
    if (text.size() < 3 || text.front() != '[' || text.back() != ']') return std::nullopt;
    Range range{};
    const char* const end = text.data() + text.size() - 1;
    const auto first = std::from_chars(text.data() + 1, end, range.left);
    if (first.ec != std::errc()) return std::nullopt;
    range.right = range.left;
    const bool one = first.ptr == end;
    if (!one && *first.ptr != ':') return std::nullopt;
    const auto second = one ? first : std::from_chars(first.ptr + 1, end, range.right);
    constexpr std::int64_t kMost = 1'000'000'000;
    if (second.ec != std::errc() || second.ptr != end || range.left < 0 || range.left > kMost ||
        range.right < 0 || range.right > kMost)
        return std::nullopt;
    return range;
}

bool ends_in(std::string_view whole, std::string_view name) {
    return whole == name || (whole.size() > name.size() && whole.ends_with(name) &&
                             whole[whole.size() - name.size() - 1] == '.');
}

/// Which bit of the variable, counted from the right of its values, the name means.
std::optional<std::uint32_t> bit_named(const VcdVariable& variable, std::string_view name) {
    if (variable.real && ends_in(variable.name, name)) return 0;
    if (variable.width == 1) {
        const bool fits =
            ends_in(variable.name, name) || (variable.indexed && ends_in(variable.shown(), name));
        return fits ? std::optional<std::uint32_t>(0) : std::nullopt;
    }
    const std::size_t bracket = name.rfind('[');
    if (bracket == std::string_view::npos) return std::nullopt;
    const auto index = range_of(name.substr(bracket));
    if (!index || index->left != index->right || !ends_in(variable.name, name.substr(0, bracket)))
        return std::nullopt;
    const std::int64_t from_right = variable.left >= variable.right ? index->left - variable.right
                                                                    : variable.right - index->left;
    if (from_right < 0 || from_right >= variable.width) return std::nullopt;
    return static_cast<std::uint32_t>(from_right);
}

}  // namespace

std::string VcdVariable::shown() const {
    if (real || (width == 1 && !indexed)) return name;
    const std::string first = "[" + std::to_string(left);
    return name + (width == 1 ? first : first + ":" + std::to_string(right)) + "]";
}

bool VcdVariable::take_range(std::string_view text) {
    const auto range = range_of(text);
    if (!range) return false;
    left = range->left;
    right = range->right;
    return true;
}

std::vector<std::string> shown(std::span<const VcdVariable> variables) {
    std::vector<std::string> names;
    for (const VcdVariable& variable : variables)
        names.push_back(variable.shown());
    return names;
}

planner::Result<VcdBit> find_bit(std::span<const VcdVariable> variables, const std::string& name,
                                 const std::string& trace) {
    const VcdVariable* found = nullptr;
    VcdBit bit;
    const auto wrong = [&](const char* id, const std::string& expected, const std::string& hint) {
        return planner::Diagnostic{id, {trace, 0, 0}, planner::printable(name), expected, hint};
    };
    for (const VcdVariable& variable : variables) {
        const auto from_right = bit_named(variable, name);
        if (!from_right) continue;
        if (found != nullptr && found->identifier != variable.identifier) {
            if (found->name == name) continue;
            if (variable.name != name)
                return wrong(
                    "trace/ambiguous-channel",
                    "the name of one line, not of " + found->shown() + " and " + variable.shown(),
                    "put the scope before it");
        }
        found = &variable;
        bit = {variable.identifier, *from_right};
    }
    if (found == nullptr) return no_such_line(trace, name, shown(variables));
    if (found->real)
        return wrong("trace/not-a-line", "a line that is high or low, not a number", "");
    return bit;
}

}  // namespace stepper_sim::capture
