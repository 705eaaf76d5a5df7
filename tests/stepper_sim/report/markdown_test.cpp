#include "stepper_sim/report/markdown.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>

namespace {

using namespace stepper_sim;

check::Report sample() {
    check::Report report;
    report.verdict = check::Verdict::fault;
    report.machine_name = "bench | <img src=x> *bold* [link](x) `code`";
    check::SettingsSummary y;
    y.letter = 'Y';
    y.max_acceleration_m_s2 = 6.0;
    report.settings.push_back(y);
    report.motors.emplace_back();
    check::Finding finding;
    finding.check = "torque";
    finding.grade = check::Grade::fault;
    finding.message = "motor Y: not enough torque";
    finding.changes.push_back({{{{'Y', machine::SettingKey::max_acceleration, 4.03}, 6.0}}});
    report.findings.push_back(finding);
    report.change_first = check::unverified_change(report.findings);
    return report;
}

TEST(Markdown, LeadsWithTheVerdictAndTheChange) {
    const std::string text = report::to_markdown(sample());
    EXPECT_TRUE(text.starts_with("## fault: it will not work as it is\n")) << text;
    EXPECT_NE(
        text.find("    axes.y.settings.max_acceleration = \"4030 mm/s^2\"   # now 6000 mm/s^2\n"),
        std::string::npos);
}

TEST(Markdown, EveryRowOfTheTableHasAsManyCellsAsItsHead) {
    const std::string text = report::to_markdown(sample());
    std::size_t bars = 0;
    for (std::size_t at = 0, end; (end = text.find('\n', at)) != std::string::npos; at = end + 1) {
        const std::string line = text.substr(at, end - at);
        if (!line.starts_with("|")) continue;
        const auto here = static_cast<std::size_t>(std::count(line.begin(), line.end(), '|'));
        if (bars == 0) bars = here;
        EXPECT_EQ(here, bars) << line;
    }
    EXPECT_GT(bars, 2U);
}

RC_GTEST_PROP(Markdown, NoTextFromAFileIsMarkup, (const std::string& text)) {
    const std::string out = report::markdown_text(text);
    RC_ASSERT(out.find('<') == std::string::npos);
    RC_ASSERT(out.find('\n') == std::string::npos);
    for (std::size_t i = 0; i < out.size(); ++i) {
        if (out[i] == '\\') {
            ++i;
        } else {
            RC_ASSERT(std::string_view("`*_[]|#>!").find(out[i]) == std::string_view::npos);
        }
    }
}

}  // namespace
