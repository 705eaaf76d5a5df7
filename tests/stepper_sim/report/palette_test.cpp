#include "stepper_sim/report/palette.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

namespace {

using namespace stepper_sim;

constexpr double kRounding = 1e-9, kTwoDecimals = 0.005;  // half a unit of the last

// W3C, Web Content Accessibility Guidelines 2.1, criteria 1.4.3 and 1.4.11 (from memory).
constexpr double kTextContrast = 4.5, kGraphicContrast = 3.0;

const report::Colour& named(std::string_view name) {
    for (const report::Colour& colour : report::kPalette)
        if (colour.name == name) return colour;
    ADD_FAILURE() << name;
    return report::kPalette[0];
}

void expect_contrast(std::string_view front, std::string_view back, double least) {
    EXPECT_GE(report::contrast(named(front).light, named(back).light), least)
        << front << " on " << back;
    EXPECT_GE(report::contrast(named(front).dark, named(back).dark), least)
        << front << " on " << back << ", dark";
}

TEST(Palette, BlackOnWhiteHasTheLargestContrast) {
    EXPECT_NEAR(report::contrast("#000000", "#ffffff"), 21.0, kRounding);
    EXPECT_NEAR(report::contrast("#777777", "#777777"), 1.0, kRounding);
    // A grey often cited as the lightest that passes on white: 4.54 (from memory).
    EXPECT_NEAR(report::contrast("#767676", "#ffffff"), 4.54, kTwoDecimals);
}

TEST(Palette, TextCanBeReadOnEverythingItStandsOn) {
    for (const char* text : {"ink", "faint", "link", "fault", "risk", "clear", "note"})
        for (const char* back : {"ground", "sheet"})
            expect_contrast(text, back, kTextContrast);
    for (const char* grade : {"fault", "risk", "clear"}) {
        const std::string wash = std::string(grade) + "-wash";
        expect_contrast(grade, wash, kTextContrast);
        expect_contrast("ink", wash, kTextContrast);
    }
    for (const char* mark : {"fault", "risk", "note"})
        expect_contrast("sheet", mark, kTextContrast);
}

TEST(Palette, CurvesStandOutFromTheSheet) {
    for (const char* curve :
         {"motor-0", "motor-1", "motor-2", "motor-3", "motor-4", "motor-5", "link"})
        expect_contrast(curve, "sheet", kGraphicContrast);
    // From "half used" on the map must be seen without looking for it.
    for (const char* heat : {"heat-2", "heat-3", "pace-1"})
        expect_contrast(heat, "sheet", kGraphicContrast);
}

/// Lightness as seen with a missing kind of cone changes little, so the scale must rise in lightness.
TEST(Palette, TheScaleOfTheMapRisesAwayFromTheSheet) {
    for (int i = 0; i < 3; ++i) {
        const report::Colour& calm = named("heat-" + std::to_string(i));
        const report::Colour& hot = named("heat-" + std::to_string(i + 1));
        EXPECT_GT(report::contrast(hot.light, named("sheet").light),
                  1.3 * report::contrast(calm.light, named("sheet").light));
        EXPECT_GT(report::contrast(hot.dark, named("sheet").dark),
                  1.3 * report::contrast(calm.dark, named("sheet").dark));
    }
}

TEST(Palette, CssHasEveryColourOnceForEachSurrounding) {
    const std::string css = report::palette_css();
    for (const report::Colour& colour : report::kPalette) {
        const std::string name = "--" + std::string(colour.name) + ":";
        EXPECT_NE(css.find(name + std::string(colour.light)), std::string::npos);
        EXPECT_NE(css.find(name + std::string(colour.dark)), std::string::npos);
    }
}

}  // namespace
