#include "stepper_sim/capture/edge_csv.hpp"

#include <array>
#include <charconv>
#include <ostream>

namespace stepper_sim::capture {
namespace {

constexpr std::int64_t kNanoseconds_hz = 1'000'000'000;
constexpr int kFractionDigits = 9;

using Digits = std::array<char, 24>;

std::string_view decimal(std::uint64_t number, Digits& digits) {
    const char* const end = std::to_chars(digits.data(), digits.data() + digits.size(), number).ptr;
    return {digits.data(), static_cast<std::size_t>(end - digits.data())};
}

}  // namespace

EdgeCsvWriter::EdgeCsvWriter(std::ostream& out, std::string_view letters, std::int64_t tick_hz)
    : out_(out), clock_(tick_hz, kNanoseconds_hz), levels_(static_cast<int>(letters.size())) {
    text_ = "time_s";
    for (const char letter : letters)
        text_ += "," + step_line_name(letter);
    for (const char letter : letters)
        text_ += "," + direction_line_name(letter);
    text_ += ",line\n";
}

void EdgeCsvWriter::take(std::span<const controller::Edge> edges) {
    for (const controller::Edge& edge : edges) {
        const std::int64_t at_ns = clock_.units(edge.tick);
        if (at_ns != at_ns_) {
            write_row();
            at_ns_ = at_ns;
        }
        if (levels_.apply(edge)) line_ = edge.line;
    }
    out_ << text_;
    text_.clear();
}

void EdgeCsvWriter::finish() {
    write_row();
    out_ << text_;
    text_.clear();
}

void EdgeCsvWriter::write_row() {
    Digits digits{};
    text_ += decimal(static_cast<std::uint64_t>(at_ns_ / kNanoseconds_hz), digits);
    text_ += '.';
    const auto fraction = decimal(static_cast<std::uint64_t>(at_ns_ % kNanoseconds_hz), digits);
    text_.append(kFractionDigits - fraction.size(), '0');
    text_ += fraction;
    for (int line = 0; line < levels_.lines(); ++line)
        text_ += levels_.level(line) ? ",1" : ",0";
    text_ += ',';
    text_ += decimal(line_, digits);
    text_ += '\n';
}

}  // namespace stepper_sim::capture
