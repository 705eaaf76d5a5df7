#include <array>
#include <charconv>
#include <unordered_map>

#include "stepper_sim/capture/trace_reader.hpp"
#include "stepper_sim/capture/vcd_variable.hpp"

namespace stepper_sim::capture {
namespace {

constexpr std::size_t kMaxName = 1024, kMaxDepth = 256;
constexpr std::size_t kBatchWords = 16384;  // between two returns of read()

struct Tap {
    std::uint16_t line;
    std::uint32_t bit;  // from the right end of a value
};

Level level_of(char c) {
    switch (c) {
        case '0':
        case 'l':
        case 'L':
            return Level::low;
        case '1':
        case 'h':
        case 'H':
            return Level::high;
        default:
            return Level::unknown;
    }
}

bool is_value(char c) {
    return std::string_view("01xXzZuUwWlLhH-").find(c) != std::string_view::npos;
}

/// A bit of a value written without its leading digits: 0 stands for 0 and 1, x and z for themselves.
Level bit_of(std::string_view digits, std::uint32_t bit) {
    if (bit < digits.size()) return level_of(digits[digits.size() - 1 - bit]);
    const Level first = digits.empty() ? Level::unknown : level_of(digits.front());
    return first == Level::unknown ? first : Level::low;
}

class VcdReader final : public TraceReader {
  public:
    using TraceReader::TraceReader;

    bool read_header();
    std::vector<std::string> channels() const override { return shown(variables_); }
    std::vector<planner::Diagnostic> select(std::span<const std::string> names) override;
    bool read(std::vector<LevelChange>& changes) override;

  private:
    bool expected(const std::string& what, const std::string& hint = "");
    bool cut_off(const std::string& what);
    bool skip_block();
    bool read_timescale();
    bool read_scope();
    bool read_variable();
    std::size_t identifier(const std::string& text);
    const std::vector<Tap>* taps_of(std::string_view identifier);
    bool change(std::vector<LevelChange>& changes);
    bool vector_change(std::vector<LevelChange>& changes);

