// O words and calls: which lines run, how often, with which parameters; and what cannot be run.
#include <gtest/gtest.h>

#include <cmath>
#include <memory>

#include "tests/planner/program/read_text.hpp"

namespace planner::test {
namespace {

ProgramSettings with_calls() {
    ProgramSettings settings;
    settings.words["M7331"] = {WordEffect::call, "P", "L"};
    settings.words["M7332"] = {WordEffect::give_back};
    return settings;
}

/// Where X ends after each move, in whole millimetres.
std::string x_path(std::string_view text, const ProgramSettings& settings = with_calls()) {
    const ReadResult result = read_text(text, settings);
    std::string path;
    for (const Diagnostic& error : result.errors)
        path += to_line(error) + '\n';
    for (const Command& command : result.commands)
        path += std::to_string(std::lround(mm(command.target_m[0]))) + ' ';
    return path;
}

TEST(Flow, LoopsRunAsOftenAsTheirWordsSay) {
    EXPECT_EQ(x_path("#1=0\nO1 while [#1 LT 3]\n#1=[#1+1]\nG0 X#1\nO1 endwhile\nX9\n"), "1 2 3 9 ");
    EXPECT_EQ(x_path("#1=5\no1 do\nG0 X#1\n#1=[#1+1]\no1 while [#1 LE 6]\n"), "5 6 ");
    EXPECT_EQ(x_path("G91 G0\nO2 repeat [3]\nX1\nO2 endrepeat\nX5"), "1 2 3 8 ");
    EXPECT_EQ(x_path("G0 X1\nO2 repeat [0]\nX2\nO2 endrepeat\nO3 while [0]\nX3\nO3 endwhile\n"),
              "1 ");
    EXPECT_EQ(x_path("G91 G0\nO1 repeat [2]\nO2 repeat [2]\nX1\nO2 endrepeat\nX10\nO1 endrepeat\n"),
              "1 2 12 13 14 24 ");
}

// The text of the first call is the caller's, and gone by then: sanitizers see it where it is kept by reference.
TEST(Flow, AFirstCallThatGoesNowhereIsNamedAfterItsTextIsGone) {
    const ProgramSettings settings = with_calls();
    for (const bool ends_its_line : {false, true}) {
        ProgramReader reader(settings, "part.ngc");
        std::vector<Command> commands;
        auto text =
            std::make_unique<std::string>(ends_its_line ? "G0 X1\nM7331 P5\n" : "G0 X1\nM7331 P5");
        reader.read(*text, commands);
        text->assign(text->size(), '?');
        text.reset();
        reader.finish(commands);
        ASSERT_EQ(reader.errors().size(), 1U);
        EXPECT_EQ(reader.errors()[0].id, "program/subprogram");
        EXPECT_EQ(reader.errors()[0].place.line, 2U);
        EXPECT_EQ(reader.errors()[0].found, "M7331 P5");
    }
}

TEST(Flow, BreakLeavesAndContinueGoesOnWithTheLoopOfItsName) {
    EXPECT_EQ(x_path("#1=0\nO1 while [1]\n#1=[#1+1]\nO2 if [#1 EQ 2]\nO1 continue\nO2 endif\nO3 if "
                     "[#1 GT 4]\nO1 break\nO3 endif\nG0 X#1\nO1 endwhile\nX9\n"),
              "1 3 4 9 ");
    EXPECT_EQ(
        x_path("G91 G0\nO1 repeat [2]\nO2 repeat [5]\nX1\nO1 continue\nO2 endrepeat\nX100\nO1 "
               "endrepeat\nO4 repeat [2]\nX10\nO4 endrepeat\n"),
        "1 2 12 22 ");
    EXPECT_EQ(x_path("G91 G0\nO1 repeat [3]\nO2 repeat [5]\nX1\nO1 break\nO2 endrepeat\nO1 "
                     "endrepeat\nX10\n"),
              "1 11 ");
}

TEST(Flow, TheFirstBranchThatHoldsRunsAlone) {
    const auto branch = [](const char* value) {
        return x_path("#1=" + std::string(value) +
                      "\nO1 if [#1 EQ 1]\nG0 X1\nO1 elseif [#1 LT 3]\nG0 X2\nO1 elseif [#1 LT "
                      "9]\nG0 X3\nO1 else\nG0 X4\nO1 endif\nG0 X0\n");
    };
    EXPECT_EQ(branch("1"), "1 0 ");
    EXPECT_EQ(branch("2"), "2 0 ");
    EXPECT_EQ(branch("5"), "3 0 ");
    EXPECT_EQ(branch("9"), "4 0 ");
}

TEST(Flow, ACallHasItsOwnFirstThirtyParametersAndNames) {
    EXPECT_EQ(
        x_path("O<go> sub\nG0 X#1\nX#2\n#1=90\n#<mine>=50\n#31=7\n#<_all>=8\nO<go> endsub\n"
               "#1=3\n#2=4\n#<mine>=5\nO<GO> call [1] [1+1]\nX#1\nX#2\nX#<MINE>\nX#31\nX#<_all>\n"),
        "1 2 3 4 5 7 8 ");
    EXPECT_EQ(x_path("O1 sub\nG0 X[#1+#<a>]\nO1 endsub\n#<a>=7\n#1=7\nO1 call\n"), "0 ");
}

TEST(Flow, SubprogramsMayCallThemselvesAndReturnEarly) {
    EXPECT_EQ(x_path("O1 sub\nO2 if [#1 EQ 0]\nO1 return\nO2 endif\nO1 call [#1-1]\nG0 X#1\nO1 "
                     "endsub\nO1 call [3]\n"),
              "1 2 3 ");
    EXPECT_EQ(x_path("G91 G0\nO1 repeat [2]\nO9 call\nO1 endrepeat\nG0 X10\nM2\nO9 sub\nO8 repeat "
                     "[9]\nX1\nO9 return\nO8 endrepeat\nO9 endsub\n"),
              "1 2 12 12 ");
}

TEST(Flow, ParametersMayPointToParameters) {
    EXPECT_EQ(x_path("#5=6\n#6=7\n#7=8\nG0 X##5\nX###5\nX#[#5+1]\n"), "7 8 8 ");
}

TEST(Flow, TheWordsOfTheMachineFileCallNumberedPrograms) {
    const std::string programs = "M30\nO0100 G0\nX1\nM7332\nO200\nX1\nM7331 P100\nX100\nM7332\n";
    EXPECT_EQ(x_path("G91 G0\nX5\nM7331 P100 L3\nX10\n" + programs), "5 6 7 8 18 18 ");
    EXPECT_EQ(x_path("G91 G0\nX2 M7331 P200\n" + programs), "2 3 4 104 104 ");
    EXPECT_EQ(x_path("G91 G0\nM7331 P100 L0\nX3\n" + programs), "3 3 ");
}

TEST(Flow, LogicBindsAfterComparisonsWhereTheyStandTogether) {
    EXPECT_EQ(x_path("G0 X[3 GT 1 AND 2 LT 1]\nX[1 LT 2 OR 5 EQ 6]\nX[1 NE 1]\nX[2 GE 2]\n"),
              "0 1 0 1 ");
    EXPECT_EQ(x_path("G0 X[1 AND 1 + 1]\nX[[1 AND 1] + 1]\nX[1 + 1 EQ 2]\n"), "2 2 1 ");
}

TEST(Flow, LinesKeepTheirNumbersAndTheFileItsCount) {
    const ReadResult result =
        read_text("G0 X1\nO1 repeat [2]\nX2\nX3 (slow way)\nO1 endrepeat\nX4\n\n");
    ASSERT_EQ(result.commands.size(), 6U);
    const std::vector<std::uint64_t> lines = {1, 3, 4, 3, 4, 6};
    for (std::size_t i = 0; i < lines.size(); ++i)
        EXPECT_EQ(result.commands[i].line, lines[i]) << i;
    EXPECT_EQ(result.notes.lines, 7U);
    EXPECT_EQ(result.notes.commands, 6U);
}

TEST(Flow, ALoopIsHandedOverInPieces) {
    const ProgramSettings settings;
    ProgramReader reader(settings, "test.ngc");
    std::vector<Command> commands;
    reader.read("G91 G0\nO1 repeat [100000]\nX1\nX-1\nO1 endrepeat\n", commands);
    EXPECT_TRUE(commands.empty());
    std::size_t all = 0, most = 0;
    bool finished = false;
    while (!finished) {
        commands.clear();
        finished = reader.finish(commands, 100);
        all += commands.size();
        most = std::max(most, commands.size());
    }
    EXPECT_EQ(all, 200000U);
    EXPECT_LT(most, 110U);
    EXPECT_TRUE(reader.errors().empty());
}

struct Bad {
    const char* text;
    const char* id;
    std::uint64_t line, column;
};

class BadFlow : public testing::TestWithParam<Bad> {};

TEST_P(BadFlow, IsOneErrorAtItsPlace) {
    const ReadResult result = read_text(GetParam().text, with_calls());
    ASSERT_EQ(result.errors.size(), 1U) << GetParam().text;
    EXPECT_EQ(result.errors[0].id, GetParam().id) << to_line(result.errors[0]);
    EXPECT_EQ(result.errors[0].place.line, GetParam().line) << to_line(result.errors[0]);
    EXPECT_EQ(result.errors[0].place.column, GetParam().column) << to_line(result.errors[0]);
    EXPECT_FALSE(result.errors[0].found.empty());
    EXPECT_FALSE(result.errors[0].expected.empty());
}

INSTANTIATE_TEST_SUITE_P(
    Flow, BadFlow,
    testing::Values(Bad{"G0 X1\nO1 repeat [2]\nX2\n", "program/flow", 2, 1},
                    Bad{"G0 X1\nX3\n N5 O1 endif\n", "program/flow", 3, 5},
                    Bad{"O1 while [1]\nO2 if [1]\nO1 endwhile\nO2 endif", "program/flow", 3, 1},
                    Bad{"O1 if [1]\nO1 else\nO1 else\nO1 endif\n", "program/flow", 3, 1},
                    Bad{"O1 break", "program/flow", 1, 1}, Bad{"O1 return", "program/flow", 1, 1},
                    Bad{"O1 sub\nO2 sub\nO1 endsub", "program/flow", 2, 1},
                    Bad{"O1 sub\nO1 endsub\nO1 sub\nO1 endsub\n", "program/flow", 3, 1},
                    Bad{"O1 jump", "program/flow", 1, 1}, Bad{"O<name>", "program/flow", 1, 1},
                    Bad{"O[5] call", "program/flow", 1, 1},
                    Bad{"G0 X1 O1 call", "program/flow", 1, 7},
                    Bad{"O1 repeat\nO1 endrepeat", "program/flow", 1, 10},
                    Bad{"O1 repeat [1.5]\nO1 endrepeat", "program/flow", 1, 1},
                    Bad{"O1 while [1] X\nO1 endwhile", "program/flow", 1, 14},
                    Bad{"O1 while [1/0]\nO1 endwhile", "program/division-by-zero", 1, 12},
                    Bad{"O1 sub\nG0 X1\nO1 endsub 5\nO1 call", "program/flow", 3, 11},
                    Bad{"G0 X1\nO5 call [1]\n", "program/subprogram", 2, 1},
                    Bad{"G0 X1\nM7331 P5\nM30\nO6\nM7332\n", "program/subprogram", 2, 1},
                    Bad{"G0 X1\nM7331\nM30\nO6\nM7332\n", "program/subprogram", 2, 1},
                    Bad{"G0 X1\nM7332\n", "program/subprogram", 2, 1},
                    Bad{"M7331 P5\nM30\nO5\nG0 X1\n", "program/subprogram", 4, 1},
                    Bad{"M7331 P5\nM30\nO5\nG0 X1\nO6\nX2\nM7332", "program/subprogram", 5, 1},
                    Bad{"#1=1\nO1 while [#1]\nG0 X1\nO1 endwhile", "program/endless", 2, 1},
                    Bad{"G91 G0\nO1 while [1]\nX1\nX-1\nO1 endwhile", "program/endless", 2, 1},
                    Bad{"O1 sub\nO1 call\nO1 endsub\nO1 call", "program/endless", 2, 1},
                    Bad{"#<a b=1", "program/parameter", 1, 2},
                    Bad{"#5221=1", "program/parameter", 1, 1}));

TEST(Flow, AProgramNumberAloneKeepsNothing) {
    const ReadResult result = read_text("O1000 (name)\nG0 X1\n:20\nO0030 G0 X2\n");
    EXPECT_TRUE(result.errors.empty());
    EXPECT_EQ(result.commands.size(), 2U);
    EXPECT_TRUE(result.notes.unknown_words.empty());
    EXPECT_TRUE(result.notes.spots.empty());
}

TEST(Flow, AProgramBehindTheEndThatNoWordCallsIsReported) {
    for (const char* text : {"G0 X1\nM7331 P0100\nM30\n%\nO0100 (hole)\nX2\nM7332\n",
                             "O1 call\nM7331 P0100\nM30\nO1 sub\nO1 endsub\nO100\nX2\nM7332\n",
                             "O1 repeat [2]\nO1 endrepeat\nM7331 P0100\nM30\nO100\nX2\n"}) {
        const ReadResult result = read_text(text);
        EXPECT_TRUE(result.errors.empty()) << text;
        ASSERT_EQ(result.notes.unknown_words.size(), 2U) << text;
        EXPECT_EQ(result.notes.unknown_words[1].word, "program O100 behind the end");
        EXPECT_TRUE(result.notes.unknown_words[1].may_move);
        EXPECT_TRUE(read_text(text, with_calls()).notes.unknown_words.empty());
    }
}

TEST(Flow, TextBehindTheEndIsNotedUnlessItIsASubprogram) {
    EXPECT_EQ(
        find_spot(read_text("O1 call\nG0 X1\nM2\nO1 sub\nO1 endsub\n"), SpotKind::text_after_end),
        nullptr);
    const ReadResult result = read_text("O1 sub\nO1 endsub\nG0 X1\nM2\n(end)\nX5\n");
    ASSERT_NE(find_spot(result, SpotKind::text_after_end), nullptr);
    EXPECT_EQ(find_spot(result, SpotKind::text_after_end)->first_line, 6U);
}

TEST(Flow, LoneCarriageReturnsAndNoBreakSpacesAreAsBetweenOtherWords) {
    for (const char* text :
         {"G91 G0\rO1 repeat [3]\rX1\rO1 endrepeat\rX7",
          "G91 G0\n\xC2\xA0O1 \xC2\xA0repeat [3]\nX1\n\xC2\xA0O1 endrepeat\nX7\n"}) {
        const ReadResult result = read_text(text);
        EXPECT_TRUE(result.errors.empty()) << text;
        EXPECT_EQ(result.commands.size(), 4U) << text;
        EXPECT_EQ(result.notes.lines, 5U) << text;
    }
}

TEST(Flow, FilamentThatGoesBackInALoopIsNoticed) {
    ProgramSettings settings;
    settings.axes = AxisSet("XYZE");
    const ReadResult result = read_text(
        "G90 G1 F600\nO1 repeat [100]\n#1=[#1+2]\nX#1 E1\nX[#1+1] E0.9\nO1 endrepeat\n", settings);
    EXPECT_NE(find_spot(result, SpotKind::e_like_distances), nullptr);
}

TEST(Flow, MoreThanSixtyFourMegabytesToKeepAreAnError) {
    ProgramReader reader(ProgramSettings{}, "test.ngc");
    std::vector<Command> commands;
    reader.read("G0 X1\nO1 call\n", commands);
    const std::string block(std::size_t{1} << 20U, '\n');
    for (int i = 0; i < 70; ++i)
        reader.read(block, commands);
    reader.finish(commands);
    ASSERT_EQ(reader.errors().size(), 1U);
    EXPECT_EQ(reader.errors()[0].id, "program/too-long");
    EXPECT_EQ(reader.errors()[0].place.line, 2U);
}

}  // namespace
}  // namespace planner::test
