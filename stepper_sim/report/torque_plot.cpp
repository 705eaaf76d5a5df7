#include "stepper_sim/report/torque_plot.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <string_view>

#include "planner/units/units_text.hpp"

namespace stepper_sim::report {

namespace {

constexpr double kLeft = 70, kTop = 20, kWidth = 620,
                 kHeight = 340;          // of the plotting area, in SVG units
constexpr int kSamples = 240;            // points of a curve
constexpr std::size_t kMaxCloud = 4000;  // points of the cloud that are drawn
// Okabe and Ito's palette, distinguishable with any common colour blindness (from memory).
constexpr std::array<std::string_view, kPlotCandidates> kColours = {
    "#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9"};

struct Scale {
    double speed_m_s, torque_Nm;  // at the far ends of the axes

    double x(double speed) const { return kLeft + kWidth * std::min(1.0, speed / speed_m_s); }
    double y(double torque) const {
        return kTop + kHeight * (1.0 - std::min(1.0, torque / torque_Nm));
    }
};

struct Curve {
    std::vector<double> speed, low, nominal, high;
    double base_m_s = 0.0;
};

Curve sample(const limits::Candidate& candidate, double top_speed_m_s) {
    const machine::Axis& axis = candidate.axis;
    const double radius_m = axis.drive.travel_per_turn().value() / (2.0 * std::numbers::pi);
    const motor::AvailableTorque available = motor::available_torque(axis);
    Curve curve;
    curve.base_m_s = candidate.base_speed_m_s;
    for (int i = 0; i <= kSamples; ++i) {
        const double speed = top_speed_m_s * i / kSamples;
        const motor::TorqueBand band =
            available.at(planner::from_si<planner::AngularSpeed>(speed / radius_m));
        if (band.beyond_curve) break;
        curve.speed.push_back(speed);
        curve.low.push_back(band.low.value());
        curve.nominal.push_back(band.nominal.value());
        curve.high.push_back(band.high.value());
    }
    return curve;
}

std::string escaped(std::string_view text) {
    std::string out;
    for (const char c : planner::printable(text)) {
        if (c == '<') {
            out += "&lt;";
        } else if (c == '>') {
            out += "&gt;";
        } else if (c == '&') {
            out += "&amp;";
        } else {
            out += c;
        }
    }
    return out;
}

/// 1, 2 or 5 times a power of ten, so that about five steps make `range`.
double tick_step(double range) {
    const double power = std::pow(10.0, std::floor(std::log10(range / 5.0)));
    for (const double digit : {1.0, 2.0, 5.0}) {
        if (digit * power * 5.0 >= range) return digit * power;
    }
    return 10.0 * power;
}

std::string axes(const Scale& scale) {
    std::string out;
    const double speed_mm_s = 1000.0 * scale.speed_m_s;
    for (double v = 0.0; v <= speed_mm_s * 1.0001; v += tick_step(speed_mm_s)) {
        const double x = scale.x(v / 1000.0);
        out += fmt::format(
            "<path class=\"grid\" d=\"M{:.1f} {} V{}\"/><text x=\"{:.1f}\" y=\"{}\" "
            "text-anchor=\"middle\">{}</text>\n",
            x, kTop, kTop + kHeight, x, kTop + kHeight + 18, planner::format_number(v));
    }
    for (double t = 0.0; t <= scale.torque_Nm * 1.0001; t += tick_step(scale.torque_Nm)) {
        const double y = scale.y(t);
        out += fmt::format(
            "<path class=\"grid\" d=\"M{} {:.1f} H{}\"/><text x=\"{}\" y=\"{:.1f}\" "
            "text-anchor=\"end\">{}</text>\n",
            kLeft, y, kLeft + kWidth, kLeft - 8, y + 4, planner::format_number(t));
    }
    out += fmt::format(
        "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">speed of belt or nut, mm/s (bands low to "
        "high, lines nominal, dashed above the base speed)</text>\n",
        kLeft + kWidth / 2, kTop + kHeight + 40);
    out += fmt::format(
        "<text transform=\"translate(18 {}) rotate(-90)\" text-anchor=\"middle\">torque at the "
        "motor shaft, N m</text>\n",
        kTop + kHeight / 2);
    return out;
}

std::string line(const Scale& scale, const Curve& curve, bool below_base, std::string_view colour) {
    std::string points;
    for (std::size_t i = 0; i < curve.speed.size(); ++i) {
        const bool below = curve.speed[i] <= curve.base_m_s;
        const bool joint =
            !below && i > 0 && curve.speed[i - 1] <= curve.base_m_s;  // both parts meet here
        if (below != below_base && !(joint && below_base)) continue;
        points += fmt::format("{:.1f},{:.1f} ", scale.x(curve.speed[i]), scale.y(curve.nominal[i]));
    }
    if (points.empty()) return {};
    return fmt::format(
        "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"2\"{}/>\n", points,
        colour, below_base ? "" : " stroke-dasharray=\"6 4\"");
}

std::string band(const Scale& scale, const Curve& curve, std::string_view colour) {
    std::string points;
    for (std::size_t i = 0; i < curve.speed.size(); ++i)
        points += fmt::format("{:.1f},{:.1f} ", scale.x(curve.speed[i]), scale.y(curve.high[i]));
    for (std::size_t i = curve.speed.size(); i-- > 0;)
        points += fmt::format("{:.1f},{:.1f} ", scale.x(curve.speed[i]), scale.y(curve.low[i]));
    return fmt::format("<polygon points=\"{}\" fill=\"{}\" fill-opacity=\"0.15\"/>\n", points,
                       colour) +
           line(scale, curve, true, colour) + line(scale, curve, false, colour);
}

std::string cloud(const Scale& scale, std::span<const limits::AskedPoint> asked) {
    std::string out;
    const std::size_t stride = asked.size() / kMaxCloud + 1;
    for (std::size_t i = 0; i < asked.size(); i += stride) {
        out += fmt::format(R"(<circle cx="{:.1f}" cy="{:.1f}" r="1.5"/>)",
                           scale.x(asked[i].speed_m_s), scale.y(asked[i].torque_Nm));
    }
    return out + "\n";
}

std::string legend(std::span<const limits::Candidate> candidates, bool any_asked) {
    std::string out;
    double y = kTop + kHeight + 66;
    for (std::size_t i = 0; i < candidates.size(); ++i, y += 20) {
        out += fmt::format(
            "<rect x=\"{}\" y=\"{}\" width=\"24\" height=\"10\" fill=\"{}\"/><text x=\"{}\" "
            "y=\"{}\">{}</text>\n",
            kLeft, y - 9, kColours[i], kLeft + 32, y, escaped(candidates[i].label));
    }
    if (any_asked)
        out += fmt::format(
            "<circle cx=\"{}\" cy=\"{}\" r=\"3\"/><text x=\"{}\" y=\"{}\">asked by the "
            "program of the motor as it is</text>\n",
            kLeft + 12, y - 4, kLeft + 32, y);
    return out;
}

}  // namespace

std::string torque_plot_svg(std::span<const limits::Candidate> candidates,
                            std::span<const limits::AskedPoint> asked, double top_speed_m_s) {
    const auto shown = candidates.first(std::min(candidates.size(), kPlotCandidates));
    std::vector<Curve> curves;
    double most_Nm = 1e-3;  // keeps an empty plot's axis finite
    for (const limits::Candidate& candidate : shown) {
        curves.push_back(sample(candidate, top_speed_m_s));
        for (const double high : curves.back().high)
            most_Nm = std::max(most_Nm, high);
    }
    for (const limits::AskedPoint& point : asked)
        most_Nm = std::max(most_Nm, point.torque_Nm);
    const Scale scale{top_speed_m_s, 1.05 * most_Nm};
    const double height = kTop + kHeight + 70 + 20.0 * static_cast<double>(shown.size() + 1);
    std::string svg = fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" role=\"img\" "
        "aria-label=\"Torque available and asked over speed\">\n"
        "<style>text{{font:13px "
        "sans-serif;fill:#222}}.grid{{stroke:#ddd;fill:none}}circle{{fill:#222}}</style>\n"
        "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n",
        kLeft + kWidth + 30, height);
    svg += axes(scale);
    for (std::size_t i = 0; i < curves.size(); ++i)
        svg += band(scale, curves[i], kColours[i]);
    svg += cloud(scale, asked) + legend(shown, !asked.empty());
    return svg + "</svg>\n";
}

}  // namespace stepper_sim::report
