#include "stepper_sim/report/layout.hpp"

#include <algorithm>

namespace stepper_sim::report {

std::size_t columns(std::string_view text) {
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
        return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
    }));
}

std::string wrapped(std::string_view text, std::size_t indent, std::size_t used,
                    std::size_t width) {
    std::string out;
    std::size_t column = used;
    bool line_start = true;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        const std::string_view word = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        const std::size_t wide = columns(word);
        if (!line_start && column + 1 + wide > width) {
            out += '\n' + std::string(indent, ' ');
            column = indent;
            line_start = true;
        }
        if (!line_start) {
            out += ' ';
            ++column;
        }
        out += word;
        column += wide;
        line_start = false;
    }
    return out + '\n';
}

std::string table(const std::vector<std::vector<std::string>>& rows) {
    if (rows.empty()) return {};
    std::vector<std::size_t> widths(rows.front().size());
    for (const auto& row : rows)
        for (std::size_t c = 0; c < row.size(); ++c)
            widths[c] = std::max(widths[c], columns(row[c]));
    std::string out;
    for (const auto& row : rows) {
        std::string line = row.front() + std::string(widths.front() - columns(row.front()), ' ');
        for (std::size_t c = 1; c < row.size(); ++c)
            line += "  " + std::string(widths[c] - columns(row[c]), ' ') + row[c];
        out += line + '\n';
    }
    return out;
}

}  // namespace stepper_sim::report
