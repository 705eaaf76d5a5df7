#include "stepper_sim/machine/toml_guard.hpp"

#include <algorithm>

namespace stepper_sim::machine::reading {
namespace {

constexpr std::size_t kMaxKeyDots = 31;

bool outside_ascii(char c) {
    return static_cast<unsigned char>(c) >= 0x80U;
}
bool is_control(char c) {
    const auto byte = static_cast<unsigned char>(c);
    return (byte < 0x20U && c != '\t' && c != '\n' && c != '\r') || byte == 0x7FU;
}
bool is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

class Scanner {
  public:
    explicit Scanner(std::string_view text) : text_(text) {}

    std::optional<UnsafeToml> run() {
        const auto* const control = std::find_if(text_.begin(), text_.end(), is_control);
        if (control != text_.end())
            return UnsafeToml{static_cast<std::size_t>(control - text_.begin()),
                              "text without control characters"};
        if (text_.starts_with("\xEF\xBB\xBF")) {
            at_ = 3;
        }  // byte order mark
        std::size_t dots = 0;
        while (at_ < text_.size() && !found_) {
            const char c = text_[at_];
            if (c == '#') {
                at_ = std::min(text_.find('\n', at_), text_.size());
            } else if (c == '"' || c == '\'') {
                skip_quoted(c);
            } else if (outside_ascii(c)) {
                fail("letters outside ASCII only in quotes");
            } else if (c == '.' && ++dots > kMaxKeyDots) {
                fail("keys of at most 32 parts");
            } else {
                if (std::string_view("=,[]{}\n").find(c) != std::string_view::npos) {
                    dots = 0;
                }
                ++at_;
            }
        }
        return found_;
    }

  private:
    void fail(const char* expected) { found_ = UnsafeToml{at_, expected}; }

    void skip_quoted(char quote) {
        const std::string three(3, quote);
        if (!text_.substr(at_).starts_with(three)) {
            return skip_one_line(quote);
        }
        at_ += 3;
        while (at_ < text_.size() && !found_ && !text_.substr(at_).starts_with(three)) {
            skip_character(quote);
        }
        at_ = std::min(at_ + 3, text_.size());
        // Up to two quotes more belong to the text: """ends with "quoted"""""
        for (int i = 0; i < 2 && at_ < text_.size() && text_[at_] == quote; ++i) {
            ++at_;
        }
    }

    void skip_one_line(char quote) {
        ++at_;
        while (at_ < text_.size() && text_[at_] != quote) {
            if (text_[at_] == '\n') {
                return;
            }  // never closed: the library will say so
            const bool escape = quote == '"' && text_[at_] == '\\' && at_ + 1 < text_.size() &&
                                text_[at_ + 1] != '\n';
            at_ += escape ? 2 : 1;
        }
        at_ = std::min(at_ + 1, text_.size());
    }

    void skip_character(char quote) {
        if (text_[at_] != '\\' || quote == '\'') {
            ++at_;
            return;
        }
        ++at_;
        const std::size_t start = at_;
        while (at_ < text_.size() && is_blank(text_[at_])) {
            ++at_;
        }
        if (at_ == text_.size()) {
            return;
        }
        if (outside_ascii(text_[at_])) {
            fail("no letter outside ASCII after a line-ending backslash");
        } else if (at_ == start) {
            ++at_;  // an ordinary escape such as \"
        }
    }

    std::string_view text_;
    std::size_t at_ = 0;
    std::optional<UnsafeToml> found_;
};

}  // namespace

std::optional<UnsafeToml> find_unsafe(std::string_view text) {
    return Scanner(text).run();
}

}  // namespace stepper_sim::machine::reading
