#include "stepper_sim/capture/trace_reader.hpp"

#include <cmath>

namespace stepper_sim::capture {
namespace {

bool is_blank(int c) {
    return c == ' ' || (c >= '\t' && c <= '\r');
}

}  // namespace

bool TraceText::fill() {
    if (!*in_) return false;
    passed_ += end_;
    in_->read(block_.data(), static_cast<std::streamsize>(block_.size()));
    at_ = 0;
    end_ = static_cast<std::size_t>(in_->gcount());
    return end_ > 0;
}

bool TraceText::word(std::string& out) {
    out.clear();
    too_long_ = false;
    while (is_blank(peek()))
        next();
    const planner::Place begin = {{}, line_, passed_ + at_ - line_start_ + 1};
    word_line_ = begin.line;
    word_column_ = begin.column;
    for (int c = peek(); c != kEnd && !is_blank(c); c = peek()) {
        if (out.size() < kMaxToken)
            out += static_cast<char>(c);
        else
            too_long_ = true;
        ++at_;
    }
    return !out.empty();
}

bool TraceReader::advance_to(double time_ps, const planner::Place& place, std::string_view found) {
    if (!(std::abs(time_ps) <= static_cast<double>(kMaxTraceTime_ps))) {
        fail({"trace/time", place, planner::printable(found), "a time within 46 days", ""});
        return false;
    }
    return advance_to_ps(static_cast<std::int64_t>(std::llround(time_ps)), place, found);
}

bool TraceReader::advance_to_ps(std::int64_t to_ps, const planner::Place& place,
                                std::string_view found) {
    if (begun_ && to_ps < now_ps_) {
        fail({"trace/time", place, planner::printable(found),
              "a time that is not before the one above", "times must not run backwards"});
        return false;
    }
    begun_ = true;
    now_ps_ = to_ps;
    return true;
}

void TraceReader::set_level(std::uint16_t line, Level level, std::vector<LevelChange>& changes) {
    if (levels_[line] == static_cast<std::uint8_t>(level)) return;
    levels_[line] = static_cast<std::uint8_t>(level);
    changes.push_back({now_ps_, line, level});
}

planner::Result<std::shared_ptr<TraceReader>> open_trace(std::istream& in,
                                                         const std::string& name) {
    TraceText text(in, name);
    if (text.ahead().starts_with("\xEF\xBB\xBF")) {  // byte order mark
        for (int i = 0; i < 3; ++i)
            text.next();
    }
    while (is_blank(text.peek()))
        text.next();
    if (text.peek() == TraceText::kEnd) {
        return planner::Diagnostic{"trace/empty",
                                   {name, 0, 0},
                                   "an empty file",
                                   "a value change dump or comma-separated values",
                                   "export the capture again"};
    }
    return text.peek() == '$' ? open_vcd(std::move(text)) : open_csv(std::move(text));
}

std::string listed(const std::vector<std::string>& names) {
    constexpr std::size_t kShown = 16, kRoom = 180;
    std::string out;
    std::size_t shown = 0;
    for (; shown < names.size() && shown < kShown && out.size() < kRoom; ++shown)
        out += (shown > 0 ? ", " : "") + planner::printable(names[shown], 40);
    if (shown < names.size()) out += " and " + std::to_string(names.size() - shown) + " more";
    return out.empty() ? "none" : out;
}

planner::Diagnostic no_such_line(const std::string& trace, const std::string& name,
                                 const std::vector<std::string>& lines) {
    return {"trace/no-such-channel",
            {trace, 0, 0},
            "no line " + planner::printable(name),
            "it among the recorded lines: " + listed(lines),
            "name the right one with --channel or in [capture]"};
}

}  // namespace stepper_sim::capture
