/// The picture in bench/RESULTS.md#how-good-the-torque-figures-are of how well the fitted torque figures meet the published ones: one
/// marker for every published pull-out point, published over nominal against speed in base speeds,
/// the band shaded. The picture in the repository must be what is drawn here;
/// STEPPER_SIM_WRITE_PLOT=1 writes it anew. Sources of the points: data/pull_out_curves.csv.
#include <fmt/core.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "pull_out_data.hpp"
#include "stepper_sim/motor/running_factor.hpp"

namespace stepper_sim::outside {
namespace {

// Picture units are pixels.
constexpr double kLeft = 60.0, kTop = 20.0, kWidth = 560.0, kHeight = 260.0;
constexpr double kMostCorners = 6.0, kLeastRatio = 0.4, kMostRatio = 1.4;
// Okabe and Ito's palette, told apart with every common colour blindness; the marker differs too.
constexpr std::array kColours{"#0072b2", "#d55e00", "#009e73", "#cc79a7",
                              "#e69f00", "#56b4e9", "#000000"};

double x_of(double corners) {
    return kLeft + kWidth * corners / kMostCorners;
}
double y_of(double ratio) {
    return kTop + kHeight * (kMostRatio - ratio) / (kMostRatio - kLeastRatio);
}

/// Polygons of 3 to 9 corners: motors differ in shape as well as in colour.
std::string marker(double x, double y, std::size_t motor) {
    constexpr double kRadius = 4.5, kTurn_rad = 6.283185307179586;
    std::string points;
    const std::size_t corners = motor + 3;
    for (std::size_t i = 0; i < corners; ++i) {
        const double angle = kTurn_rad * static_cast<double>(i) / static_cast<double>(corners);
        points += fmt::format("{:.1f},{:.1f} ", x + kRadius * std::sin(angle),
                              y - kRadius * std::cos(angle));
    }
    points.pop_back();
    return fmt::format("<polygon points=\"{}\" fill=\"{}\"/>\n", points, kColours[motor]);
}

std::string frame() {
    const double nominal = motor::kRunningFactor;
    std::string out = fmt::format(
        "<rect x=\"{}\" y=\"{:.1f}\" width=\"{}\" height=\"{:.1f}\" fill=\"#dfe8ef\"/>\n", kLeft,
        y_of(motor::kRunningFactorHigh / nominal), kWidth,
        y_of(motor::kRunningFactorLow / nominal) - y_of(motor::kRunningFactorHigh / nominal));
    for (const double ratio : {0.4, 0.6, 0.8, 1.0, 1.2, 1.4})
        out += fmt::format(
            "<line x1=\"{0}\" y1=\"{2:.1f}\" x2=\"{1}\" y2=\"{2:.1f}\" stroke=\"{3}\"/>"
            "<text x=\"{4}\" y=\"{5:.1f}\" text-anchor=\"end\">{6:.1f}</text>\n",
            kLeft, kLeft + kWidth, y_of(ratio), ratio == 1.0 ? "#333" : "#bbb", kLeft - 8.0,
            y_of(ratio) + 4.0, ratio);
    for (int corners = 0; corners <= static_cast<int>(kMostCorners); ++corners)
        out += fmt::format("<text x=\"{:.1f}\" y=\"{}\" text-anchor=\"middle\">{}</text>\n",
                           x_of(corners), kTop + kHeight + 18.0, corners);
    out +=
        fmt::format("<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">speed over base speed</text>\n",
                    kLeft + 0.5 * kWidth, kTop + kHeight + 38.0);
    out += fmt::format(
        "<text transform=\"translate(18 {}) rotate(-90)\" text-anchor=\"middle\">published torque "
        "over nominal</text>\n",
        kTop + 0.5 * kHeight);
    return out;
}

std::string picture() {
    std::vector<std::string> motors;
    std::string marks, legend;
    for (const CurvePoint& p : pull_out_points()) {
        auto found = std::find(motors.begin(), motors.end(), p.body);
        if (found == motors.end()) found = motors.insert(motors.end(), p.body);
        const auto motor = static_cast<std::size_t>(found - motors.begin());
        const double nominal_Nm =
            p.rounded_Nm *
            motor::RunningFactor{motor::kRunningFactor, motor::kEmfLoss}.at(p.emf_share);
        EXPECT_LT(p.corners, kMostCorners);
        EXPECT_GT(p.torque_Nm / nominal_Nm, kLeastRatio);
        marks += marker(x_of(p.corners), y_of(p.torque_Nm / nominal_Nm), motor);
    }
    for (std::size_t i = 0; i < motors.size(); ++i) {
        const double x = kLeft + 190.0 * static_cast<double>(i % 3);
        const double y = kTop + kHeight + 62.0 + 20.0 * static_cast<double>(i / 3);
        legend += marker(x, y - 4.0, i) +
                  fmt::format("<text x=\"{}\" y=\"{}\">{}</text>\n", x + 10.0, y, motors[i]);
    }
    return "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 640 400\" width=\"640\" "
           "height=\"400\" font-family=\"sans-serif\" font-size=\"12\">\n<title>Published pull-out "
           "torque over the fitted nominal</title>\n<rect width=\"640\" height=\"400\" "
           "fill=\"#fff\"/>\n" +
           frame() + marks + legend + "</svg>\n";
}

TEST(ResidualPlot, ThePictureInTheDocumentationIsCurrent) {
    const std::string path = STEPPER_SIM_OUTSIDE_DATA "/torque_residuals.svg";
    if (std::getenv("STEPPER_SIM_WRITE_PLOT") != nullptr)
        std::ofstream(path, std::ios::binary) << picture();
    std::ifstream file(path, std::ios::binary);
    std::ostringstream text;
    text << file.rdbuf();
    EXPECT_EQ(text.str(), picture());
}

}  // namespace
}  // namespace stepper_sim::outside
