#include "stepper_sim/picture/program_lines.hpp"

#include <cstring>
#include <fstream>
#include <string_view>

#include "planner/units/diagnostic.hpp"

namespace stepper_sim::picture {

std::map<std::uint64_t, std::string> program_lines(const std::filesystem::path& file,
                                                   const std::set<std::uint64_t>& wanted) {
    std::map<std::uint64_t, std::string> found;
    std::ifstream in(file, std::ios::binary);
    std::string block(std::size_t{1} << 16U, '\0'), text;
    std::uint64_t line = 1;
    bool open = false;  // something of this line was seen
    const auto end_line = [&] {
        if (wanted.contains(line)) {
            while (!text.empty() && (text.back() == '\r' || text.back() == ' '))
                text.pop_back();
            found[line] = planner::printable(text, kMostLineBytes);
        }
        text.clear();
        open = false;
        ++line;
    };
    while (!wanted.empty() && line <= *wanted.rbegin() && in) {
        in.read(block.data(), static_cast<std::streamsize>(block.size()));
        std::string_view rest(block.data(), static_cast<std::size_t>(in.gcount()));
        while (!rest.empty()) {
            const std::size_t end = std::min(rest.find('\n'), rest.size());
            if (text.size() < 2 * kMostLineBytes && wanted.contains(line))
                text += rest.substr(0, std::min(end, 2 * kMostLineBytes));
            open = true;
            if (end < rest.size()) end_line();
            rest.remove_prefix(std::min(end + 1, rest.size()));
        }
    }
    if (open) end_line();
    return found;
}

}  // namespace stepper_sim::picture
