#include <gtest/gtest.h>

#include "tests/planner/program/read_text.hpp"

namespace planner::test {
namespace {

struct BadLine {
    std::string text;
    std::string id;
    std::uint64_t line;
    std::uint64_t column;
};

class BadText : public testing::TestWithParam<BadLine> {};

TEST_P(BadText, IsOneErrorAtItsExactPlace) {
    const BadLine& bad = GetParam();
    const ReadResult result = read_text(bad.text, printer());
    ASSERT_EQ(result.errors.size(), 1U) << bad.text;
    EXPECT_EQ(result.errors[0].id, bad.id);
    EXPECT_EQ(result.errors[0].place.file, "test.ngc");
    EXPECT_EQ(result.errors[0].place.line, bad.line);
    EXPECT_EQ(result.errors[0].place.column, bad.column);
    EXPECT_FALSE(result.errors[0].found.empty());
    EXPECT_FALSE(result.errors[0].expected.empty());
    EXPECT_EQ(to_line(result.errors[0]).find('\n'), std::string::npos);
}

INSTANTIATE_TEST_SUITE_P(
    Numbers, BadText,
    testing::Values(BadLine{"G21\nG1 X--5 F100", "program/no-number", 2, 6},
                    BadLine{"G1 X+-5 F100", "program/no-number", 1, 6},
                    BadLine{"G1 Xnan F100", "program/no-number", 1, 4},
                    BadLine{"G1 Xinf F100", "program/no-number", 1, 4},
                    BadLine{"G1 X1e400 F100", "program/exponent", 1, 4},
                    BadLine{"G1 X" + std::string(400, '9'), "program/number-too-large", 1, 5},
                    BadLine{"G1 X99999999 F100", "program/number-too-large", 1, 4},
                    BadLine{"G1 X. F100", "program/no-number", 1, 5},
                    BadLine{"G1 X10 Y F100", "program/no-number", 1, 8},
                    BadLine{"G X10", "program/no-number", 1, 1},
                    BadLine{"G1 X1 2", "program/unexpected-character", 1, 7},
                    BadLine{"G1 X1.2.3 F1", "program/unexpected-character", 1, 8},
                    BadLine{"G-1 X1", "program/no-number", 1, 1}));

INSTANTIATE_TEST_SUITE_P(
    Characters, BadText,
    testing::Values(BadLine{std::string("G1 X1\0", 6), "program/control-byte", 1, 6},
                    BadLine{"G1 X1 ;\x01", "program/control-byte", 1, 8},
                    BadLine{"G1 X1 \xC3\xA4", "program/unexpected-character", 1, 7},
                    BadLine{"G1 X1 \"a\"", "program/unexpected-character", 1, 7},
                    BadLine{"G1 X1 (open", "program/unclosed-comment", 1, 7},
                    BadLine{"G1 X1 X2", "program/repeated-word", 1, 7},
                    BadLine{"N3 G1 X1 F9*1", "program/checksum", 1, 12},
                    BadLine{"N3 M7302 text*1", "program/checksum", 1, 14},
                    BadLine{"", "program/empty", 0, 0},
                    BadLine{"\n\n  \r\n", "program/empty", 0, 0},
                    BadLine{"(only a comment)\n; another", "program/empty", 0, 0}));

INSTANTIATE_TEST_SUITE_P(
    Expressions, BadText,
    testing::Values(BadLine{"G0 X[1/0]", "program/division-by-zero", 1, 7},
                    BadLine{"G0 X[1 MOD 0]", "program/division-by-zero", 1, 8},
                    BadLine{"G0 X[1+2", "program/expression", 1, 5},
                    BadLine{"G0 X[1 2]", "program/expression", 1, 8},
                    BadLine{"G0 XSQRT[-1]", "program/expression", 1, 5},
                    BadLine{"G0 XATAN[1]", "program/expression", 1, 12},
                    BadLine{"G0 X[10**400]", "program/expression", 1, 8},
                    BadLine{"G0 X[WORD[1]]", "program/no-number", 1, 6},
                    BadLine{"#6000=1", "program/parameter", 1, 2},
                    BadLine{"#0=1", "program/parameter", 1, 2},
                    BadLine{"#1.5=1", "program/parameter", 1, 2},
                    BadLine{"#<>=1", "program/parameter", 1, 2},
                    BadLine{"#1", "program/parameter", 1, 1},
                    BadLine{"G0 X" + std::string(65, '[') + "1" + std::string(65, ']'),
                            "program/expression", 1, 69},
                    BadLine{"G0 X" + std::string(65, '#') + "1", "program/expression", 1, 70}));

TEST(Lexer, AcceptsEveryWayToWriteANumber) {
    for (const auto& [text, value_mm] :
         std::vector<std::pair<std::string, double>>{{".5", 0.5},
                                                     {"-.07", -0.07},
                                                     {"5.", 5.0},
                                                     {"+0.5", 0.5},
                                                     {"007", 7.0},
                                                     {"-0", 0.0},
                                                     {"1.2345678901234567", 1.2345678901234567}}) {
        const ReadResult result = read_text("G1 F100 X" + text);
        ASSERT_TRUE(result.errors.empty()) << text;
        EXPECT_EQ(result.commands.at(0).target_m[0], value_mm / 1000.0) << text;
    }
}

TEST(Lexer, ReadsPositionsAsTheNearestDoubleOfTheDecimal) {
    // 16 decimals go the long way, their shortened forms the short way; both must round as the
    // compiler does.
    EXPECT_EQ(read_text("G0 X0.1000000000000000").commands.at(0).target_m[0], 0.1 / 1000.0);
    EXPECT_EQ(read_text("G0 X123456.789012345678").commands.at(0).target_m[0],
              123456.789012345678 / 1000.0);
    EXPECT_EQ(read_text("G0 X0.3").commands.at(0).target_m[0], 0.3 / 1000.0);
}

TEST(Lexer, ChecksumMayBePrecededByBlanksAndFollowedByAComment) {
    // 'N' ^ '3' ^ ' ' ^ 'G' ^ '0' ^ ' ' ^ 'X' ^ '1' = 0x4E^0x33^0x20^0x47^0x30^0x20^0x58^0x31 = 99
    for (const char* text :
         {"N3 G0 X1*99", "  N3 G0 X1*99", "N3 G0 X1*99 ; note", "N3 G0 X1*99 (note)"}) {
        const ReadResult result = read_text(text);
        EXPECT_TRUE(result.errors.empty())
            << text << to_line(result.errors.empty() ? Diagnostic{} : result.errors[0]);
        EXPECT_EQ(result.commands.size(), 1U) << text;
    }
}

TEST(Lexer, ArithmeticWithoutBracketsMultipliesBeforeItAdds) {
    const ReadResult result = read_text("#10=2\n#6=5\n#7=3\nG0 X40.5*#10+#6 Y10+#6*#7-#10 Z8/#10");
    ASSERT_TRUE(result.errors.empty());
    EXPECT_NEAR(mm(result.commands.at(0).target_m[0]), 86.0, kRounding_mm);
    EXPECT_NEAR(mm(result.commands.at(0).target_m[1]), 23.0, kRounding_mm);
    EXPECT_NEAR(mm(result.commands.at(0).target_m[2]), 4.0, kRounding_mm);
    EXPECT_EQ(find_spot(result, SpotKind::bare_arithmetic)->count, 3U);
}

TEST(Lexer, ExpressionsFollowTheStandardsPrecedence) {
    const std::vector<std::pair<std::string, double>> cases = {
        {"[2+3*4]", 14.0},   {"[2*3**2]", 18.0},  {"[10-4-3]", 3.0},  {"[2**3**2]", 64.0},
        {"[7 mod 4]", 3.0},  {"[-1 MOD 4]", 3.0}, {"-[3]", -3.0},     {"FIX[-2.8]", -3.0},
        {"fup[-2.8]", -2.0}, {"ROUND[2.5]", 3.0}, {"ABS[-4]", 4.0},   {"ATAN[1]/[1]", 45.0},
        {"SIN[30]", 0.5},    {"[1 AND 0]", 0.0},  {"[1 XOR 0]", 1.0}, {"[0 OR 2]", 1.0},
        {"SQRT[16]", 4.0},   {"EXP[0]", 1.0},     {"LN[1]", 0.0},     {"[[1+2]*[3-1]]", 6.0},
        {"ACOS[0]", 90.0},   {"ASIN[1]", 90.0},   {"TAN[45]", 1.0},   {"COS[60]", 0.5}};
    for (const auto& [text, value] : cases) {
        const ReadResult result = read_text("G0 X" + text);
        ASSERT_TRUE(result.errors.empty()) << text;
        constexpr double kLibrary_mm =
            1e-12;  // sin, cos and atan2 are good to about one unit in the last place
        EXPECT_NEAR(mm(result.commands.at(0).target_m[0]), value, kLibrary_mm) << text;
    }
}

TEST(Lexer, ParametersCountFromTheNextLineAndMayPointToEachOther) {
    const ReadResult result = read_text("#1=5 #2=1\n#1=7 G0 X#1\nG0 X##2 Y-#1");
    ASSERT_TRUE(result.errors.empty());
    EXPECT_NEAR(mm(result.commands.at(0).target_m[0]), 5.0, kRounding_mm);
    EXPECT_NEAR(mm(result.commands.at(1).target_m[0]), 7.0, kRounding_mm);
    EXPECT_NEAR(mm(result.commands.at(1).target_m[1]), -7.0, kRounding_mm);
}

TEST(Lexer, UnsetParameterIsZeroAndNoted) {
    const ReadResult result = read_text("G0 X[5*#9]");
    EXPECT_TRUE(result.errors.empty());
    EXPECT_NE(find_spot(result, SpotKind::unset_parameter), nullptr);
}

TEST(Lexer, CarelessLinesAreReadAndNotedWithTheirLine) {
    const std::vector<std::pair<std::string, SpotKind>> cases = {
        {"N10 21 G40", SpotKind::number_without_letter},
        {"MO6", SpotKind::letter_o_for_zero},
        {"GO X1", SpotKind::letter_o_for_zero},
        {"G0 Y 490", SpotKind::space_in_word},
        {"...", SpotKind::punctuation_only},
        {"G0 X1 )", SpotKind::unbalanced_parenthesis},
        {"G0 X1 (a (b) c)", SpotKind::nested_comment},
        {"M0 \"turn the part\"", SpotKind::text_after_word},
        {"M0 turn the part", SpotKind::text_after_word},
        {"M0 open the door", SpotKind::text_after_word},
        {"G90 G90", SpotKind::repeated_word},
        {"G0 X1 Q5", SpotKind::unused_word},
        {"M7305 G1 X5", SpotKind::skipped_motion},
        {"/G0 X5", SpotKind::block_deleted}};
    for (const auto& [text, kind] : cases) {
        const ReadResult result = read_text("G21\n" + text + "\n");
        EXPECT_TRUE(result.errors.empty()) << text;
        const Spot* const spot = find_spot(result, kind);
        ASSERT_NE(spot, nullptr) << text;
        EXPECT_EQ(spot->count, 1U) << text;
        EXPECT_EQ(spot->first_line, 2U) << text;
        EXPECT_EQ(spot->sample, text);
    }
}

TEST(Lexer, SpacedWordMovesWhereTheUnspacedOneDoes) {
    EXPECT_EQ(read_text("G0 Y 490").commands.at(0).target_m,
              read_text("G0 Y490").commands.at(0).target_m);
}

TEST(Lexer, AnUnknownMWordMayMoveWhereAxesWithValuesStandBesideIt) {
    for (const auto& [line, may_move] : {std::pair{"M7310 X30000 Y30000", true},
                                         {"M7314 E#4", true},
                                         {"M7314.25 X80", true},
                                         {"M7312 P2 Z[3+1]", true},
                                         {"M7301 S30000", false},
                                         {"M7305 P1 S255", false},
                                         {"M7302 Next", false},
                                         {"M7308 S200 ; X1", false}}) {
        const ReadResult result = read_text(std::string(line) + "\n");
        ASSERT_TRUE(result.errors.empty()) << line;
        ASSERT_EQ(result.notes.unknown_words.size(), 1U) << line;
        EXPECT_EQ(result.notes.unknown_words[0].may_move, may_move) << line;
    }
}

TEST(Lexer, UnknownWordsAreCountedOnceEachWithTheirFirstLine) {
    const ReadResult result = read_text(
        "M7305 S255\nG1 X1 F100\nM7305 S0\nG7096 S90\nCOOL_PART SPEED=100 X=5\n", printer());
    ASSERT_TRUE(result.errors.empty());
    ASSERT_EQ(result.notes.unknown_words.size(), 3U);
    EXPECT_EQ(result.notes.unknown_words[0].word, "M7305");
    EXPECT_EQ(result.notes.unknown_words[0].count, 2U);
    EXPECT_EQ(result.notes.unknown_words[0].first_line, 1U);
    EXPECT_FALSE(result.notes.unknown_words[0].may_move);
    EXPECT_EQ(result.notes.unknown_words[1].word, "G7096");
    EXPECT_TRUE(result.notes.unknown_words[1].may_move);
    EXPECT_EQ(result.notes.unknown_words[2].word, "COOL_PART");
    EXPECT_EQ(result.commands.size(), 1U);
}

TEST(Lexer, ArgumentsOfUnknownWordsNeverMoveTheMachine) {
    for (const char* text : {"M7309 T3", "M7313 X Y E", "M7302 Printing...", "X10 Y10 G7005 Z3",
                             "G7029 X1 Y2", "MOVE X=10"}) {
        const ReadResult result = read_text(std::string("G0\n") + text, printer());
        EXPECT_TRUE(result.errors.empty()) << text;
        EXPECT_TRUE(result.commands.empty()) << text;
        EXPECT_EQ(result.notes.unknown_words.size(), 1U) << text;
    }
}

TEST(Lexer, AnUnknownWordBesideAMotionWordTakesNoneOfItsWords) {
    for (const char* text : {"G1 G7041 X5 F600 D3", "G7041 G1 D3 X5 F600", "G1 X5 G7041 F600 D3 P2",
                             "G1 M7341 S3 X5 F600", "G1 X5 F600 M7341 \"text\""}) {
        const ReadResult result = read_text(text, printer());
        EXPECT_TRUE(result.errors.empty()) << text;
        ASSERT_EQ(result.commands.size(), 1U) << text;
        EXPECT_NEAR(mm(result.commands[0].target_m[0]), 5.0, kRounding_mm) << text;
        EXPECT_DOUBLE_EQ(result.commands[0].feed_m_s, 0.01) << text;
        ASSERT_EQ(result.notes.unknown_words.size(), 1U) << text;
        EXPECT_EQ(
            result.notes.unknown_words[0].may_move,
            text[1] == '1' ? std::string_view(text).find('M') == std::string_view::npos : true)
            << text;
    }
}

TEST(Lexer, AnIgnoredWordNeverSilencesTheMotionOnItsLine) {
    ProgramSettings settings;
    settings.words = {{"M7341", {WordEffect::ignore}},
                      {"G7041", {WordEffect::ignore}},
                      {"M7342", {WordEffect::wait}},
                      {"M7343", {WordEffect::set_acceleration, "S"}}};
    for (const char* text : {"M7341 G1 X5 F600", "G1 M7341 P3 X5 F600", "G7041 Q2 G1 X5 F600",
                             "G1 G7041 X5 F600", "G1 M7342 X5 F600", "G1 F600 M7343 S100 X5"}) {
        const ReadResult result = read_text(text, settings);
        EXPECT_TRUE(result.errors.empty()) << text;
        ASSERT_FALSE(result.commands.empty()) << text;
        EXPECT_NEAR(mm(result.commands.back().target_m[0]), 5.0, kRounding_mm) << text;
        EXPECT_DOUBLE_EQ(result.commands.back().feed_m_s, 0.01) << text;
        EXPECT_TRUE(result.notes.unknown_words.empty()) << text;
        EXPECT_TRUE(result.notes.spots.empty()) << text;
    }
    EXPECT_TRUE(read_text("G0\nM7341 X5\nG7041 X6\n", settings).commands.empty());
}

TEST(Lexer, ErrorsThatMayComeOfASkippedWordNameIt) {
    for (const char* text : {"G7012 X1 Y1\nX2 Y2", "G0 X1\nF100 G7012 X5\nG2 X3 Y0 I2"}) {
        const ReadResult result = read_text(text);
        ASSERT_EQ(result.errors.size(), 1U) << text;
        EXPECT_NE(result.errors[0].hint.find("G7012 at line"), std::string::npos)
            << to_line(result.errors[0]);
    }
    EXPECT_EQ(read_text("X2 Y2").errors.at(0).hint, "");
}

TEST(Lexer, WhatIsNotSimulatedIsRefusedWithItsPlace) {
    for (const auto& [text, column] : {std::pair{"G0 G16 X5 Y30", 4U},
                                       {"G51 X2", 1U},
                                       {"G33 Z5 K1", 1U},
                                       {"G33.1 Z5 K1", 1U},
                                       {"G76 Z5 P1", 1U},
                                       {"G1 @5 ^30", 4U},
                                       {"G1 ^30", 4U},
                                       {"G50 X5", 1U}}) {
        const ReadResult result = read_text(text);
        ASSERT_EQ(result.errors.size(), 1U) << text;
        EXPECT_EQ(result.errors[0].id, "program/not-simulated") << text;
        EXPECT_EQ(result.errors[0].place.column, column) << text;
        EXPECT_TRUE(result.commands.empty()) << text;
    }
    EXPECT_TRUE(read_text("G15 G50 G0 X5").errors.empty());
}

TEST(Lexer, DistinctUnknownWordsAreKeptWithinABound) {
    std::string text;
    for (int i = 0; i < 3000; ++i) {
        text += "M" + std::to_string(1000 + i) + "\n";
    }
    const ReadResult result = read_text(text);
    EXPECT_EQ(result.notes.unknown_words.size(), kMaxUnknownWords);
    EXPECT_EQ(result.notes.further_words, 2000U);
}

TEST(Lexer, ErrorsAreKeptWithinABoundButAllCounted) {
    std::string text;
    for (int i = 0; i < 1000; ++i) {
        text += "G1 X--1\n";
    }
    const ReadResult result = read_text(text);
    EXPECT_EQ(result.errors.size(), kMaxErrorsPerId);
    EXPECT_EQ(result.notes.errors, 1000U);
}

TEST(Lexer, EGluedToANumberIsAWordOnlyWhereTheMachineHasE) {
    const ReadResult compact = read_text("G1X1E5F100", printer());
    ASSERT_TRUE(compact.errors.empty());
    EXPECT_NEAR(mm(compact.commands.at(0).target_m[3]), 5.0, kRounding_mm);
    EXPECT_EQ(read_text("G1 X1E5 F100").errors.at(0).id, "program/exponent");
    EXPECT_NE(find_spot(read_text("G1 X1E5 F100", printer()), SpotKind::glued_e), nullptr);
}

}  // namespace
}  // namespace planner::test
