#include "stepper_sim/report/rates_text.hpp"

#include <fmt/core.h>

#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/json_text.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/report/text.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::report {

std::string rates_text(const std::vector<RateRow>& rows, bool crossed) {
    std::vector<std::vector<std::string>> lines{{"axis", "speed", "step rate", "driver",
                                                 "controller", "tick", "pulse limit",
                                                 "limited by"}};
    for (const RateRow& row : rows)
        lines.push_back(
            {std::string(1, row.axis.letter), check::words::mm_s(row.speed_m_s),
             check::words::rate(row.rate_hz), check::words::rate(row.ceilings.driver_hz),
             check::words::rate(row.ceilings.controller_hz),
             check::words::rate(row.ceilings.tick_hz), check::words::mm_s(row.highest_m_s),
             std::string(run::to_word(row.ceilings.binding()))});
    std::string out = table(lines);
    for (const RateRow& row : rows)
        if (row.rate_hz > row.ceilings.lowest_hz())
            out += fmt::format("{}: {} is too fast for the {}\n", row.axis.letter,
                               check::words::mm_s(row.speed_m_s),
                               run::to_word(row.ceilings.binding()));
    if (crossed)
        out += wrapped(
            "X and Y: speed along the belt; a move along both at once adds their speeds on one "
            "motor.",
            0, 0);
    return out;
}

std::string rates_json(const std::vector<RateRow>& rows, const machine::Machine& machine) {
    Json out{{"schema", "stepper_sim.rates.1"},
             {"version", kVersion},
             {"machine", {{"name", machine.name}, {"file", machine.file}}}};
    for (const RateRow& row : rows)
        out["axes"][planner::axis_key(row.axis.letter)] = {
            {"speed_m_s", row.speed_m_s},
            {"step_rate_hz", row.rate_hz},
            {"driver_ceiling_hz", row.ceilings.driver_hz},
            {"controller_ceiling_hz", row.ceilings.controller_hz},
            {"tick_ceiling_hz", row.ceilings.tick_hz},
            {"highest_speed_m_s", row.highest_m_s},
            {"binds", run::to_word(row.ceilings.binding())},
            {"holds", row.rate_hz <= row.ceilings.lowest_hz()}};
    return json_text(out);
}

}  // namespace stepper_sim::report
