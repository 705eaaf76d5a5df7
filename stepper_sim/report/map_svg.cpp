#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <limits>

#include "planner/units/units_text.hpp"
#include "stepper_sim/report/escape.hpp"
#include "stepper_sim/report/palette.hpp"
#include "stepper_sim/report/pictures.hpp"

namespace stepper_sim::report {

namespace {

constexpr double kEdge = 40, kWidth = 720, kMostHeight = 600;  // of the picture, in SVG units

struct Heat {
    double from;
    std::string_view colour, name;
    double width;
};
// Classes instead of a slide: they print, and can be named.
constexpr std::array kHeats{
    Heat{0.0, "heat-0", "below 50 %", 1.0}, Heat{0.5, "heat-1", "50 to 85 %", 1.6},
    Heat{0.85, "heat-2", "85 to 100 %", 2.6}, Heat{1.0, "heat-3", "100 % and more", 4.0}};

double badness(const picture::MapPiece& piece) {
    return static_cast<double>(std::max(piece.torque_use, piece.modal_ratio));
}

std::uint16_t worst_level(const picture::PathMap& map) {
    const auto worst = std::max_element(map.pieces.begin(), map.pieces.end(),
                                        [](const picture::MapPiece& a, const picture::MapPiece& b) {
                                            return badness(a) < badness(b);
                                        });
    return worst == map.pieces.end() ? std::uint16_t{0} : worst->level;
}

/// The height to show: that of the first finding with a place, else the one with the worst moment.
std::uint16_t shown_level(const picture::RecordedProgram& program) {
    const picture::PathMap& map = program.recording.map;
    for (std::size_t i = 0; i < program.findings.size(); ++i) {
        const picture::FoundPlace& place = program.recording.places[i];
        if (!place.known || program.findings[i].grade == check::Grade::note) continue;
        const auto nearest = std::min_element(
            map.levels_m.begin(), map.levels_m.end(),
            [&](double a, double b) { return std::abs(a - place.z_m) < std::abs(b - place.z_m); });
        return static_cast<std::uint16_t>(nearest - map.levels_m.begin());
    }
    return worst_level(map);
}

struct Box {
    double left = std::numeric_limits<double>::infinity(), low = left, right = -left, high = -left;

    void take(float x, float y) {
        left = std::min(left, static_cast<double>(x));
        right = std::max(right, static_cast<double>(x));
        low = std::min(low, static_cast<double>(y));
        high = std::max(high, static_cast<double>(y));
    }
};

}  // namespace

std::string map_svg(const picture::RecordedProgram& program) {
    const picture::PathMap& map = program.recording.map;
    const std::uint16_t level = shown_level(program);
    Box box;
    for (const picture::MapPiece& piece : map.pieces)
        if (piece.work && piece.level == level) {
            box.take(piece.x0_m, piece.y0_m);
            box.take(piece.x1_m, piece.y1_m);
        }
    if (!(box.left <= box.right)) box.take(0.0F, 0.0F);
    const double wide_m = std::max(1e-3, box.right - box.left);
    const double deep_m = std::max(1e-3, box.high - box.low);
    const double scale = std::min((kWidth - 2 * kEdge) / wide_m, kMostHeight / deep_m);
    const double height = deep_m * scale + 2 * kEdge;
    const auto x = [&](double at) { return kEdge + (at - box.left) * scale; };
    const auto y = [&](double at) { return kEdge + (box.high - at) * scale; };

    std::string body;
    for (std::size_t h = 0; h < kHeats.size(); ++h) {
        const double to =
            h + 1 < kHeats.size() ? kHeats[h + 1].from : std::numeric_limits<double>::infinity();
        std::string path;
        for (const picture::MapPiece& piece : map.pieces)
            if (piece.work && piece.level == level && badness(piece) >= kHeats[h].from &&
                badness(piece) < to)
                path += fmt::format(
                    "M{:.1f} {:.1f}L{:.1f} {:.1f}", x(static_cast<double>(piece.x0_m)),
                    y(static_cast<double>(piece.y0_m)), x(static_cast<double>(piece.x1_m)),
                    y(static_cast<double>(piece.y1_m)));
        const double key_y = height + 20 + 20 * static_cast<double>(h);
        body += fmt::format(
            "<g stroke=\"{0}\" stroke-width=\"{1}\" fill=\"none\" stroke-linecap=\"round\"><path "
            "d=\"{2}\"/><path d=\"M{3} {4}h28\"/></g><text x=\"{5}\" y=\"{6}\">{7} of what the "
            "low torque figure allows</text>\n",
            light(kHeats[h].colour), kHeats[h].width, path, kEdge, key_y, kEdge + 36, key_y + 4,
            kHeats[h].name);
    }
    for (std::size_t i = 0; i < program.findings.size(); ++i) {
        const picture::FoundPlace& place = program.recording.places[i];
        if (!place.known || program.findings[i].grade == check::Grade::note) continue;
        body += fmt::format(
            "<circle cx=\"{0:.1f}\" cy=\"{1:.1f}\" r=\"12\" fill=\"none\" stroke=\"{2}\" "
            "stroke-width=\"3\"/><text x=\"{0:.1f}\" y=\"{3:.1f}\" text-anchor=\"middle\">line "
            "{4}</text>\n",
            x(place.x_m), y(place.y_m), light("fault"), y(place.y_m) - 18,
            program.findings[i].line);
    }
    const std::string title = html_text(fmt::format(
        "{} from above, at height {} mm",
        std::filesystem::path(program.recording.file).filename().string(),
        planner::format_number(map.levels_m.empty() ? 0.0 : 1e3 * map.levels_m[level], 4)));
    return fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0} {1:.0f}\" role=\"img\" "
        "aria-label=\"{2}\">\n<style>text{{font:13px sans-serif;fill:{3}}}</style>\n<rect "
        "width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n<text x=\"{4}\" y=\"20\" "
        "font-weight=\"bold\">{2}</text>\n{5}</svg>\n",
        kWidth, height + 30 + 20 * static_cast<double>(kHeats.size()), title, light("ink"), kEdge,
        body);
}

}  // namespace stepper_sim::report
