#include "stepper_sim/report/escape.hpp"

#include <bit>

#include "planner/units/diagnostic.hpp"

namespace stepper_sim::report {

static_assert(std::endian::native == std::endian::little);

namespace {

constexpr std::size_t kLongestText = 4000;
constexpr std::string_view kLineSeparator = "\xE2\x80\xA8", kParagraphSeparator = "\xE2\x80\xA9";

}  // namespace

std::string html_text(std::string_view text) {
    std::string out;
    for (const char c : planner::printable(text, kLongestText)) {
        switch (c) {
            case '&':
                out += "&amp;";
                break;
            case '<':
                out += "&lt;";
                break;
            case '>':
                out += "&gt;";
                break;
            case '"':
                out += "&quot;";
                break;
            case '\'':
                out += "&#39;";
                break;
            default:
                out += c;
        }
    }
    return out;
}

std::string script_safe(std::string_view json) {
    std::string out;
    out.reserve(json.size());
    for (std::size_t i = 0; i < json.size(); ++i) {
        const std::string_view rest = json.substr(i, 3);
        if (rest == kLineSeparator || rest == kParagraphSeparator) {
            out += rest == kLineSeparator ? "\\u2028" : "\\u2029";
            i += 2;
        } else if (json[i] == '<') {
            out += "\\u003c";
        } else if (json[i] == '>') {
            out += "\\u003e";
        } else if (json[i] == '&') {
            out += "\\u0026";
        } else {
            out += json[i];
        }
    }
    return out;
}

std::string base64(std::span<const unsigned char> bytes) {
    static constexpr std::string_view kDigits =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string out;
    out.reserve((bytes.size() + 2) / 3 * 4);
    for (std::size_t i = 0; i < bytes.size(); i += 3) {
        const auto at = [&](std::size_t k) {
            return i + k < bytes.size() ? std::size_t{bytes[i + k]} : 0;
        };
        const std::size_t three = at(0) << 16U | at(1) << 8U | at(2);
        out += kDigits[three >> 18U];
        out += kDigits[three >> 12U & 63U];
        out += i + 1 < bytes.size() ? kDigits[three >> 6U & 63U] : '=';
        out += i + 2 < bytes.size() ? kDigits[three & 63U] : '=';
    }
    return out;
}

}  // namespace stepper_sim::report
