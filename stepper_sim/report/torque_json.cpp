#include "stepper_sim/report/json_text.hpp"
#include "stepper_sim/report/part_ranking_text.hpp"
#include "stepper_sim/report/torque_table.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::report {

namespace {

Json json_of(const limits::SpeedPoint& p) {
    return {{"speed_m_s", p.speed_m_s},      {"rate_rad_s", p.rate_rad_s},
            {"asked_Nm", p.asked_Nm},        {"low_Nm", p.low_Nm},
            {"nominal_Nm", p.nominal_Nm},    {"high_Nm", p.high_Nm},
            {"margin_low", p.margin_low},    {"margin_nominal", p.margin_nominal},
            {"margin_high", p.margin_high},  {"region", motor::name(p.region)},
            {"beyond_curve", p.beyond_curve}};
}

Json json_of(const limits::Candidate& c) {
    Json points = Json::array();
    for (const limits::SpeedPoint& p : c.points)
        points.push_back(json_of(p));
    return {{"label", c.label},
            {"motor", c.axis.motor.name},
            {"driver", c.axis.driver.name},
            {"current_rms_A", c.axis.current.rms().value()},
            {"supply_V", c.axis.supply.value()},
            {"microsteps", c.axis.microsteps},
            {"gear_ratio", c.axis.drive.gear_ratio},
            {"base_speed_m_s", c.base_speed_m_s},
            {"top_speed_m_s", c.top_speed_m_s},
            {"top_speed_nominal_m_s", c.top_speed_nominal_m_s},
            {"binds", run::to_word(c.binds)},
            {"torque_basis", c.torque_basis},
            {"problems", c.problems},
            {"points", points}};
}

}  // namespace

std::string torque_json(const Comparison& comparison) {
    Json out{{"schema", "stepper_sim.torque.1"},
             {"version", kVersion},
             {"machine", {{"name", comparison.machine.name}, {"file", comparison.machine.file}}},
             {"axis", std::string(1, comparison.axis.letter)},
             {"acceleration_m_s2", comparison.axis.settings.max_acceleration.value()},
             {"margin", comparison.margin},
             {"candidates", Json::array()}};
    for (const limits::Candidate& candidate : comparison.candidates)
        out["candidates"].push_back(json_of(candidate));
    if (!comparison.asked.empty()) {
        const limits::AskedPoint& most = most_asked(comparison.asked);
        out["programs"] = {{"files", comparison.programs},
                           {"most_asked_Nm", most.torque_Nm},
                           {"at_speed_m_s", most.speed_m_s}};
    }
    if (comparison.ranking) out["ranking"] = part_ranking_json(*comparison.ranking);
    return json_text(out);
}

}  // namespace stepper_sim::report
