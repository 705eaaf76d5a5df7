#include "stepper_sim/report/test_xml.hpp"

#include <gtest/gtest.h>

namespace stepper_sim::report {
namespace {

check::PairReport judged() {
    check::Report report;
    check::Finding fault, risk;
    fault.check = "torque";
    fault.grade = check::Grade::fault;
    fault.message = "asks for more than \"all\" & then <some>";
    risk.check = "travel";
    risk.grade = check::Grade::risk;
    risk.message = "near the end";
    report.findings = {fault, risk};
    return {"bench.toml", "part.ngc", report, {}};
}

bool has(const std::string& text, const std::string& piece) {
    return text.find(piece) != std::string::npos;
}

TEST(TestXml, AFaultFailsItsCheckAndNoOther) {
    const check::PairReport pair = judged();
    const std::string xml = test_xml({&pair, 1}, false);
    EXPECT_TRUE(has(xml, "<testsuite name=\"bench.toml part.ngc\" tests=\"")) << xml;
    EXPECT_TRUE(has(xml,
                    "name=\"torque\">\n      <failure type=\"fault\" message=\"asks for more than "
                    "&quot;all&quot; &amp; then &lt;some&gt;\"/>\n    </testcase>"))
        << xml;
    EXPECT_TRUE(has(xml, "failures=\"1\" errors=\"0\"")) << xml;
    EXPECT_TRUE(has(xml, "name=\"travel\"/>")) << xml;
}

TEST(TestXml, ARiskFailsOnlyWhereThinMayNotPass) {
    const check::PairReport pair = judged();
    EXPECT_TRUE(
        has(test_xml({&pair, 1}, true), "<failure type=\"risk\" message=\"near the end\"/>"));
    EXPECT_FALSE(has(test_xml({&pair, 1}, false), "near the end"));
}

TEST(TestXml, AFindingOfNoCheckOfTheTableFailsToo) {
    check::PairReport pair = judged();
    pair.report->findings[1].check = "guesses";
    EXPECT_TRUE(has(test_xml({&pair, 1}, true), "name=\"guesses\">\n      <failure"));
}

TEST(TestXml, WhatCannotBeJudgedIsAnErrorAndNeverPasses) {
    const planner::Diagnostic wrong{
        "machine/no-file", {"gone.toml", 0, 0}, "nothing", "a file", ""};
    const check::PairReport pair{"gone.toml", "", std::nullopt, {wrong}};
    const std::string xml = test_xml({&pair, 1}, false);
    EXPECT_TRUE(has(xml, "tests=\"1\" failures=\"0\" errors=\"1\"")) << xml;
    EXPECT_TRUE(has(xml, "<error message=\"gone.toml")) << xml;
}

}  // namespace
}  // namespace stepper_sim::report
