#include "stepper_sim/report/torque_plot.hpp"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "tests/stepper_sim/motor/motor_samples.hpp"

namespace stepper_sim::report {
namespace {

std::size_t count(const std::string& text, const std::string& part) {
    std::size_t n = 0;
    for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1))
        ++n;
    return n;
}

limits::Candidate candidate(const std::string& label, double base_m_s) {
    limits::Candidate c;
    c.label = label;
    c.axis = samples::belt_axis('X', 0.5, 3.0);
    c.base_speed_m_s = base_m_s;
    return c;
}

TEST(TorquePlot, DrawsABandAndALinePerCandidateAndAPointPerDemand) {
    const std::vector<limits::Candidate> candidates = {candidate("one", 0.2),
                                                       candidate("two", 0.2)};
    const std::vector<limits::AskedPoint> asked = {{0.1, 0.05}, {0.2, 0.06}, {0.3, 0.07}};
    const std::string svg = torque_plot_svg(candidates, asked, 0.5);
    EXPECT_EQ(count(svg, "<polygon"), 2U);
    EXPECT_EQ(count(svg, "stroke-dasharray"), 2U);  // above the corner
    EXPECT_EQ(count(svg, "r=\"1.5\""), 3U);
    EXPECT_EQ(svg.find("nan"), std::string::npos);
}

TEST(TorquePlot, LabelsCannotBreakTheMarkup) {
    const std::string svg = torque_plot_svg(std::vector{candidate("<b>&\x01", 0.2)}, {}, 0.5);
    EXPECT_NE(svg.find("&lt;b&gt;&amp;?"), std::string::npos);
    EXPECT_EQ(svg.find('\x01'), std::string::npos);
}

TEST(TorquePlot, NothingToDrawIsStillAPicture) {
    const std::string svg = torque_plot_svg({}, {}, 0.5);
    EXPECT_EQ(svg.rfind("<svg", 0), 0U);
    EXPECT_NE(svg.find("</svg>"), std::string::npos);
}

TEST(TorquePlot, PublishedCurveEndsWhereItsPointsEnd) {
    limits::Candidate with_curve = candidate("curve", 0.2);
    with_curve.axis.motor = samples::motor_with_curve();  // to 90 rad/s: 0.57 m/s on this belt
    const std::string within = torque_plot_svg(std::vector{with_curve}, {}, 0.5);
    const std::string past = torque_plot_svg(std::vector{with_curve}, {}, 5.0);
    EXPECT_GT(within.size(), 2 * past.size());  // most samples lie past the end and are not drawn
}

}  // namespace
}  // namespace stepper_sim::report
