// What every view says of the change to make first, for each outcome of checking it again.
#include "stepper_sim/report/change.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "stepper_sim/report/json.hpp"
#include "stepper_sim/report/markdown.hpp"
#include "stepper_sim/report/page.hpp"
#include "stepper_sim/report/text.hpp"

namespace {

using namespace stepper_sim;

Finding torque_of_y() {
    Finding finding;
    finding.check = "torque";
    finding.grade = Grade::fault;
    finding.motor = 'Y';
    finding.message = "motor Y: not enough torque";
    finding.changes = {{{{{'Y', SettingKey::max_acceleration, 4.03}, 6.0}}},
                       {{{{'Y', SettingKey::microsteps, 8.0}, 16.0},
                         {{'Y', SettingKey::steps_per_mm, 4e4}, 8e4}}}};
    return finding;
}

Report with(Cure cure) {
    Report report;
    report.verdict = Verdict::fault;
    report.findings = {torque_of_y()};
    report.change_first = unverified_change(report.findings);
    report.change_first.cure = cure;
    return report;
}

/// Every view of the report.
std::vector<std::string> views(const Report& report) {
    return {to_text(report, false), to_markdown(report), to_json(report), to_page(report, {})};
}

TEST(Change, EveryViewShowsTheSameOneAndThatItWasCheckedAgain) {
    for (const std::string& view : views(with(Cure::cures))) {
        EXPECT_NE(view.find("4030 mm/s"), std::string::npos) << view;
        EXPECT_NE(view.find("checked again with it: clear"), std::string::npos) << view;
    }
}

TEST(Change, WhatItLeavesIsNamed) {
    Report report = with(Cure::cures);
    Finding left = torque_of_y();
    left.check = "travel";
    left.motor = 'Z';
    report.change_first.left = {left, left};
    EXPECT_EQ(change_first_said(report),
              "checked again with it: torque of Y is gone; still fault for travel of Z");
}

TEST(Change, EveryViewSaysThatItWasNotCheckedAgain) {
    for (const std::string& view : views(with(Cure::not_checked)))
        EXPECT_NE(view.find("not checked again"), std::string::npos) << view;
}

TEST(Change, WhereNoneCuresEveryViewSaysSoAndProposesNothing) {
    Report report = with(Cure::none_cures);
    report.change_first.tried = 2;
    report.change_first.change = {};
    for (const Change& change : report.findings[0].changes)
        report.change_first.refuted.push_back({"torque", 'Y', change});
    for (std::string view : views(report)) {
        std::replace(view.begin(), view.end(), '\n', ' ');
        EXPECT_NE(view.find("No single change was found that cures this"), std::string::npos)
            << view;
        EXPECT_EQ(view.find("4030 mm/s"), std::string::npos) << view;
    }
}

TEST(Change, OfASettingNobodySoughtTheSizeOfItIsOnlyToldWhatToLower) {
    Report report = with(Cure::not_checked);
    report.findings[0].changes.clear();
    report.findings[0].lower = SettingKey::max_speed;
    report.change_first = unverified_change(report.findings);
    EXPECT_EQ(report.change_first.cure, Cure::not_checked);
    EXPECT_NE(to_text(report, false).find("lower axes.y.settings.max_speed"), std::string::npos);
    EXPECT_NE(to_page(report, {}).find("lower Y top speed"), std::string::npos);
}

TEST(Change, JsonHoldsItAsNumbersInSi) {
    const auto first = nlohmann::json::parse(to_json(with(Cure::cures))).at("change_first");
    EXPECT_EQ(first.at("cure"), "cures");
    EXPECT_EQ(first.at("verdict_with_it"), "clear");
    EXPECT_EQ(first.at("settings").at(0).at("key"), "max_acceleration");
    EXPECT_EQ(first.at("settings").at(0).at("value"), 4.03);
    EXPECT_EQ(first.at("settings").at(0).at("now"), 6.0);
    EXPECT_TRUE(nlohmann::json::parse(to_json(Report())).at("change_first").is_null());
}

TEST(Change, TheNextProposalIsShownWhereTheFirstIsRefuted) {
    Report report = with(Cure::none_cures);
    report.change_first.refuted.push_back({"torque", 'Y', report.findings[0].changes[0]});
    EXPECT_NE(to_text(report, false).find("-> axes.y.microsteps = 8"), std::string::npos);
    EXPECT_NE(to_text(report, false).find("-> axes.y.settings.steps_per_mm = 40"),
              std::string::npos);
}

}  // namespace
