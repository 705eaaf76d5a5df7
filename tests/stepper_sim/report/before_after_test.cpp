#include "stepper_sim/report/before_after.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace stepper_sim::report {
namespace {

check::Report report_of(double speed_m_s, check::Verdict verdict) {
    check::Report report;
    report.verdict = verdict;
    report.machine_file = "one.toml";
    report.has_program = true;
    report.program.duration_s = 10.0 / speed_m_s;
    check::SettingsSummary settings;
    settings.letter = 'X';
    settings.max_speed_m_s = speed_m_s;
    report.settings = {settings};
    check::MotorSummary motor;
    motor.letter = 'X';
    motor.torque_use_peak = 0.25;
    report.motors = {motor};
    return report;
}

check::Finding finding(const char* name, check::Grade grade, char motor) {
    check::Finding finding;
    finding.check = name;
    finding.grade = grade;
    finding.motor = motor;
    finding.message = std::string("motor ") + motor + ": " + name;
    return finding;
}

std::string after_of(const std::vector<Difference>& all, const std::string& what) {
    const auto found = std::ranges::find(all, what, &Difference::what);
    return found == all.end() ? "" : found->after;
}

TEST(BeforeAfter, TellsWhatDiffersAndNothingElse) {
    const check::Report before = report_of(0.1, check::Verdict::clear);
    const check::Report after = report_of(0.2, check::Verdict::thin);
    const std::vector<Difference> all = differences({before, after});
    EXPECT_EQ(after_of(all, "verdict"), "thin");
    EXPECT_EQ(after_of(all, "time"), "50 s");
    EXPECT_EQ(after_of(all, "X max_speed"), "200 mm/s");
    EXPECT_EQ(all.size(), 3U);
}

TEST(BeforeAfter, AnAxisThatOneLacksIsADash) {
    const check::Report before = report_of(0.1, check::Verdict::clear);
    check::Report after = before;
    after.settings.clear();
    after.motors.clear();
    const std::vector<Difference> all = differences({before, after});
    EXPECT_EQ(after_of(all, "X max_speed"), "-");
    EXPECT_EQ(after_of(all, "X torque used"), "-");
}

TEST(BeforeAfter, FindingsOfBothAreNeitherGoneNorNew) {
    check::Report before = report_of(0.1, check::Verdict::thin), after = before;
    before.findings = {finding("torque", check::Grade::risk, 'X'),
                       finding("travel", check::Grade::risk, 'X')};
    after.findings = {finding("torque", check::Grade::risk, 'X'),
                      finding("torque", check::Grade::risk, 'Y'),
                      finding("travel", check::Grade::fault, 'X')};
    EXPECT_EQ(findings_gone({before, after}), (std::vector<std::string>{"risk: motor X: travel"}));
    EXPECT_EQ(findings_new({before, after}),
              (std::vector<std::string>{"risk: motor Y: torque", "fault: motor X: travel"}));
}

}  // namespace
}  // namespace stepper_sim::report
