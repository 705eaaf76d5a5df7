// What machines differ in, programs as people have them: the notes that name the machine-file key to set, and what is read on.
#include <gtest/gtest.h>

#include <cmath>
#include <sstream>

#include "planner/program/extrusion_watch.hpp"
#include "tests/planner/program/read_text.hpp"

namespace planner::test {
namespace {

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size()) {
        text.replace(at, from.size(), to);
    }
    return text;
}

double end_mm(const ReadResult& result, std::size_t slot) {
    return result.commands.empty() ? std::nan("") : mm(result.commands.back().target_m.at(slot));
}

/// A spiral of squares, 0.04 mm of filament per mm of path; `relative`: E words are distances.
std::string squares(bool relative, int moves = 40) {
    std::ostringstream text;
    double x = 0.0, y = 0.0, fed = 0.0;
    for (int i = 0; i < moves; ++i) {
        const double side = 20.0 + 7.0 * (i % 3);
        (i % 2 == 0 ? x : y) += i % 4 < 2 ? side : -side;
        fed += 0.04 * side;
        text << "G1 X" << x << " Y" << y << " E" << (relative ? 0.04 * side : fed) << "\n";
    }
    return "F1200\n" + text.str();
}

TEST(ExtrusionWatch, DistancesReadAsPositionsAreNoticedAndTheReverse) {
    const ReadResult as_positions = read_text(squares(true), printer());
    const Spot* spot = find_spot(as_positions, SpotKind::e_like_distances);
    ASSERT_NE(spot, nullptr);
    EXPECT_GT(spot->count, 10U);
    EXPECT_NE(spot_text(spot->kind).find("program.e_reading = \"relative\""),
              std::string_view::npos);

    const ReadResult as_distances = read_text("M7304\n" + squares(false), printer());
    spot = find_spot(as_distances, SpotKind::e_like_positions);
    ASSERT_NE(spot, nullptr);
    EXPECT_EQ(spot->first_line, 3U);
    EXPECT_NE(spot_text(spot->kind).find("program.e_reading = \"absolute\""),
              std::string_view::npos);
}

TEST(ExtrusionWatch, RightReadingsOfBothKindsAreNotNoticed) {
    for (const std::string& text : {squares(false), "M7304\n" + squares(true)}) {
        const ReadResult result = read_text(text, printer());
        EXPECT_EQ(find_spot(result, SpotKind::e_like_distances), nullptr);
        EXPECT_EQ(find_spot(result, SpotKind::e_like_positions), nullptr);
    }
}

TEST(ExtrusionWatch, LooksAtTheFirstCommandsOnly) {
    const int all = static_cast<int>(kWatched);
    EXPECT_NE(find_spot(read_text(squares(false, all - 9000) + squares(true, 9000), printer()),
                        SpotKind::e_like_distances),
              nullptr);
    EXPECT_EQ(find_spot(read_text(squares(false, all + 10) + squares(true, 9000), printer()),
                        SpotKind::e_like_distances),
              nullptr);
}

TEST(ExtrusionWatch, EqualDistancesReadAsPositionsStandStill) {
    std::string text = "F600\n";
    for (int i = 1; i < 12; ++i) {
        text += "G1 X" + std::to_string(10 * i) + " E0.5\n";
    }
    EXPECT_NE(find_spot(read_text(text, printer()), SpotKind::e_like_distances), nullptr);
    // An axis that never moves is no filament.
    EXPECT_EQ(
        find_spot(read_text(replaced(text, "E0.5", "E0"), printer()), SpotKind::e_like_distances),
        nullptr);
}

TEST(ExtrusionWatch, GrowingDistancesOnGrowingMovesAreDistances) {
    std::string text = "M7304\nG91\nF600\n";
    for (int i = 1; i < 30; ++i) {
        text +=
            "G1 X" + std::to_string(i % 2 == 0 ? i : -i) + " E" + std::to_string(0.04 * i) + "\n";
    }
    EXPECT_EQ(find_spot(read_text(text, printer()), SpotKind::e_like_positions), nullptr);
}

TEST(ExtrusionWatch, SeesTheSameHoweverTheTextIsCut) {
    const std::string text = squares(true);
    const ReadResult whole = read_text(text, printer());
    ReadResult parts;
    ProgramReader reader(printer(), "test.ngc");
    for (std::size_t at = 0; at < text.size(); at += 7) {
        reader.read(std::string_view(text).substr(at, 7), parts.commands);
    }
    reader.finish(parts.commands);
    parts.notes = reader.notes();
    const Spot* a = find_spot(whole, SpotKind::e_like_distances);
    const Spot* b = find_spot(parts, SpotKind::e_like_distances);
    ASSERT_TRUE(a != nullptr && b != nullptr);
    EXPECT_EQ(a->count, b->count);
    EXPECT_EQ(a->first_line, b->first_line);
}

