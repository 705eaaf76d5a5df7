/// The variables that the head of a value change dump declares, and which of their bits a channel's name means. Read next:
/// vcd_reader.cpp, which reads them.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "planner/units/diagnostic.hpp"

namespace stepper_sim::capture {

/// One $var: a line, or lines side by side.
struct VcdVariable {
    std::string name;  // with its scopes, without a range
    std::int64_t left = 0, right = 0;
    std::uint32_t width = 1;
    std::size_t identifier = 0;
    bool indexed = false, real = false;

    std::string shown() const;
    /// Takes a range such as "[7:0]" or "[3]"; false, and as it was, when `text` is none.
    bool take_range(std::string_view text);
};

struct VcdBit {
    std::size_t identifier = 0;
    std::uint32_t from_right = 0;  // in a value of that identifier
};

/// Names as messages show them.
std::vector<std::string> shown(std::span<const VcdVariable> variables);

/// The bit that `name` means in the trace of that file name. Errors, one at most: trace/no-such-channel,
/// trace/ambiguous-channel, trace/not-a-line.
planner::Result<VcdBit> find_bit(std::span<const VcdVariable> variables, const std::string& name,
                                 const std::string& trace);

}  // namespace stepper_sim::capture
