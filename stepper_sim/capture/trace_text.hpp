/// The bytes of a trace in blocks, with the place of the one read next. Nothing but the block is
/// kept.
#pragma once

#include <cstdint>
#include <istream>
#include <string>
#include <string_view>
#include <vector>

#include "planner/units/diagnostic.hpp"

namespace stepper_sim::capture {

class TraceText {
  public:
    static constexpr int kEnd = -1;
    static constexpr std::size_t kMaxToken =
        65536;  // a word longer than this is cut, and too_long()

    TraceText(std::istream& in, std::string name)
        : in_(&in), name_(std::move(name)), block_(kBlock_bytes) {}

    int peek() { return at_ < end_ || fill() ? static_cast<unsigned char>(block_[at_]) : kEnd; }
    int next() {
        const int c = peek();
        if (c == kEnd) return kEnd;
        ++at_;
        if (c == '\n') {
            ++line_;
            line_start_ = passed_ + at_;
        }
        return c;
    }
    /// The next word between blanks; false at the end. Its place is word_place().
    bool word(std::string& out);
    bool too_long() const { return too_long_; }

    planner::Place place() const { return {name_, line_, passed_ + at_ - line_start_ + 1}; }
    planner::Place word_place() const { return {name_, word_line_, word_column_}; }
    const std::string& name() const { return name_; }
    std::uint64_t bytes_read() const { return passed_ + at_; }
    /// What the block still holds.
    std::string_view ahead() {
        peek();
        return {block_.data() + at_, end_ - at_};
    }

  private:
    static constexpr std::size_t kBlock_bytes = std::size_t{1} << 18U;
    bool fill();

    std::istream* in_;
    std::string name_;
    std::vector<char> block_;
    std::size_t at_ = 0, end_ = 0;
    std::uint64_t passed_ = 0;  // bytes before the block
    std::uint64_t line_ = 1, line_start_ = 0, word_line_ = 1, word_column_ = 1;
    bool too_long_ = false;
};

}  // namespace stepper_sim::capture
