#include "stepper_sim/report/corners_text.hpp"
#include "stepper_sim/report/escape.hpp"
#include "stepper_sim/report/page_html.hpp"

namespace stepper_sim::report::page_html {

std::string corners(const limits::CornerQuality* quality, const check::Report& report) {
    if (quality == nullptr) return {};
    std::string body;
    for (CornerTable& corners : corner_tables(*quality, report.program.files)) {
        for (auto& row : corners.rows)
            for (std::string& cell : row)
                cell = html_text(cell);
        body += table(corners.caption, corners.rows);
    }
    return section("corners", "Quality at corners", corners_reading(*quality), body);
}

}  // namespace stepper_sim::report::page_html
