#include "stepper_sim/report/part_ranking_text.hpp"

#include <fmt/core.h>

#include <set>
#include <string_view>
#include <vector>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/json_text.hpp"
#include "stepper_sim/report/layout.hpp"

namespace stepper_sim::report {

namespace {

constexpr std::size_t kShown = 12, kMotorColumns = 24, kDriverColumns = 12;

std::string drivers_of(const limits::RankedPart& part) {
    const std::string first = planner::printable(part.drivers.front(), kDriverColumns);
    return part.drivers.size() == 1 ? first : fmt::format("{} +{}", first, part.drivers.size() - 1);
}

std::vector<std::string> row(const limits::PartRanking& ranking, std::size_t i) {
    const limits::RankedPart& part = ranking.parts[i];
    const std::string name = (part.present ? "as it is, " : "") + part.motor;
    return {planner::printable(fmt::format("{} {}", i + 1, name), kMotorColumns),
            drivers_of(part),
            planner::format_number(part.current_rms_A, 3),
            planner::format_number(1e3 * part.speed_m_s, 3),
            planner::format_number(1e3 * part.acceleration_m_s2, 3),
            planner::format_duration(part.duration_s),
            fmt::format("{:+.1f} %", 100.0 * (part.duration_s / ranking.present_s - 1.0))};
}

std::string left_out(const limits::PartRanking& ranking, char axis) {
    std::string out;
    const auto say = [&](int count, const std::string& what) {
        if (count > 0) out += fmt::format("{}{} {}", out.empty() ? "" : ", ", count, what);
    };
    if (ranking.frame != 0)
        say(ranking.other_frames,
            fmt::format("motors of another flange than {:.1f} in, and of the pairs",
                        0.1 * ranking.frame));
    say(ranking.rating_broken, "that would break a rating");
    say(ranking.too_weak, fmt::format("too weak to move {} with the margin", axis));
    return out.empty() ? "" : "left out: " + out;
}

}  // namespace

std::string part_ranking_text(const limits::PartRanking& ranking, char axis, double margin) {
    const std::string what = ranking.stroke_m > 0.0
                                 ? "a stroke of " + check::words::mm(ranking.stroke_m)
                                 : std::string("the programs");
    std::string out =
        "\n" +
        wrapped(fmt::format("Parts of the catalogue that fit axis {}, by the time of {} with the "
                            "speed and acceleration that torque and step rate leave, less {:.0f} %",
                            axis, what, 100.0 * margin),
                0, 0);
    std::vector<std::vector<std::string>> rows{
        {"motor", "driver", "A RMS", "mm/s", "mm/s^2", "time", "change"}};
    std::set<std::string_view> seen;
    for (std::size_t i = 0; i < ranking.parts.size(); ++i) {
        const limits::RankedPart& part = ranking.parts[i];
        const bool told = seen.size() < kShown && seen.insert(part.motor).second;
        if (told || part.present) rows.push_back(row(ranking, i));
    }
    out += table(rows);
    out += fmt::format("each motor with its best driver; {} pairs in all, --json has every one\n",
                       ranking.parts.size());
    out += fmt::format("now: {} with the settings as they are\n",
                       planner::format_duration(ranking.present_s));
    if (const std::string left = left_out(ranking, axis); !left.empty()) out += wrapped(left, 2, 0);
    return out + wrapped(
                     "driver +N: N other drivers make no difference. Resonance is not looked "
                     "at, nor is a heavier motor that moves along: put the parts into a copy "
                     "of the machine file and ask 'stepper_sim limits' before buying",
                     0, 0);
}

nlohmann::ordered_json part_ranking_json(const limits::PartRanking& ranking) {
    Json parts = Json::array();
    for (const limits::RankedPart& part : ranking.parts)
        parts.push_back({{"motor", part.motor},
                         {"drivers", part.drivers},
                         {"present", part.present},
                         {"current_rms_A", part.current_rms_A},
                         {"max_speed_m_s", part.speed_m_s},
                         {"max_acceleration_m_s2", part.acceleration_m_s2},
                         {"duration_s", part.duration_s}});
    Json out{{"present_duration_s", ranking.present_s},
             {"other_flanges", ranking.other_frames},
             {"rating_broken", ranking.rating_broken},
             {"too_weak", ranking.too_weak},
             {"parts", parts}};
    if (ranking.stroke_m > 0.0) out["stroke_m"] = ranking.stroke_m;
    return out;
}

}  // namespace stepper_sim::report
