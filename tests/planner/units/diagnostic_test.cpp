#include "planner/units/diagnostic.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace planner {
namespace {

TEST(Diagnostic, LineShowsPlaceFoundExpectedAndHint) {
    const Diagnostic diagnostic{"units/unknown-unit",
                                {"machine.toml", 3, 7},
                                "12 parsecs",
                                "a length such as \"8 mm\"",
                                "units known here: mm, cm"};
    EXPECT_EQ(to_line(diagnostic),
              "machine.toml:3:7: found '12 parsecs', expected a length such as \"8 mm\"; units "
              "known here: mm, cm");
}

TEST(Diagnostic, LineLeavesOutWhatIsUnknown) {
    EXPECT_EQ(to_line({"id", {"a.toml", 4, 0}, "", "a key 'drive'", ""}),
              "a.toml:4: found nothing, expected a key 'drive'");
    EXPECT_EQ(to_line({"id", {"a.toml", 0, 0}, "x", "y", ""}), "a.toml: found 'x', expected y");
    EXPECT_EQ(to_line({"id", {}, "x", "", ""}), "found 'x'");
    EXPECT_EQ(to_line({"id", {"", 2, 5}, "x", "", ""}), "line 2:5: found 'x'");
}

TEST(Diagnostic, LongFileNameKeepsItsEnd) {
    const std::string line =
        to_line({"id", {std::string(500, 'd') + "/end.toml", 1, 1}, "x", "y", ""});
    EXPECT_NE(line.find("/end.toml:1:1: found 'x'"), std::string::npos) << line;
}

TEST(Printable, ControlAndBrokenBytesBecomeQuestionMarks) {
    EXPECT_EQ(printable("a\nb\tc\x1b[31m\x7f"), "a?b?c?[31m?");
    EXPECT_EQ(printable("\xff\xc0\xaf"), "???");           // never legal bytes
    EXPECT_EQ(printable("\xe2\x82"), "??");                // cut short
    EXPECT_EQ(printable("\xed\xa0\x80"), "???");           // a surrogate
    EXPECT_EQ(printable("\xc2\x85 \xe2\x80\xae"), "? ?");  // C1 control, text direction override
    EXPECT_EQ(printable(std::string_view("a\0b", 3)), "a?b");
}

TEST(Printable, LegalUnicodeIsKept) {
    EXPECT_EQ(printable("5 \u00B5m \u2126 \U0001F527"), "5 \u00B5m \u2126 \U0001F527");
}

TEST(Printable, LongTextIsCutBetweenCharacters) {
    EXPECT_EQ(printable("abcdefgh", 8), "abcdefgh");
    EXPECT_EQ(printable("abcdefghi", 8), "abcde...");
    EXPECT_EQ(printable("\u00B5\u00B5\u00B5\u00B5\u00B5", 8), "\u00B5\u00B5...");
    EXPECT_EQ(printable("abcdef", 2), "..");
}

RC_GTEST_PROP(Printable, NeverExceedsItsLimitNorHoldsControlBytes, (const std::string& text)) {
    const auto limit = *rc::gen::inRange<std::size_t>(0, 80);
    const std::string result = printable(text, limit);
    RC_ASSERT(result.size() <= limit);
    for (const char c : result) {
        RC_ASSERT(static_cast<unsigned char>(c) >= 0x20);
    }
    RC_ASSERT(printable(result, limit) == result);
}

RC_GTEST_PROP(Diagnostic, LineIsOneShortLine,
              (const std::string& file, const std::string& found, const std::string& hint)) {
    const std::string line = to_line({"id", {file, 1, 1}, found, std::string(200, 'e'), hint});
    RC_ASSERT(line.size() <= 300U);
    RC_ASSERT(line.find('\n') == std::string::npos);
}

TEST(Result, HoldsAValueExactlyWhenThereAreNoDiagnostics) {
    const Result<int> good(3);
    EXPECT_TRUE(good);
    EXPECT_EQ(good.value(), 3);
    EXPECT_TRUE(good.diagnostics().empty());
    const Result<int> bad(Diagnostic{"id", {}, "x", "y", ""});
    EXPECT_FALSE(bad);
    EXPECT_EQ(bad.diagnostics().size(), 1U);
}

}  // namespace
}  // namespace planner