    std::string word_, value_;
    std::vector<std::string> scopes_;
    std::vector<VcdVariable> variables_;
    std::unordered_map<std::string, std::size_t> identifiers_;
    std::array<std::int32_t, 128> short_identifiers_{};  // of one character, counted from 1
    std::vector<std::vector<Tap>> taps_;                 // by identifier
    double unit_ps_ = 0.0;
};

bool VcdReader::expected(const std::string& what, const std::string& hint) {
    fail({"trace/syntax", text_.word_place(), planner::printable(word_), what, hint});
    return false;
}

bool VcdReader::cut_off(const std::string& what) {
    fail({"trace/truncated", text_.place(), "the end of the file", what,
          "export the capture again"});
    return false;
}

bool VcdReader::skip_block() {
    while (text_.word(word_))
        if (word_ == "$end") return true;
    return cut_off("$end");
}

bool VcdReader::read_timescale() {
    std::string whole;
    while (text_.word(word_) && word_ != "$end")
        if (whole.size() < kMaxName) whole += word_;
    if (word_ != "$end") return cut_off("$end of $timescale");
    static constexpr std::array<std::pair<std::string_view, double>, 6> kUnits = {
        {{"s", 1e12}, {"ms", 1e9}, {"us", 1e6}, {"ns", 1e3}, {"ps", 1.0}, {"fs", 1e-3}}};
    int count = 0;
    const auto [end, error] = std::from_chars(whole.data(), whole.data() + whole.size(), count);
    const std::string_view unit(end, static_cast<std::size_t>(whole.data() + whole.size() - end));
    if (error == std::errc() && (count == 1 || count == 10 || count == 100))
        for (const auto& [name, ps] : kUnits)
            if (unit == name) unit_ps_ = count * ps;
    word_ = whole;
    return unit_ps_ > 0.0 || expected("1, 10 or 100 of s, ms, us, ns, ps or fs");
}

bool VcdReader::read_scope() {
    std::string name;
    text_.word(word_);  // kind of scope
    if (!text_.word(name)) return cut_off("a scope's name");
    if (scopes_.size() >= kMaxDepth || name.size() > kMaxName) {
        word_ = name;
        return expected("fewer scopes and shorter names");
    }
    scopes_.push_back(name);
    return skip_block();
}

std::size_t VcdReader::identifier(const std::string& text) {
    const auto [place, added] = identifiers_.try_emplace(text, identifiers_.size());
    if (added && text.size() == 1 && static_cast<unsigned char>(text[0]) < 128)
        short_identifiers_[static_cast<unsigned char>(text[0])] =
            static_cast<std::int32_t>(place->second + 1);
    return place->second;
}

bool VcdReader::read_variable() {
    constexpr std::uint32_t kMaxWidth = 1U << 16U;
    VcdVariable variable;
    text_.word(word_);
    variable.real = word_ == "real" || word_ == "realtime" || word_ == "string";
    if (!text_.word(word_)) return cut_off("a variable's width");
    const char* const end = word_.data() + word_.size();
    const auto [at, error] = std::from_chars(word_.data(), end, variable.width);
    if (error != std::errc() || at != end || variable.width > kMaxWidth)
        return expected("a width in bits up to 65536");
    variable.real = variable.real || variable.width == 0;
    if (!text_.word(word_) || word_ == "$end") return expected("a variable's identifier");
    if (word_.size() > kMaxName) return expected("a shorter identifier");
    variable.identifier = identifier(word_);
    if (!text_.word(word_) || word_ == "$end") return expected("a variable's name");
    for (const std::string& scope : scopes_)
        if (variable.name.size() < kMaxName) variable.name += scope + ".";
    std::string name = word_.substr(0, kMaxName), range;
    variable.left = static_cast<std::int64_t>(variable.width) - 1;
    while (text_.word(word_) && word_ != "$end")
        if (range.size() < kMaxName) range += word_;
    if (word_ != "$end") return cut_off("$end of $var");
    const std::size_t bracket = name.find('[');
    if (range.empty() && bracket != std::string::npos && bracket > 0) {
        range = name.substr(bracket);
        if (variable.take_range(range)) name.resize(bracket);
    }
    variable.indexed = variable.take_range(range);
    variable.name += name;
    if (variables_.size() >= kMaxChannels) return expected("at most 65536 variables");
    variables_.push_back(std::move(variable));
    return true;
}

bool VcdReader::read_header() {
    while (text_.word(word_)) {
        bool good = true;
        if (word_ == "$enddefinitions") {
            if (!skip_block()) return false;
            taps_.resize(identifiers_.size());
            resolution_ps_ = unit_ps_ < 1.0 ? 1 : static_cast<std::int64_t>(unit_ps_);
            return unit_ps_ > 0.0 || expected("a $timescale before $enddefinitions");
        }
        if (word_ == "$timescale")
            good = read_timescale();
        else if (word_ == "$scope")
            good = read_scope();
        else if (word_ == "$var")
            good = read_variable();
        else if (word_ == "$upscope") {
            if (!scopes_.empty()) scopes_.pop_back();
            good = skip_block();
        } else if (word_[0] == '$')
            good = word_ == "$end" || skip_block();
        else
            return expected("a declaration such as $var, up to $enddefinitions");
        if (!good) return false;
    }
    return cut_off("$enddefinitions");
}

std::vector<planner::Diagnostic> VcdReader::select(std::span<const std::string> names) {
    std::vector<planner::Diagnostic> wrong;
    select_lines(names.size());
    for (std::size_t i = 0; i < names.size(); ++i) {
        const auto bit = find_bit(variables_, names[i], text_.name());
        if (bit)
            taps_[bit.value().identifier].push_back(
                {static_cast<std::uint16_t>(i), bit.value().from_right});
        else
            wrong.push_back(bit.diagnostics().front());
    }
    return wrong;
}

const std::vector<Tap>* VcdReader::taps_of(std::string_view identifier) {
    if (identifier.size() == 1 && static_cast<unsigned char>(identifier[0]) < 128) {
        const std::int32_t at = short_identifiers_[static_cast<unsigned char>(identifier[0])];
        if (at > 0) return &taps_[static_cast<std::size_t>(at - 1)];
    } else {
        const auto found = identifiers_.find(std::string(identifier));
        if (found != identifiers_.end()) return &taps_[found->second];
    }
    expected("a value with a declared identifier");
    return nullptr;
}

bool VcdReader::vector_change(std::vector<LevelChange>& changes) {
    value_.assign(word_, 1, std::string::npos);
    const char kind = word_[0];
    const bool binary = kind == 'b' || kind == 'B';
    if (binary)
        for (const char c : value_)
            if (!is_value(c)) return expected("binary digits, x or z");
    if (text_.too_long()) return expected("a shorter value");
    if (!text_.word(word_)) return cut_off("the identifier of a value");
    const std::vector<Tap>* taps = taps_of(word_);
    if (taps == nullptr) return false;
    if (binary)
        for (const Tap& tap : *taps)
            set_level(tap.line, bit_of(value_, tap.bit), changes);
    return true;
}

bool VcdReader::change(std::vector<LevelChange>& changes) {
    const char first = word_[0];
    if (first == '#') {
        std::uint64_t units = 0;
        const char* const end = word_.data() + word_.size();
        const auto [at, error] = std::from_chars(word_.data() + 1, end, units);
        if (at != end || error == std::errc::invalid_argument)
            return expected("a time such as #120");
        if (error != std::errc()) return advance_to(1e30, text_.word_place(), word_);
        // Whole picoseconds are exact up to 104 days; longer times are refused.
        const double ps = static_cast<double>(units) * unit_ps_;
        if (unit_ps_ < 1.0 || ps > static_cast<double>(kMaxTraceTime_ps))
            return advance_to(ps, text_.word_place(), word_);
        return advance_to_ps(static_cast<std::int64_t>(units) * static_cast<std::int64_t>(unit_ps_),
                             text_.word_place(), word_);
    }
    if (is_value(first)) {
        if (word_.size() < 2) return expected("a value with its identifier, such as 1!");
        const std::vector<Tap>* taps = taps_of(std::string_view(word_).substr(1));
        if (taps == nullptr) return false;
        for (const Tap& tap : *taps)
            set_level(tap.line, tap.bit == 0 ? level_of(first) : bit_of({&first, 1}, tap.bit),
                      changes);
        return true;
    }
    if (std::string_view("bBrRsS").find(first) != std::string_view::npos)
        return vector_change(changes);
    if (first != '$') return expected("a time, a value or a command such as $comment");
    const bool plain = word_ == "$dumpvars" || word_ == "$dumpall" || word_ == "$dumpon" ||
                       word_ == "$dumpoff" || word_ == "$end";
    return plain || skip_block();
}

bool VcdReader::read(std::vector<LevelChange>& changes) {
    for (std::size_t words = 0; words < kBatchWords; ++words) {
        if (!errors().empty() || !text_.word(word_)) return false;
        if (!change(changes)) return false;
    }
    return true;
}

}  // namespace

planner::Result<std::shared_ptr<TraceReader>> open_vcd(TraceText text) {
    auto reader = std::make_shared<VcdReader>(std::move(text));
    if (!reader->read_header()) return reader->errors();
    return std::shared_ptr<TraceReader>(std::move(reader));
}

}  // namespace stepper_sim::capture
