#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cstring>

#include "tests/planner/program/random_program.hpp"
#include "tests/planner/program/read_text.hpp"

namespace planner::test {
namespace {

void expect_same(const std::vector<Command>& a, const std::vector<Command>& b) {
    RC_ASSERT(a.size() == b.size());
    for (std::size_t i = 0; i < a.size(); ++i) {
        RC_ASSERT(same(a[i], b[i]));
    }
}

RC_GTEST_PROP(ProgramReader, GivesTheSameCommandsHoweverTheTextIsCut, ()) {
    const std::string text = *random_program();
    const auto cut = *rc::gen::inRange<std::size_t>(0, text.size() + 1);
    const ReadResult whole = read_text(text, printer());
    const ProgramSettings settings = printer();
    ProgramReader reader(settings, "test.ngc");
    std::vector<Command> commands;
    reader.read(std::string_view(text).substr(0, cut), commands);
    reader.read(std::string_view(text).substr(cut), commands);
    reader.finish(commands);
    RC_ASSERT(whole.errors.empty());
    RC_ASSERT(reader.notes().lines == whole.notes.lines);
    expect_same(commands, whole.commands);
}

RC_GTEST_PROP(ProgramReader, GivesTheSameCommandsByteByByte, ()) {
    const std::string text = *random_program();
    const ProgramSettings settings = printer();
    ProgramReader reader(settings, "test.ngc");
    std::vector<Command> commands;
    for (const char& c : text) {
        reader.read({&c, 1}, commands);
    }
    reader.finish(commands);
    expect_same(commands, read_text(text, printer()).commands);
}

// Comments, blanks, case, line numbers and line ends say nothing about motion; the careful and the
// plain way must agree.
RC_GTEST_PROP(ProgramReader, NoiseChangesNothing, ()) {
    const std::string text = *random_program();
    expect_same(read_text(*with_noise(text), printer()).commands,
                read_text(text, printer()).commands);
}

RC_GTEST_PROP(ProgramReader, InchAndMillimetreProgramsReachTheSamePlaces, ()) {
    const auto moves = *rc::gen::nonEmpty<std::vector<std::array<int, 3>>>();
    std::string inches = "G20 F10\n";
    std::string metric = "G21 F254\n";
    for (const auto& move : moves) {
        // Thousandths of an inch are 25.4 um: exact decimals in both units.
        for (std::size_t i = 0; i < 3; ++i) {
            const long long thou = move[i] % 100000;
            const long long tenths_um = thou * 254;
            const auto decimal = [](long long value, long long unit, int digits) {
                const long long size = std::llabs(value);
                std::string rest = std::to_string(size % unit);
                rest.insert(0, static_cast<std::size_t>(digits) - rest.size(), '0');
                return (value < 0 ? "-" : "") + std::to_string(size / unit) + '.' + rest;
            };
            inches += std::string(i == 0 ? "G1 " : " ") + "XYZ"[i] + decimal(thou, 1000, 3);
            metric += std::string(i == 0 ? "G1 " : " ") + "XYZ"[i] + decimal(tenths_um, 10000, 4);
        }
        inches += '\n';
        metric += '\n';
    }
    const ReadResult a = read_text(inches);
    const ReadResult b = read_text(metric);
    RC_ASSERT(a.errors.empty() && b.errors.empty());
    RC_ASSERT(a.commands.size() == b.commands.size());
    for (std::size_t i = 0; i < a.commands.size(); ++i) {
        for (std::size_t axis = 0; axis < 3; ++axis) {
            // 1e-12 m: far above the rounding of 0.0254 (3e-16 of at most 2.54 m), far below any
            // step.
            RC_ASSERT(std::fabs(a.commands[i].target_m[axis] - b.commands[i].target_m[axis]) <=
                      1e-12);
        }
    }
}

RC_GTEST_PROP(ProgramReader, SurvivesAnyBytes, (const std::string& bytes)) {
    const ReadResult result = read_text(bytes, printer());
    RC_ASSERT(result.errors.size() <= kMaxErrors);
    for (const Diagnostic& error : result.errors) {
        RC_ASSERT(to_line(error).find('\n') == std::string::npos);
    }
    for (const Command& command : result.commands) {
        for (const double target_m : command.target_m) {
            RC_ASSERT(std::isfinite(target_m));
        }
    }
}

TEST(ProgramReader, ReadsMarkLineEndsCaseAndMissingFinalNewline) {
    const std::string plain = "G1 X1 Y2 F100\nG0 X3";
    for (const std::string text :
         {"\xEF\xBB\xBFG1 X1 Y2 F100\nG0 X3\n", "G1 X1 Y2 F100\r\nG0 X3\r\n",
          "g1 x1 y2 f100\ng0 x3", "G1X1Y2F100\nG0X3\n", "G01 X+1.0 Y2. F100.0\nG00 X3\n",
          "\tG1\tX1\tY2\tF100\nG0 X3"}) {
        const ReadResult a = read_text(text);
        const ReadResult b = read_text(plain);
        ASSERT_TRUE(a.errors.empty()) << text;
        ASSERT_EQ(a.commands.size(), b.commands.size()) << text;
        for (std::size_t i = 0; i < a.commands.size(); ++i) {
            EXPECT_TRUE(same(a.commands[i], b.commands[i])) << text;
        }
    }
}

TEST(ProgramReader, BlockOfNothingIsNoText) {
    EXPECT_EQ(read_text(std::string_view{}).errors.at(0).id, "program/empty");
}

TEST(ProgramReader, NonUtf8CommentIsNoError) {
    EXPECT_TRUE(read_text("G0 X1 (r\xE4umen)\nG0 X2 ;\xFF").errors.empty());
}

TEST(ProgramReader, BinaryFileIsOneErrorNotOnePerLine) {
    const ReadResult result = read_text("G1 X1 F100\nG1 X2\x03\n\x01\x02\nG1 X--1\n");
    ASSERT_EQ(result.errors.size(), 1U);
    EXPECT_EQ(result.errors[0].id, "program/control-byte");
    EXPECT_EQ(result.errors[0].place.line, 2U);
    EXPECT_TRUE(read_text("G0 X1\r\n\x1A").errors.empty());
}

TEST(ProgramReader, MegabyteCommentIsTextAndLongerIsAnError) {
    const std::string megabyte(1000000, 'x');
    EXPECT_TRUE(read_text("G0 X1\n;" + megabyte + "\n").errors.empty());
    EXPECT_TRUE(read_text("G0 X1\n(" + megabyte + ")\n").errors.empty());
    EXPECT_TRUE(read_text("G0 X1 ;" + megabyte).errors.empty());
    for (const std::string& text : {"G0 X1\nG1 " + megabyte, "G0 X1\n" + megabyte + "\nG0 X2",
                                    "G0 X1\n;" + megabyte + megabyte}) {
        const ReadResult result = read_text(text);
        ASSERT_EQ(result.errors.size(), 1U);
        EXPECT_EQ(result.errors[0].id, "program/line-too-long");
        EXPECT_EQ(result.errors[0].place.line, 2U);
    }
}

TEST(ProgramReader, EndlessLineCutIntoBlocksIsOneErrorAndTheNextLineIsRead) {
    const ProgramSettings settings;
    ProgramReader reader(settings);
    std::vector<Command> commands;
    const std::string block(65536, 'G');
    for (int i = 0; i < 200; ++i) {
        reader.read(block, commands);
    }
    reader.read("\nG0 X1\n", commands);
    reader.finish(commands);
    ASSERT_EQ(reader.errors().size(), 1U);
    EXPECT_EQ(reader.errors()[0].id, "program/line-too-long");
    EXPECT_EQ(commands.size(), 1U);
    EXPECT_EQ(commands[0].line, 2U);
}

TEST(ProgramReader, AbsolutePositionsNeverDrift) {
    std::string text = "G1 F1000\n";
    for (int i = 0; i < 100000; ++i) {
        text += "X" + std::to_string(i % 1000) + ".1 Y0.3\n";
    }
    EXPECT_EQ(read_text(text + "X0.1\n").commands.back().target_m[0], 0.1 / 1000.0);
}

}  // namespace
}  // namespace planner::test
