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

check::Finding torque_of_y() {
    check::Finding finding;
    finding.check = "torque";
    finding.grade = check::Grade::fault;
    finding.motor = 'Y';
    finding.message = "motor Y: not enough torque";
    finding.changes = {{{{{'Y', machine::SettingKey::max_acceleration, 4.03}, 6.0}}},
                       {{{{'Y', machine::SettingKey::microsteps, 8.0}, 16.0},
                         {{'Y', machine::SettingKey::steps_per_mm, 4e4}, 8e4}}}};
    return finding;
}

check::Report with(check::Cure cure) {
    check::Report report;
    report.verdict = check::Verdict::fault;
    report.findings = {torque_of_y()};
    report.change_first = check::unverified_change(report.findings);
    report.change_first.cure = cure;
    return report;
}

/// Every view of the report.
std::vector<std::string> views(const check::Report& report) {
    return {report::to_text(report, false), report::to_markdown(report), report::to_json(report),
            report::to_page(report, {})};
}

TEST(Change, EveryViewShowsTheSameOneAndThatItWasCheckedAgain) {
    for (const std::string& view : views(with(check::Cure::cures))) {
        EXPECT_NE(view.find("4030 mm/s"), std::string::npos) << view;
        EXPECT_NE(view.find("checked again with it: clear"), std::string::npos) << view;
    }
}

TEST(Change, WhatItLeavesIsNamed) {
    check::Report report = with(check::Cure::cures);
    check::Finding left = torque_of_y();
    left.check = "travel";
    left.motor = 'Z';
    report.change_first.left = {left, left};
    EXPECT_EQ(report::change_first_said(report),
              "checked again with it: torque of Y is gone; still fault for travel of Z");
}

TEST(Change, EveryViewSaysThatItWasNotCheckedAgain) {
    for (const std::string& view : views(with(check::Cure::not_checked)))
        EXPECT_NE(view.find("not checked again"), std::string::npos) << view;
}

TEST(Change, WhereNoneCuresEveryViewSaysSoAndProposesNothing) {
    check::Report report = with(check::Cure::none_cures);
    report.change_first.tried = 2;
    report.change_first.change = {};
    for (const check::Change& change : report.findings[0].changes)
        report.change_first.refuted.push_back({"torque", 'Y', change});
    for (std::string view : views(report)) {
        std::replace(view.begin(), view.end(), '\n', ' ');
        EXPECT_NE(view.find("No single change was found that cures this"), std::string::npos)
            << view;
        EXPECT_EQ(view.find("4030 mm/s"), std::string::npos) << view;
    }
}

TEST(Change, OfASettingNobodySoughtTheSizeOfItIsOnlyToldWhatToLower) {
    check::Report report = with(check::Cure::not_checked);
    report.findings[0].changes.clear();
    report.findings[0].lower = machine::SettingKey::max_speed;
    report.change_first = check::unverified_change(report.findings);
    EXPECT_EQ(report.change_first.cure, check::Cure::not_checked);
    EXPECT_NE(report::to_text(report, false).find("lower axes.y.settings.max_speed"),
              std::string::npos);
    EXPECT_NE(report::to_page(report, {}).find("lower Y top speed"), std::string::npos);
}

TEST(Change, JsonHoldsItAsNumbersInSi) {
    const auto first =
        nlohmann::json::parse(report::to_json(with(check::Cure::cures))).at("change_first");
    EXPECT_EQ(first.at("cure"), "cures");
    EXPECT_EQ(first.at("verdict_with_it"), "clear");
    EXPECT_EQ(first.at("settings").at(0).at("key"), "max_acceleration");
    EXPECT_EQ(first.at("settings").at(0).at("value"), 4.03);
    EXPECT_EQ(first.at("settings").at(0).at("now"), 6.0);
    EXPECT_TRUE(
        nlohmann::json::parse(report::to_json(check::Report())).at("change_first").is_null());
}

TEST(Change, TheNextProposalIsShownWhereTheFirstIsRefuted) {
    check::Report report = with(check::Cure::none_cures);
    report.change_first.refuted.push_back({"torque", 'Y', report.findings[0].changes[0]});
    EXPECT_NE(report::to_text(report, false).find("-> axes.y.microsteps = 8"), std::string::npos);
    EXPECT_NE(report::to_text(report, false).find("-> axes.y.settings.steps_per_mm = 40"),
              std::string::npos);
}

}  // namespace
