#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>

#include "stepper_sim/capture/trace_reader.hpp"

namespace stepper_sim::capture {
namespace {

constexpr std::size_t kMaxHeader = std::size_t{1} << 20U;
constexpr std::size_t kMaxField = 64;     // longer ones hold neither a time nor a level
constexpr std::size_t kBatchRows = 4096;  // between two returns of read()

/// What a column's name ends in, as picoseconds: "time_s", "Time [ms]", "t(us)"; 0: no unit.
double unit_ps(std::string_view name) {
    static constexpr std::array<std::pair<std::string_view, double>, 8> kUnits = {
        {{"s", 1e12},
         {"ms", 1e9},
         {"us", 1e6},
         {"\xC2\xB5s", 1e6},
         {"\xCE\xBCs", 1e6},
         {"ns", 1e3},
         {"ps", 1.0},
         {"fs", 1e-3}}};
    const auto in_word = [](char c) {
        return std::isalnum(static_cast<unsigned char>(c)) != 0 ||
               static_cast<unsigned char>(c) >= 0x80;
    };
    while (!name.empty() && !in_word(name.back()))
        name.remove_suffix(1);
    std::size_t begin = name.size();
    while (begin > 0 && in_word(name[begin - 1]))
        --begin;
    for (const auto& [unit, ps] : kUnits)
        if (name.substr(begin) == unit) return ps;
    return 0.0;
}

bool is_time(std::string_view name) {
    std::string lower(name);
    for (char& c : lower)
        c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return lower.find("time") != std::string::npos || lower == "t" || unit_ps(name) > 0.0;
}

std::string trimmed(std::string_view text) {
    const auto blank = [](char c) { return c == ' ' || c == '\t' || c == '\r'; };
    while (!text.empty() && blank(text.front()))
        text.remove_prefix(1);
    while (!text.empty() && blank(text.back()))
        text.remove_suffix(1);
    if (text.size() >= 2 && text.front() == '"' && text.back() == '"')
        text = text.substr(1, text.size() - 2);
    return std::string(text);
}

bool read_number(std::string_view text, double& value) {
    if (text.starts_with('+')) text.remove_prefix(1);
    const char* const end = text.data() + text.size();
    const auto [at, error] = std::from_chars(text.data(), end, value);
    return error == std::errc() && at == end && std::isfinite(value);
}

/// Decimal places a number shows, exponent counted: 3 for "0.125", 8 for "4.1e-07".
int decimal_places(std::string_view number) {
    const std::size_t e = std::min(number.find_first_of("eE"), number.size());
    const std::size_t point = std::min(number.find('.'), e);
    int exponent = 0;
    if (e < number.size())
        std::from_chars(number.data() + e + 1, number.data() + number.size(), exponent);
    return static_cast<int>(e - std::min(point + 1, e)) - std::clamp(exponent, -30, 30);
}

class CsvReader final : public TraceReader {
  public:
    using TraceReader::TraceReader;

    bool read_header();
    std::vector<std::string> channels() const override {
        return {names_.begin() + 1, names_.end()};
    }
    std::vector<planner::Diagnostic> select(std::span<const std::string> names) override;
    bool read(std::vector<LevelChange>& changes) override;

  private:
    void find_resolution();
    bool read_row(std::vector<LevelChange>& changes);
    bool read_field();  // into field_; returns whether another one follows in the row
    bool take_time();
    bool take_level(std::size_t column, std::vector<LevelChange>& changes);

