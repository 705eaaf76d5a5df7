#include "stepper_sim/report/change.hpp"

#include <gtest/gtest.h>

namespace {

using namespace stepper_sim;

Report with_y_settings() {
    Report report;
    SettingsSummary y;
    y.letter = 'Y';
    y.max_acceleration_m_s2 = 6.0;
    y.current_rms_A = 1.4;
    report.settings.push_back(y);
    return report;
}

TEST(Change, ASettingIsTakenApartAndThePresentValueFound) {
    const auto changes =
        changes_of(with_y_settings(), "axes.y.settings.max_acceleration = \"4030 mm/s^2\"");
    ASSERT_EQ(changes.size(), 1U);
    EXPECT_EQ(changes[0].axis, 'Y');
    EXPECT_EQ(changes[0].key, "max_acceleration");
    EXPECT_EQ(changes[0].to, "4030 mm/s^2");
    EXPECT_EQ(changes[0].now, "6000 mm/s^2");
}

TEST(Change, SeveralSettingsAreSeveralChanges) {
    const auto changes = changes_of(
        with_y_settings(),
        "axes.x.settings.max_speed = \"90 mm/s\", axes.y.settings.speed_step = \"3 mm/s\"");
    ASSERT_EQ(changes.size(), 2U);
    EXPECT_EQ(changes[0].axis, 'X');
    EXPECT_EQ(changes[1].key, "speed_step");
    EXPECT_EQ(changes[1].line, "axes.y.settings.speed_step = \"3 mm/s\"");
}

TEST(Change, AValueThatIsATableStaysWhole) {
    const auto changes = changes_of(with_y_settings(), "axes.y.current = { rms = \"1.2 A\" }");
    ASSERT_EQ(changes.size(), 1U);
    EXPECT_EQ(changes[0].key, "current");
    EXPECT_EQ(changes[0].to, "{ rms = \"1.2 A\" }");
    EXPECT_EQ(changes[0].now, "1.4 A RMS");
}

TEST(Change, MicrostepsAreShownAsTheyAre) {
    Report report = with_y_settings();
    report.settings.front().microsteps = 17;
    EXPECT_EQ(changes_of(report, "axes.y.microsteps = 16").at(0).now, "17");
}

TEST(Change, NoChangeHasNoParts) {
    EXPECT_TRUE(changes_of(with_y_settings(), "").empty());
}

}  // namespace
