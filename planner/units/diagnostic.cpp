#include "planner/units/diagnostic.hpp"

#include <algorithm>

namespace planner {
namespace {

constexpr std::size_t kFileLimit = 120;
constexpr std::size_t kLineLimit = 300;

struct Glyph {
    std::size_t bytes = 1;
    bool shown = false;
};

bool shown(char32_t code) {
    const bool control = code < 0x20 || (code >= 0x7F && code < 0xA0);
    const bool breaks_line = code == 0x2028 || code == 0x2029;
    const bool turns_text = (code >= 0x200E && code <= 0x200F) ||
                            (code >= 0x202A && code <= 0x202E) ||
                            (code >= 0x2066 && code <= 0x2069) || code == 0xFEFF;
    return !control && !breaks_line && !turns_text;
}

/// Decodes one code point of UTF-8 (RFC 3629: no overlong forms, no surrogates, at most U+10FFFF).
Glyph first_glyph(std::string_view text) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
    const unsigned char lead = byte(0);
    if (lead < 0x80) {
        return {1, shown(lead)};
    }
    const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
    if (lead < 0xC2 || lead > 0xF4 || text.size() < length) {
        return {1, false};
    }
    char32_t code = lead & (0x7FU >> length);
    for (std::size_t i = 1; i < length; ++i) {
        if ((byte(i) & 0xC0U) != 0x80U) {
            return {1, false};
        }
        code = (code << 6U) | (byte(i) & 0x3FU);
    }
    const bool overlong = (length == 3 && code < 0x800) || (length == 4 && code < 0x10000);
    const bool outside = (code >= 0xD800 && code <= 0xDFFF) || code > 0x10FFFF;
    if (overlong || outside) {
        return {1, false};
    }
    return {length, shown(code)};
}

std::string place_text(const Place& place) {
    std::string file = place.file;
    if (file.size() > kFileLimit) {
        file = "..." + file.substr(file.size() - kFileLimit + 3);
    }
    std::string text = printable(file, kFileLimit);
    if (place.line > 0) {
        text += (text.empty() ? "line " : ":") + std::to_string(place.line);
        if (place.column > 0) {
            text += ':' + std::to_string(place.column);
        }
    }
    return text;
}

}  // namespace

std::string printable(std::string_view text, std::size_t limit) {
    constexpr std::string_view kCut = "...";
    std::string result;
    std::size_t cut_at = 0;  // the longest whole prefix that leaves room for the cut mark
    while (!text.empty()) {
        const Glyph glyph = first_glyph(text);
        const std::size_t added = glyph.shown ? glyph.bytes : 1;
        if (result.size() + added > limit) {
            result.resize(cut_at);
            return result.append(kCut.substr(0, std::min(limit, kCut.size())));
        }
        if (glyph.shown) {
            result.append(text.substr(0, glyph.bytes));
        } else {
            result += '?';
        }
        text.remove_prefix(glyph.bytes);
        if (result.size() + kCut.size() <= limit) {
            cut_at = result.size();
        }
    }
    return result;
}

std::string to_line(const Diagnostic& diagnostic) {
    std::string line = place_text(diagnostic.place);
    if (!line.empty()) {
        line += ": ";
    }
    line +=
        diagnostic.found.empty() ? "found nothing" : "found '" + printable(diagnostic.found) + '\'';
    if (!diagnostic.expected.empty()) {
        line += ", expected " + diagnostic.expected;
    }
    if (!diagnostic.hint.empty()) {
        line += "; " + diagnostic.hint;
    }
    return printable(line, kLineLimit);
}

}  // namespace planner