double filament_mm(EReading reading, const char* text) {
    ProgramSettings settings = printer();
    settings.e_reading = reading;
    return end_mm(read_text(text, settings), 3);
}

TEST(EReading, SaysWhichWordsReachTheExtruder) {
    constexpr const char* kRelativeAxes = "F600\nG1 X1 E5\nG91\nG1 X1 E2\n";
    EXPECT_NEAR(filament_mm(EReading::as_axes, kRelativeAxes), 7.0, kRounding_mm);
    EXPECT_NEAR(filament_mm(EReading::latest, kRelativeAxes), 7.0, kRounding_mm);
    EXPECT_NEAR(filament_mm(EReading::absolute, kRelativeAxes), 2.0, kRounding_mm);
    EXPECT_NEAR(filament_mm(EReading::relative, "F600\nG1 X1 E5\nG90\nG1 X1 E2\n"), 7.0,
                kRounding_mm);
    // Its own word, then G90: only the latest of them counts, or its own for good.
    constexpr const char* kOwnThenAxes = "F600\nG1 X1 E5\nM7304\nG90\nG1 X2 E2\n";
    EXPECT_NEAR(filament_mm(EReading::latest, kOwnThenAxes), 2.0, kRounding_mm);
    for (const EReading reading : {EReading::as_axes, EReading::absolute, EReading::relative}) {
        EXPECT_NEAR(filament_mm(reading, kOwnThenAxes), 7.0, kRounding_mm);
    }
}

bool noted(const char* text, SpotKind kind, std::string_view remedy,
           const ProgramSettings& settings = printer()) {
    const ReadResult result = read_text(text, settings);
    return result.errors.empty() && find_spot(result, kind) != nullptr &&
           spot_text(kind).find(remedy) != std::string_view::npos;
}

TEST(Habits, FeedsAndDwellsThatLookOddNameTheKeyToSet) {
    EXPECT_TRUE(noted("G0 X5 F600", SpotKind::traverse_with_feed, "program.rapid = \"feed\""));
    EXPECT_TRUE(noted("G0 X5 Z-1 F600", SpotKind::plunge_at_traverse, "program.rapid = \"feed\""));
    EXPECT_TRUE(noted("G1 X5 F0.1", SpotKind::tiny_feed, "program.units"));
    EXPECT_TRUE(noted("G4 P500", SpotKind::long_dwell, "program.dwell_unit = \"ms\""));
    ProgramSettings ms = printer();
    ms.dwell_unit_s = 1e-3;
    EXPECT_TRUE(noted("G4 P2", SpotKind::short_dwell, "program.dwell_unit = \"s\"", ms));
    EXPECT_FALSE(noted("G4 P20", SpotKind::short_dwell, "", ms));
    EXPECT_FALSE(noted("G4 P0.002", SpotKind::short_dwell, ""));
    EXPECT_FALSE(noted("G1 X5 F6.1", SpotKind::tiny_feed, ""));
    ms.rapid_is_feed = true;
    for (const SpotKind kind : {SpotKind::traverse_with_feed, SpotKind::plunge_at_traverse}) {
        EXPECT_FALSE(noted("G0 X5 Z-1 F600", kind, "", ms));
    }
}

TEST(Habits, ASpindleSpeedBelowZeroRefusesNoLine) {
    const ReadResult result = read_text("G1 X5 F600 S-1\nT-1", printer());
    EXPECT_TRUE(result.errors.empty());
    EXPECT_NEAR(end_mm(result, 0), 5.0, kRounding_mm);
    EXPECT_EQ(find_spot(result, SpotKind::negative_unused)->count, 2U);
}

TEST(Habits, AxisWordsAfterG80MoveWhereTheMachineFileSaysSo) {
    constexpr const char* kText = "F600\nG1 X1\nG81 X2 Z-1 R1\nG80\nX9\n";
    const ReadResult refused = read_text(kText);
    ASSERT_EQ(refused.errors.size(), 1U);
    EXPECT_NE(to_line(refused.errors[0]).find("program.after_g80 = \"resume\""), std::string::npos);
    ProgramSettings settings;
    settings.resume_after_g80 = true;
    const ReadResult read = read_text(kText, settings);
    EXPECT_TRUE(read.errors.empty());
    EXPECT_NEAR(end_mm(read, 0), 9.0, kRounding_mm);
    EXPECT_FALSE(read.commands.back().rapid);
    EXPECT_EQ(read_text("X9", settings).errors.size(), 1U);  // nothing to bring back
}

