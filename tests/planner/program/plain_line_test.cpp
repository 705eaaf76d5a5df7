// The short way for plain lines must do what the general way does, whatever stands on the lines. Read byte
// by byte no line is short: that is the general way.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <bit>

#include "tests/planner/program/random_program.hpp"
#include "tests/planner/program/read_text.hpp"

namespace planner::test {
namespace {

using rc::gen::element;
using rc::gen::inRange;
using rc::gen::just;

rc::Gen<std::string> text_of(const char* text) {
    return just(std::string(text));
}

rc::Gen<std::string> digits(int least, int most) {
    return rc::gen::mapcat(inRange(least, most + 1), [](int count) {
        return rc::gen::container<std::string>(static_cast<std::size_t>(count),
                                               inRange('0', static_cast<char>('9' + 1)));
    });
}

/// Numbers of every length around those that the short way takes at once, some of them none.
rc::Gen<std::string> number() {
    const auto joined = [](const std::string& sign, const std::string& whole,
                           const std::string& point, const std::string& decimals) {
        return sign + whole + (decimals.empty() || point.empty() ? point : point + decimals);
    };
    return rc::gen::apply(
        joined, rc::gen::weightedElement<std::string>({{8, ""}, {4, "-"}, {1, "+"}}), digits(0, 5),
        rc::gen::weightedElement<std::string>({{6, "."}, {2, ""}}), digits(0, 8));
}

rc::Gen<std::string> word() {
    const auto joined = [](const std::string& letter, const std::string& value) {
        return letter + value;
    };
    return rc::gen::apply(joined, element<std::string>("X", "Y", "Z", "E", "x", "y", "A", "U", "F"),
                          number());
}

rc::Gen<std::string> g_word() {
    return rc::gen::weightedElement<std::string>({{8, "G1"},
                                                  {4, "G0"},
                                                  {1, "g1"},
                                                  {1, "G01"},
                                                  {1, "G00"},
                                                  {1, "G1."},
                                                  {1, "G-0"},
                                                  {1, "G0.5"},
                                                  {1, "G+1"},
                                                  {1, "G2"},
                                                  {1, "G10"},
                                                  {1, "G"}});
}

/// Ordinary lines, each letter at random: repeated ones are errors.
rc::Gen<std::string> words_line() {
    const auto joined = [](const std::string& g, const std::vector<std::string>& words,
                           const std::string& blank, const std::string& end) {
        std::string line = g;
        for (const std::string& one : words) {
            line += (line.empty() ? "" : blank) + one;
        }
        return line + end;
    };
    return rc::gen::apply(
        joined, rc::gen::oneOf(g_word(), text_of("")),
        rc::gen::resize(5, rc::gen::container<std::vector<std::string>>(word())),
        rc::gen::weightedElement<std::string>({{8, " "}, {2, ""}, {1, "  "}, {1, "\t"}}),
        rc::gen::weightedElement<std::string>({{12, ""},
                                               {2, " "},
                                               {1, "\r"},
                                               {1, " ; fill"},
                                               {1, ";\x01"},
                                               {1, " (fill)"},
                                               {1, ";\xE4"},
                                               {1, "\x1A"}}));
}

/// Lines after which plain lines mean something else, and plain lines that must leave their trace.
rc::Gen<std::string> mode_line() {
    return element<std::string>("G90", "G91", "G20", "G21", "M7303", "M7304", "G92 X1 E0", "G92.1",
                                "G55", "G54", "G61.1", "G64", "F0", "F600", "F1e9", "G93",
                                "G94 F100", "G80", "G81 Z-1 R2 X1", "G81 X3", "G1 X2",
                                "G0 Z-3 F100", "G0 Z3 F100", "G1 X4 F100", "G2 X1 Y1 R1",
                                "G38.2 Z-1", "G53 G0 X1", "", "(note)", "M5", "T1 M6");
}

/// `line` with one byte replaced, put in or taken away.
rc::Gen<std::string> damaged(const rc::Gen<std::string>& line) {
    const auto hurt = [](std::string text, std::size_t place, int how, char byte) {
        place %= text.size() + 1;
        if (how != 0 && place < text.size()) {
            text.erase(place, 1);
        }
        if (how != 2) {
            text.insert(place, 1, byte);
        }
        return text;
    };
    return rc::gen::apply(
        hurt, line, inRange<std::size_t>(0, 64), inRange(0, 3),
        rc::gen::oneOf(
            rc::gen::elementOf(std::string("XYZEFGMNe#[]()*/%:;.-+ \t\r=,0123456789\xFF\xB0\xC3")),
            rc::gen::arbitrary<char>()));
}

rc::Gen<std::string> any_program() {
    const auto line = rc::gen::weightedOneOf<std::string>({{12, words_line()},
                                                           {4, damaged(words_line())},
                                                           {4, mode_line()},
                                                           {1, rc::gen::arbitrary<std::string>()}});
    return rc::gen::map(rc::gen::container<std::vector<std::string>>(line),
                        [](const std::vector<std::string>& lines) {
                            std::string text;
                            for (const std::string& one : lines) {
                                text += one + '\n';
                            }
                            return text;
                        });
}

struct Outcome {
    ReadResult read;
    AxisArray position_m{};
};

Outcome read_in_pieces(std::string_view text, const ProgramSettings& settings, std::size_t piece) {
    Outcome outcome;
    ProgramReader reader(settings, "test.ngc");
    for (std::size_t at = 0; at < text.size(); at += piece) {
        reader.read(text.substr(at, piece), outcome.read.commands);
    }
    reader.finish(outcome.read.commands);
    outcome.read.errors = reader.errors();
    outcome.read.notes = reader.notes();
    outcome.position_m = reader.position_m();
    return outcome;
}

void expect_same_errors(const std::vector<Diagnostic>& a, const std::vector<Diagnostic>& b) {
    RC_ASSERT(a.size() == b.size());
    for (std::size_t i = 0; i < a.size(); ++i) {
        RC_ASSERT(to_line(a[i]) == to_line(b[i]));
        RC_ASSERT(a[i].place.line == b[i].place.line && a[i].place.column == b[i].place.column);
    }
}

void expect_same_notes(const ProgramNotes& a, const ProgramNotes& b) {
    RC_ASSERT(a.lines == b.lines && a.commands == b.commands && a.errors == b.errors);
    RC_ASSERT(a.further_words == b.further_words && a.ended == b.ended);
    RC_ASSERT(a.units_stated == b.units_stated && a.feed_stated == b.feed_stated);
    RC_ASSERT(a.unknown_words.size() == b.unknown_words.size());
    for (std::size_t i = 0; i < a.unknown_words.size(); ++i) {
        const UnknownWord &x = a.unknown_words[i], &y = b.unknown_words[i];
        RC_ASSERT(x.word == y.word && x.count == y.count && x.first_line == y.first_line);
        RC_ASSERT(x.may_move == y.may_move);
    }
    RC_ASSERT(a.spots.size() == b.spots.size());
    for (std::size_t i = 0; i < a.spots.size(); ++i) {
        const Spot &x = a.spots[i], &y = b.spots[i];
        RC_ASSERT(x.kind == y.kind && x.count == y.count && x.first_line == y.first_line);
        RC_ASSERT(x.sample == y.sample);
    }
}

void expect_both_ways_same(const std::string& text, const ProgramSettings& settings) {
    const Outcome plain = read_in_pieces(text, settings, text.size() + 1);
    const Outcome general = read_in_pieces(text, settings, 1);
    using Bits = std::array<std::uint64_t, kMaxAxes>;
    RC_ASSERT(plain.read.commands.size() == general.read.commands.size());
    for (std::size_t i = 0; i < plain.read.commands.size(); ++i) {
        const Command &a = plain.read.commands[i], &b = general.read.commands[i];
        RC_ASSERT(same(a, b));
        RC_ASSERT(std::bit_cast<Bits>(a.target_m) == std::bit_cast<Bits>(b.target_m));
    }
    RC_ASSERT(plain.position_m == general.position_m);
    expect_same_errors(plain.read.errors, general.read.errors);
    expect_same_notes(plain.read.notes, general.read.notes);
}

RC_GTEST_PROP(PlainLine, GivesWhatTheGeneralWayGivesOnAPrinter, ()) {
    ProgramSettings settings = printer();
    settings.ignored_axes = *element<std::string>("", "U", "UA");
    expect_both_ways_same(*any_program(), settings);
}

TEST(PlainLine, EndsADrillingCycleAndItsStickyWords) {
    const std::string text = "F100\nG81 Z-1 R2 X1\nG1 X2\nG81 X3\n";
    const ProgramSettings settings;
    EXPECT_EQ(read_in_pieces(text, settings, text.size()).read.errors.size(), 1U);
    EXPECT_EQ(read_in_pieces(text, settings, 1).read.errors.size(), 1U);
}

RC_GTEST_PROP(PlainLine, GivesWhatTheGeneralWayGivesOnAMill, ()) {
    ProgramSettings settings = settings_for("XYZA");
    settings.rapid_is_feed = *rc::gen::arbitrary<bool>();
    settings.default_inches = *rc::gen::arbitrary<bool>();
    settings.work_offset_m[0] = *element(0.0, 0.125);
    expect_both_ways_same(*any_program(), settings);
}

RC_GTEST_PROP(PlainLine, GivesWhatTheGeneralWayGivesWhereWordsHaveOtherMeanings, ()) {
    ProgramSettings settings = printer();
    settings.words[*element<std::string>("G1", "G0", "F600", "E1", "X1", "G10")] = {
        *element(WordEffect::ignore, WordEffect::wait)};
    expect_both_ways_same(*any_program(), settings);
}

}  // namespace
}  // namespace planner::test
