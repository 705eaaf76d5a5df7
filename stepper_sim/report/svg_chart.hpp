/// A chart as a stand-alone SVG, piece by piece: axes first, then what is drawn on them. For documents and forums, so in light colours
/// on white; it has no behaviour. Text is escaped here.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <utility>

namespace stepper_sim::report {

struct ChartAxis {
    std::string_view label;
    double from = 0.0, to = 1.0;  // to > from; a logarithmic one starts above 0
    bool logarithmic = false;
};

using ChartPoint = std::pair<double, double>;  // in the axes' units

class SvgChart {
  public:
    SvgChart(std::string_view title, const ChartAxis& x, const ChartAxis& y);

    void line(std::span<const ChartPoint> points, std::string_view colour, bool dashed = false,
              double width = 1.5);
    /// The outline of an area, filled thinly.
    void area(std::span<const ChartPoint> outline, std::string_view colour);
    void bar(double from_x, double to_x, double from_y, double to_y, std::string_view colour);
    void ring(double x, double y);
    /// A dashed line across at a height, with its name.
    void ceiling(double y, std::string_view name);
    /// One more entry below the chart.
    void legend(std::string_view name, std::string_view colour, bool dashed = false);
    std::string finish() const;

  private:
    double x(double value) const;
    double y(double value) const;
    std::string path(std::span<const ChartPoint> points) const;

    ChartAxis x_, y_;
    std::string title_, body_, legend_;
    int entries_ = 0;
};

/// A standing value on an axis: 1, 2 or 5 times a power of ten, so that about `steps` of them make `range`.
double tick_step(double range, double steps = 6.0);

}  // namespace stepper_sim::report