    std::vector<std::string> names_;
    char comma_ = ',';
    double unit_ps_ = kPicoseconds_per_s;
    std::vector<std::vector<std::uint16_t>> lines_of_;  // by column
    std::size_t needed_ = 1;                            // columns up to the last selected one
    std::string field_;
    planner::Place field_place_;
};

bool CsvReader::read_header() {
    std::string line;
    planner::Place place;
    do {  // comments above the header
        line.clear();
        place = text_.place();
        for (int c = text_.next(); c != '\n' && c != TraceText::kEnd; c = text_.next()) {
            line += static_cast<char>(c);
            if (line.size() > kMaxHeader) {
                fail({"trace/syntax", place, "a line of more than 1 MiB", "a header line", ""});
                return false;
            }
        }
    } while (text_.peek() != TraceText::kEnd &&
             (line.empty() || line == "\r" || line[0] == '#' || line[0] == ';'));
    std::ptrdiff_t most = 0;
    for (const char c : {',', ';', '\t'}) {
        const auto count = std::count(line.begin(), line.end(), c);
        if (count > most) comma_ = c;
        most = std::max(most, count);
    }
    for (std::size_t at = 0; at <= line.size();) {
        const std::size_t end = std::min(line.find(comma_, at), line.size());
        names_.push_back(trimmed(std::string_view(line).substr(at, end - at)));
        at = end + 1;
        if (names_.size() > kMaxChannels) break;
    }
    if (names_.size() < 2 || names_.size() > kMaxChannels || !is_time(names_[0])) {
        fail({"trace/syntax", place, planner::printable(names_[0]),
              "a header line whose first column is the time, such as time_s,x_step,x_dir",
              "a name may end in its unit: s, ms, us, ns"});
        return false;
    }
    if (const double named = unit_ps(names_[0]); named > 0.0) unit_ps_ = named;
    lines_of_.resize(names_.size());
    find_resolution();
    return true;
}

/// From the rows of the first block: the last decimal place of their times, or, when most rows repeat
/// the one before, the time between rows.
void CsvReader::find_resolution() {
    std::string_view rest = text_.ahead(), before;
    double last = 0.0, least = 0.0;
    int places = -30;
    std::size_t rows = 0, same = 0;
    for (std::size_t end = rest.find('\n'); end != std::string_view::npos; end = rest.find('\n')) {
        const std::string_view row = rest.substr(0, end);
        rest.remove_prefix(end + 1);
        const std::size_t comma = std::min(row.find(comma_), row.size());
        const std::string text = trimmed(row.substr(0, comma));
        double time = 0.0;
        if (!read_number(text, time)) continue;
        places = std::max(places, decimal_places(text));
        if (rows > 0 && time > last)
            least = least > 0.0 ? std::min(least, time - last) : time - last;
        if (rows > 0 && row.substr(comma) == before) ++same;
        before = row.substr(comma);
        last = time;
        ++rows;
    }
    double step_ps = std::pow(10.0, -places) * unit_ps_;
    if (rows > 2 && 2 * same > rows) step_ps = std::max(step_ps, least * unit_ps_);
    const auto most_ps = static_cast<double>(kMaxTraceTime_ps);
    if (rows > 0) resolution_ps_ = std::llround(std::clamp(step_ps, 1.0, most_ps));
}

std::vector<planner::Diagnostic> CsvReader::select(std::span<const std::string> names) {
    std::vector<planner::Diagnostic> wrong;
    select_lines(names.size());
    for (std::size_t i = 0; i < names.size(); ++i) {
        std::size_t column = 0, count = 0;
        for (std::size_t c = 1; c < names_.size(); ++c) {
            if (names_[c] != names[i]) continue;
            column = c;
            ++count;
        }
        if (count == 0) wrong.push_back(no_such_line(text_.name(), names[i], channels()));
        if (count > 1)
            wrong.push_back({"trace/ambiguous-channel",
                             {text_.name(), 0, 0},
                             planner::printable(names[i]),
                             "a name that only one column has",
                             "give the columns different names"});
        if (count != 1) continue;
        lines_of_[column].push_back(static_cast<std::uint16_t>(i));
        needed_ = std::max(needed_, column + 1);
    }
    return wrong;
}

bool CsvReader::read_field() {
    field_.clear();
    for (int c = text_.peek(); c != TraceText::kEnd && c != '\n'; c = text_.peek()) {
        text_.next();
        if (c == comma_) return true;
        if (c == ' ' || c == '\r' || c == '\t' || c == '"') continue;
        if (field_.size() < kMaxField) field_ += static_cast<char>(c);
    }
    return false;
}

bool CsvReader::take_time() {
    double value = 0.0;
    if (!read_number(field_, value)) {
        fail({"trace/syntax", field_place_, planner::printable(field_), "a time", ""});
        return false;
    }
    return advance_to(value * unit_ps_, field_place_, field_);
}

bool CsvReader::take_level(std::size_t column, std::vector<LevelChange>& changes) {
    Level level = Level::unknown;
    if (field_ == "0" || field_ == "1") {
        level = field_ == "1" ? Level::high : Level::low;
    } else if (!field_.empty() && field_ != "x" && field_ != "X" && field_ != "z" &&
               field_ != "Z") {
        fail({"trace/syntax", field_place_, planner::printable(field_),
              "0, 1, x or z for " + planner::printable(names_[column]),
              "export the digital lines"});
        return false;
    }
    for (const std::uint16_t line : lines_of_[column])
        set_level(line, level, changes);
    return true;
}

bool CsvReader::read_row(std::vector<LevelChange>& changes) {
    bool more = true;
    for (std::size_t column = 0; more && column < needed_; ++column) {
        if (column == 0 || !lines_of_[column].empty()) field_place_ = text_.place();
        more = read_field();
        if (column == 0 && !more && field_.empty()) break;  // an empty line
        if (column == 0 && !take_time()) return false;
        if (column > 0 && !lines_of_[column].empty() && !take_level(column, changes)) return false;
        if (more || column + 1 >= needed_) continue;
        fail({"trace/truncated", text_.place(), std::to_string(column + 1) + " columns",
              "at least " + std::to_string(needed_) + " columns", "export the capture again"});
        return false;
    }
    for (int c = text_.next(); c != TraceText::kEnd && c != '\n'; c = text_.next()) {
    }
    return true;
}

bool CsvReader::read(std::vector<LevelChange>& changes) {
    for (std::size_t rows = 0; rows < kBatchRows; ++rows) {
        if (!errors().empty() || text_.peek() == TraceText::kEnd) return false;
        if (!read_row(changes)) return false;
    }
    return true;
}

}  // namespace

planner::Result<std::shared_ptr<TraceReader>> open_csv(TraceText text) {
    auto reader = std::make_shared<CsvReader>(std::move(text));
    if (!reader->read_header()) return reader->errors();
    return std::shared_ptr<TraceReader>(std::move(reader));
}

}  // namespace stepper_sim::capture
