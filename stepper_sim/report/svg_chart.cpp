#include "stepper_sim/report/svg_chart.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "planner/units/units_text.hpp"
#include "stepper_sim/report/escape.hpp"
#include "stepper_sim/report/palette.hpp"

namespace stepper_sim::report {

namespace {

constexpr double kLeft = 72, kTop = 40, kWidth = 640, kHeight = 320;  // of the plotting area
constexpr double kBelow = 48, kEntryHeight = 20, kRight = 20;

double share(const ChartAxis& axis, double value) {
    const double part = axis.logarithmic ? std::log(std::max(value, axis.from) / axis.from) /
                                               std::log(axis.to / axis.from)
                                         : (value - axis.from) / (axis.to - axis.from);
    return std::clamp(part, 0.0, 1.0);
}

/// Values that get a grid line and a number.
std::vector<double> ticks(const ChartAxis& axis) {
    std::vector<double> out;
    if (axis.logarithmic) {
        for (double v = std::pow(10.0, std::ceil(std::log10(axis.from) - 1e-9));
             v <= axis.to * 1.0001; v *= 10.0)
            out.push_back(v);
        return out;
    }
    const double step = tick_step(axis.to - axis.from);
    for (double i = std::ceil(axis.from / step - 1e-9); i * step <= axis.to + 1e-9 * step; ++i)
        out.push_back(i * step);
    return out;
}

}  // namespace

double tick_step(double range, double steps) {
    const double power = std::pow(10.0, std::floor(std::log10(range / steps)));
    for (const double digit : {1.0, 2.0, 5.0})
        if (digit * power * steps >= range) return digit * power;
    return 10.0 * power;
}

SvgChart::SvgChart(std::string_view title, const ChartAxis& x, const ChartAxis& y)
    : x_(x), y_(y), title_(title) {
    for (const double value : ticks(x_)) {
        const double at = this->x(value);
        body_ += fmt::format(
            "<path class=\"grid\" d=\"M{0:.1f} {1}V{2}\"/><text x=\"{0:.1f}\" y=\"{3}\" "
            "text-anchor=\"middle\">{4}</text>\n",
            at, kTop, kTop + kHeight, kTop + kHeight + 18, planner::format_number(value));
    }
    for (const double value : ticks(y_)) {
        const double at = this->y(value);
        body_ += fmt::format(
            "<path class=\"grid\" d=\"M{0} {1:.1f}H{2}\"/><text x=\"{3}\" y=\"{4:.1f}\" "
            "text-anchor=\"end\">{5}</text>\n",
            kLeft, at, kLeft + kWidth, kLeft - 8, at + 4, planner::format_number(value));
    }
    body_ += fmt::format(
        "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">{}</text>\n<text transform=\"translate(18 "
        "{}) rotate(-90)\" text-anchor=\"middle\">{}</text>\n",
        kLeft + kWidth / 2, kTop + kHeight + 38, html_text(x_.label), kTop + kHeight / 2,
        html_text(y_.label));
}

double SvgChart::x(double value) const {
    return kLeft + kWidth * share(x_, value);
}

double SvgChart::y(double value) const {
    return kTop + kHeight * (1.0 - share(y_, value));
}

std::string SvgChart::path(std::span<const ChartPoint> points) const {
    std::string out;
    char command = 'M';
    for (const auto& [px, py] : points) {
        out += fmt::format("{}{:.1f} {:.1f}", command, x(px), y(py));
        command = 'L';
    }
    return out;
}

void SvgChart::line(std::span<const ChartPoint> points, std::string_view colour, bool dashed,
                    double width) {
    body_ += fmt::format("<path d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"{}/>\n",
                         path(points), colour, width, dashed ? " stroke-dasharray=\"6 4\"" : "");
}

void SvgChart::area(std::span<const ChartPoint> outline, std::string_view colour) {
    body_ +=
        fmt::format("<path d=\"{}Z\" fill=\"{}\" fill-opacity=\"0.18\"/>\n", path(outline), colour);
}

void SvgChart::bar(double from_x, double to_x, double from_y, double to_y,
                   std::string_view colour) {
    body_ += fmt::format(
        "<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" fill=\"{}\"/>\n",
        x(from_x), y(to_y), std::max(1.0, x(to_x) - x(from_x)), std::max(1.0, y(from_y) - y(to_y)),
        colour);
}

void SvgChart::ring(double at_x, double at_y) {
    body_ += fmt::format(
        "<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"7\" fill=\"none\" stroke=\"{}\" "
        "stroke-width=\"2\"/>\n",
        x(at_x), y(at_y), light("ink"));
}

void SvgChart::ceiling(double at_y, std::string_view name) {
    body_ += fmt::format(
        "<path d=\"M{0} {1:.1f}H{2}\" fill=\"none\" stroke=\"{3}\" stroke-dasharray=\"6 4\"/><text "
        "x=\"{2}\" y=\"{4:.1f}\" text-anchor=\"end\">{5}</text>\n",
        kLeft, y(at_y), kLeft + kWidth, light("fault"), y(at_y) - 4, html_text(name));
}

void SvgChart::legend(std::string_view name, std::string_view colour, bool dashed) {
    const double at = kTop + kHeight + kBelow + 10 + kEntryHeight * entries_++;
    legend_ += fmt::format(
        "<path d=\"M{} {}h28\" stroke=\"{}\" stroke-width=\"3\"{}/><text x=\"{}\" "
        "y=\"{}\">{}</text>\n",
        kLeft, at, colour, dashed ? " stroke-dasharray=\"6 4\"" : "", kLeft + 36, at + 4,
        html_text(name));
}

std::string SvgChart::finish() const {
    return fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0} {1}\" role=\"img\" "
        "aria-label=\"{2}\">\n<style>text{{font:13px sans-serif;fill:{3}}}.title{{font:bold 15px "
        "sans-serif}}.grid{{stroke:{4};fill:none}}</style>\n<rect width=\"100%\" height=\"100%\" "
        "fill=\"#fff\"/>\n<text class=\"title\" x=\"{5}\" y=\"24\">{2}</text>\n{6}{7}</svg>\n",
        kLeft + kWidth + kRight, kTop + kHeight + kBelow + 20 + kEntryHeight * entries_,
        html_text(title_), light("ink"), light("line"), kLeft, body_, legend_);
}

}  // namespace stepper_sim::report
