#include "stepper_sim/report/torque_table.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <vector>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/layout.hpp"

namespace stepper_sim::report {

namespace {

using Rows = std::vector<std::vector<std::string>>;

constexpr std::size_t kLabel = 23;  // columns of the first column that leave room for the others
constexpr double kLeastShown = -9.99;

std::string rank(std::span<const limits::Candidate> candidates,
                 const limits::Candidate& candidate) {
    return std::to_string(&candidate - candidates.data() + 1);
}

/// Rank and label without what part files have in common; the notes below the tables have it whole.
std::string label_of(std::span<const limits::Candidate> candidates,
                     const limits::Candidate& candidate) {
    std::string text = candidate.label;
    for (const std::string_view common : {"motors/", "drivers/", ".toml"})
        for (std::size_t at = text.find(common); at != std::string::npos; at = text.find(common))
            text.erase(at, common.size());
    return planner::printable(rank(candidates, candidate) + " " + text, kLabel);
}

std::string number(double value) {
    return planner::format_number(value, 3);
}

std::string left(double margin) {
    return margin < kLeastShown ? "< -999 %" : fmt::format("{:.0f} %", 100.0 * margin);
}

std::string speed_ranges(std::span<const limits::Candidate> candidates, double margin) {
    Rows rows{{"candidate", "base speed", "top speed", "on nominal", "limited by"}};
    for (const limits::Candidate& c : candidates)
        rows.push_back({label_of(candidates, c), check::words::mm_s(c.base_speed_m_s),
                        check::words::mm_s(c.top_speed_m_s),
                        check::words::mm_s(c.top_speed_nominal_m_s),
                        std::string(run::to_word(c.binds))});
    return table(rows) +
           wrapped(fmt::format("base speed: above it the supply limits the current; top speed: "
                               "{:.0f} % of the low torque is left over up to there and "
                               "every step-rate ceiling holds; on nominal: the same on the nominal "
                               "torque",
                               100.0 * margin),
                   0, 0);
}

std::string at_speed(std::span<const limits::Candidate> candidates, std::size_t index) {
    Rows rows{{"candidate", "asked", "available", "low", "nominal", "high"}};
    std::string past, bound;
    const auto add = [&](std::string& list, const limits::Candidate& c) {
        list += (list.empty() ? "" : ", ") + rank(candidates, c);
    };
    for (const limits::Candidate& c : candidates) {
        const limits::SpeedPoint& p = c.points[index];
        if (p.beyond_curve) {
            rows.push_back(
                {label_of(candidates, c), number(p.asked_Nm), "past the curve", "-", "-", "-"});
            add(past, c);
            continue;
        }
        rows.push_back({label_of(candidates, c), number(p.asked_Nm),
                        number(p.low_Nm) + " to " + number(p.high_Nm), left(p.margin_low),
                        left(p.margin_nominal), left(p.margin_high)});
        if (p.region == motor::Region::upper_bound) add(bound, c);
    }
    std::string out =
        fmt::format("\nAt {}: torque in N m, share left over on low, nominal and high\n",
                    check::words::mm_s(candidates.front().points[index].speed_m_s)) +
        table(rows);
    if (!past.empty())
        out += wrapped("past the end of the published curve, nothing is promised: " + past, 2, 0);
    if (!bound.empty())
        out += wrapped("over 1.5 base speeds, at best; damping may cost more: " + bound, 2, 0);
    return out;
}

std::string notes(std::span<const limits::Candidate> candidates) {
    std::string out = "\nWhat the curves rest on\n";
    for (const limits::Candidate& c : candidates)
        out += "  " + wrapped(rank(candidates, c) + " " + c.label + ": " + c.torque_basis, 4, 2);
    std::string broken;
    for (const limits::Candidate& c : candidates)
        for (const std::string& problem : c.problems)
            broken += "  " + wrapped(rank(candidates, c) + " " + c.label + ": " + problem, 4, 2);
    if (!broken.empty()) out += "\nRatings broken, listed last\n" + broken;
    return out;
}

}  // namespace

std::string torque_text(std::span<const limits::Candidate> candidates, double margin) {
    const machine::Axis& axis = candidates.front().axis;
    std::string out = fmt::format("axis {} at {}, best first\n\n", axis.letter,
                                  check::words::mm_s2(axis.settings.max_acceleration.value())) +
                      speed_ranges(candidates, margin);
    for (std::size_t i = 0; i < candidates.front().points.size(); ++i)
        out += at_speed(candidates, i);
    return out + notes(candidates);
}

const limits::AskedPoint& most_asked(std::span<const limits::AskedPoint> asked) {
    return *std::max_element(asked.begin(), asked.end(),
                             [](const limits::AskedPoint& a, const limits::AskedPoint& b) {
                                 return a.torque_Nm < b.torque_Nm;
                             });
}

std::string asked_text(std::span<const limits::AskedPoint> asked) {
    const limits::AskedPoint& most = most_asked(asked);
    const limits::AskedPoint& fastest = *std::max_element(
        asked.begin(), asked.end(), [](const limits::AskedPoint& a, const limits::AskedPoint& b) {
            return a.speed_m_s < b.speed_m_s;
        });
    return wrapped(
        fmt::format("\nAsked by the program of the motor as it is: up to {} (at {}), up to {}",
                    check::words::torque(most.torque_Nm), check::words::mm_s(most.speed_m_s),
                    check::words::mm_s(fastest.speed_m_s)),
        0, 0);
}

}  // namespace stepper_sim::report