TEST(Habits, LinesMayEndWithALoneCarriageReturnHoweverTheTextIsCut) {
    const std::string feeds = "G1 X1 F600\nX2 ; (a)\n\nY3\n";
    for (const char* end : {"\r", "\r\n"}) {
        const std::string text = replaced(feeds, "\n", end);
        for (std::size_t cut = 0; cut <= text.size(); ++cut) {
            ProgramReader reader(printer(), "test.ngc");
            std::vector<Command> commands;
            reader.read(std::string_view(text).substr(0, cut), commands);
            reader.read(std::string_view(text).substr(cut), commands);
            reader.finish(commands);
            ASSERT_TRUE(reader.errors().empty()) << to_line(reader.errors()[0]);
            ASSERT_EQ(commands.size(), 3U) << cut;
            EXPECT_EQ(commands.back().line, 4U) << cut;
            EXPECT_EQ(reader.notes().lines, 4U) << cut;
        }
    }
    EXPECT_EQ(read_text("G1 X1 F9\rX2 ;a\rX3\nX4").commands.size(), 4U);
}

TEST(Habits, TwoLeadingPercentLinesBeginTheProgramAndTheNextEndsIt) {
    const ReadResult result = read_text("%\n(name)\n%\nG0 X1\n%\nG0 X2\n");
    EXPECT_TRUE(result.errors.empty());
    EXPECT_EQ(result.commands.size(), 1U);
    EXPECT_NE(find_spot(result, SpotKind::text_after_end), nullptr);
    EXPECT_EQ(read_text("%\n%\n").errors.at(0).id, "program/empty");
}

TEST(Habits, NoBreakSpacesAreBlanks) {
    const ReadResult result = read_text(
        "\xC2\xA0G1\xC2\xA0X1 \xC2\xA0Y2\xC2\xA0"
        "F600\n\xC2\xA0\n");
    EXPECT_TRUE(result.errors.empty());
    EXPECT_NEAR(end_mm(result, 1), 2.0, kRounding_mm);
    EXPECT_EQ(read_text("G1 X1 \xC2\xA1").errors.size(), 1U);
}

TEST(NamedLines, DoWhatTheMachineFileSaysAndAreReportedOtherwise) {
    ProgramSettings settings = printer();
    settings.words["HURRY"] = {WordEffect::set_acceleration, "BY"};
    settings.words["THREAD"] = {WordEffect::relative_e};
    const ReadResult result = read_text(
        "hurry at=5 by=500\nG1 X1 E5 F600\nThread KIND=X1\nG1 X2 E5\nHUM X=3\nhum\n", settings);
    EXPECT_TRUE(result.errors.empty());
    ASSERT_EQ(result.commands.size(), 3U);
    EXPECT_EQ(result.commands[0].kind, CommandKind::set_acceleration);
    EXPECT_NEAR(result.commands[0].acceleration_m_s2, 0.5, 1e-12);
    EXPECT_NEAR(end_mm(result, 3), 10.0, kRounding_mm);
    ASSERT_EQ(result.notes.unknown_words.size(), 1U);
    EXPECT_EQ(result.notes.unknown_words[0].word, "HUM");
    EXPECT_EQ(result.notes.unknown_words[0].count, 2U);
    EXPECT_EQ(result.notes.unknown_words[0].first_line, 5U);
}

TEST(UnknownWords, CountTheLinesThatHaveAxisWordsBesideThem) {
    const ReadResult result =
        read_text("G1 X1 F600\nM7305\nM7305 S3\nX2 M7305\nM7305 Y3\nX5 G7029\nG7029.125\n");
    const auto& words = result.notes.unknown_words;
    ASSERT_EQ(words.size(), 3U);
    EXPECT_EQ(words[0].count, 4U);
    EXPECT_EQ(words[0].beside_axes, 2U);
    EXPECT_EQ(words[1].beside_axes, 1U);
    EXPECT_EQ(words[2].word, "G7029.125");
    EXPECT_EQ(words[2].beside_axes, 0U);
    ProgramSettings settings;
    settings.words["G7029.125"] = {WordEffect::ignore};
    EXPECT_TRUE(read_text("G1 X1 F600\nG7029.125\n", settings).notes.unknown_words.empty());
}

}  // namespace
}  // namespace planner::test
