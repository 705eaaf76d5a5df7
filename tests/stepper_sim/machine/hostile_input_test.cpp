// Input that is no machine file: every one must end in a value or in short one-line diagnostics,
// soon.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "tests/stepper_sim/machine/machine_texts.hpp"

namespace stepper_sim::machine::test {
namespace {

// Large enough for anything quadratic to be noticed.
constexpr std::size_t kLarge_bytes = std::size_t{256} << 10U;

std::string repeated(std::string_view piece, std::size_t size = kLarge_bytes) {
    std::string text;
    text.reserve(size);
    while (text.size() + piece.size() <= size)
        text += piece;
    return text;
}

void expect_refused(const std::string& text) {
    const auto result = read_text(text);
    EXPECT_FALSE(result);
    EXPECT_LE(result.diagnostics().size(), 100U);
    for (const std::string& line : lines_of(result))
        EXPECT_LE(line.size(), 300U);
}

TEST(HostileInput, DeepNestingIsRefused) {
    expect_refused("a = " + repeated("["));
    expect_refused("a = " + repeated("{ a = "));
    expect_refused(repeated("a.") + "a = 1");
    expect_refused(repeated("\"a\".") + "a = 1");
    expect_refused("[" + repeated("a.") + "a]");
    expect_refused("a = " + repeated(repeated("a.", 50) + "a = {"));
}

TEST(HostileInput, DotsInCommentsAndTextAreNotNesting) {
    const std::string dots(200, '.');
    EXPECT_TRUE(read_text("# " + dots + "\n" + std::string(kFullMachine)));
    EXPECT_TRUE(read_text(with("made up", dots)));
    EXPECT_TRUE(read_text(with("\"made up\"", "'''\n" + dots + "\n'''")));
    EXPECT_EQ(faults_of("a = 1\n" + dots + "a = 2").substr(0, 12), "m.toml:2:32:");
}

TEST(HostileInput, QuotesThatNeverCloseDoNotTakeLong) {
    expect_refused("\"" + repeated("\\\""));
    expect_refused(repeated("\"\"\""));
    expect_refused("'" + repeated("\""));
    expect_refused("a = \"" + repeated("x"));
}

TEST(HostileInput, ManyMistakesAreCutOffAtAHundred) {
    std::string text;
    for (int i = 0; i < 20000; ++i)
        text += "key_" + std::to_string(i) + " = 1\n";
    expect_refused(text);
    expect_refused(with("[1, 2, 4, 8, 16, 32]", "[" + repeated("0,", 100000) + "]"));
    expect_refused(std::string(kFullMachine) + repeated("[[axes.x.modes]]\n", 100000));
}

TEST(HostileInput, BytesThatAreNoTextAreRefused) {
    expect_refused(std::string(1000, '\0'));
    expect_refused("name = \"\xc3\x28\"");
    expect_refused(
        "\xff\xfe"
        "n\0a\0");
    EXPECT_FALSE(read_text(""));
    EXPECT_FALSE(read_text(with("Bench plotter", "\\u0007")));
}

TEST(HostileInput, ByteOrderMarkAndDosLineEndsAreAccepted) {
    EXPECT_TRUE(read_text("\xef\xbb\xbf" + std::string(kFullMachine)));
    std::string dos;
    for (const char c :
         std::string(kFullMachine))  // not over the view itself: axis_set.hpp says why
        dos += c == '\n' ? std::string("\r\n") : std::string(1, c);
    EXPECT_TRUE(read_text(dos)) << faults_of(dos);
}

TEST(HostileInput, LettersOutsideAsciiNeedQuotes) {
    EXPECT_EQ(faults_of("a = 1\nb = 5 \u00B5m\n"),
              "m.toml:2:7: found 'b = 5 \u00B5m', expected letters outside ASCII only in quotes");
    EXPECT_EQ(faults_of("a = \"\"\"x\\\n \u00B5\"\"\"").substr(0, 12), "m.toml:2:2: ");
    EXPECT_TRUE(read_text(with("made up", "\u00B5 and \u2126, \U0001F527")));
    EXPECT_TRUE(
        read_text(with("\"made up\" }", "\"\"\"\u00B5 \\\n  x \\\" \"q\"\"\"\" }  # \u00B5")));
    EXPECT_TRUE(read_text(with("\"made up\" }", "\'\'\'\u00B5 \\ \'q\'\'\'\' }  # \u00B5")));
}

TEST(HostileInput, FoundByFuzzing) {
    expect_refused(with("= 16", "= ]"));
    expect_refused(with("= 16", "= ,"));
    expect_refused(with("controller]", "controll\u0396"));
    expect_refused("A=3X='3X.\xc6\xbb/'3 L");
    expect_refused(std::string(kFullMachine) + "\nx = 4\"\xcc\x83\"\n");
    expect_refused(with("Bench plotter", std::string("Bench\0plotter", 13)));
    expect_refused(
        std::string("45=5P\0\0\0\00057='3=5=5P\0=\0\0\0\xc5\xafP\0\0\0\0=''5P\0\0+", 39));
}

RC_GTEST_PROP(HostileInput, AnyDamageGivesAValueOrShortDiagnostics, ()) {
    std::string text(kFullMachine);
    const int damages = *rc::gen::inRange(1, 6);
    for (int i = 0; i < damages; ++i) {
        const auto at = *rc::gen::inRange<std::size_t>(0, text.size());
        const auto length = *rc::gen::inRange<std::size_t>(0, 12);
        const auto from = *rc::gen::inRange<std::size_t>(0, text.size());
        const std::string insert = *rc::gen::element<std::string>(
            "", "\"", "[", "]", "{", "}", "=", ".", "\n", "#", "-", "1e309", "nan", "\xff",
            "1979-05-27", text.substr(from, length));
        text.replace(at, *rc::gen::element<std::size_t>(0, 1, length), insert);
    }
    const auto result = read_text(text);
    RC_ASSERT(static_cast<bool>(result) == result.diagnostics().empty());
    for (const std::string& line : lines_of(result)) {
        RC_ASSERT(line.size() <= 300U);
        RC_ASSERT(line.find('\n') == std::string::npos);
    }
}

}  // namespace
}  // namespace stepper_sim::machine::test
