#include "stepper_sim/capture/vcd.hpp"

#include <array>
#include <charconv>
#include <ostream>

namespace stepper_sim::capture {
namespace {

constexpr char kFirstIdentifier = '!';  // identifiers are printable characters from here on

char identifier(int line) {
    return static_cast<char>(kFirstIdentifier + line);
}

// "1 us", "100 ns": a power of ten of seconds as 1, 10 or 100 of a named unit.
std::string timescale(std::int64_t unit_hz) {
    static constexpr std::array<const char*, 5> kUnits = {" s", " ms", " us", " ns", " ps"};
    std::size_t thousands = 0;
    while (unit_hz > 1 && thousands < 4) {
        if (unit_hz < 1000) {
            ++thousands;
            return std::string(unit_hz == 10 ? "100" : "10") + kUnits[thousands];
        }
        unit_hz /= 1000;
        ++thousands;
    }
    return std::string("1") + kUnits[thousands];
}

void append(std::string& text, std::int64_t number) {
    std::array<char, 24> digits{};
    const char* const end = std::to_chars(digits.data(), digits.data() + digits.size(), number).ptr;
    text.append(digits.data(), static_cast<std::size_t>(end - digits.data()));
}

std::string wire(int line, const std::string& name) {
    return std::string("$var wire 1 ") + identifier(line) + " " + name + " $end\n";
}

}  // namespace

VcdWriter::VcdWriter(std::ostream& out, std::string_view letters, std::int64_t tick_hz,
                     std::int64_t unit_hz)
    : out_(out), clock_(tick_hz, unit_hz), levels_(static_cast<int>(letters.size())) {
    const int motors = static_cast<int>(letters.size());
    text_ = "$comment step and direction lines; a direction line is high counting up $end\n";
    text_ += "$timescale " + timescale(unit_hz) + " $end\n$scope module stepper_sim $end\n";
    for (int m = 0; m < motors; ++m) {
        text_ += wire(m, step_line_name(letters[static_cast<std::size_t>(m)]));
    }
    for (int m = 0; m < motors; ++m) {
        text_ += wire(motors + m, direction_line_name(letters[static_cast<std::size_t>(m)]));
    }
    text_ += "$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n";
    for (int line = 0; line < levels_.lines(); ++line) {
        text_ += levels_.level(line) ? '1' : '0';
        text_ += identifier(line);
        text_ += '\n';
    }
    text_ += "$end\n";
    out_ << text_;
}

void VcdWriter::take(std::span<const controller::Edge> edges) {
    text_.clear();
    for (const controller::Edge& edge : edges) {
        if (!levels_.apply(edge)) continue;
        const std::int64_t units = clock_.units(edge.tick);
        if (units != at_) {
            at_ = units;
            text_ += '#';
            append(text_, units);
            text_ += '\n';
        }
        text_ += LineLevels::level_of(edge) ? '1' : '0';
        text_ += identifier(levels_.line_of(edge));
        text_ += '\n';
    }
    out_ << text_;
}

}  // namespace stepper_sim::capture
