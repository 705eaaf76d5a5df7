#include "stepper_sim/report/limits_json.hpp"

#include "planner/lookahead/corner.hpp"
#include "stepper_sim/limits/settings_text.hpp"
#include "stepper_sim/report/finding_json.hpp"
#include "stepper_sim/report/json_text.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::report {

namespace {

Json names_of(std::span<const run::ProgramSource> programs) {
    Json names = Json::array();
    for (const run::ProgramSource& program : programs)
        names.push_back(program.name());
    return names;
}

Json json_of(const limits::SettingLimit& setting) {
    return {{"now", setting.present},
            {"just_holds", setting.just_holds},
            {"with_margin", setting.with_margin},
            {"binds", run::to_word(setting.binds)},
            {"binds_with_margin", run::to_word(setting.binds_with_margin)},
            {"why", setting.why},
            {"why_with_margin", setting.why_with_margin}};
}

Json json_of(const limits::TimeValue& value) {
    Json worths = Json::array();
    for (const limits::SettingWorth& worth : value.worths)
        worths.push_back({{"axis", planner::axis_key(worth.letter)},
                          {"setting", machine::key_text(worth.setting)},
                          {"now", worth.now},
                          {"wanted", worth.wanted},
                          {"duration_s", worth.duration_s}});
    Json alone = Json::array();
    for (const limits::SettingTimes& times : value.alone)
        alone.push_back({{"axis", planner::axis_key(times.letter)},
                         {"setting", machine::key_text(times.setting)},
                         {"duration_s", times.duration_s}});
    return {{"now_s", value.now_s},
            {"with_margin_s", value.wanted_s},
            {"settings", worths},
            {"scales", limits::kTimeScales},
            {"acceleration_by_speed_s", value.grid_s},
            {"alone", alone},
            {"speed_knee", value.speed_knee},
            {"acceleration_knee", value.acceleration_knee}};
}

Json json_of(const limits::ByScale& corners, std::span<const run::ProgramSource> programs) {
    Json out = Json::array();
    for (const limits::PlacedCorner& placed : corners) {
        const limits::Corner& corner = placed.corner;
        const bool any = corner.line != 0;
        out.push_back({{"program", any ? Json(programs[placed.program].name()) : Json(nullptr)},
                       {"line", any ? Json(corner.line) : Json(nullptr)},
                       {"jump_m_s", corner.jump_m_s},
                       {"ringing_m", corner.ringing_m},
                       {"dwell_s", corner.dwell_s}});
    }
    return out;
}

Json json_of(const limits::CornerQuality& quality, std::span<const run::ProgramSource> programs) {
    const planner::CornerRuleRow& rule = planner::row_of(quality.rule);
    Json axes = Json::object();
    for (const limits::AxisCorners& axis : quality.axes) {
        Json settings = Json::array();
        for (std::size_t i = 0; i < limits::kCornerScales.size(); ++i)
            settings.push_back(axis.setting(i));
        axes[planner::axis_key(axis.letter)] = {
            {rule.of_each_axis ? "speed_step_m_s" : "deviation_m", settings},
            {"working_speed_m_s", axis.working_speed_m_s},
            {"most_ringing", json_of(axis.most_ringing, programs)}};
    }
    return {{"rule", rule.name},
            {"scales", limits::kCornerScales},
            {"duration_s", quality.duration_s},
            {"axes", axes},
            {"longest_dwell", json_of(quality.longest_dwell, programs)}};
}

Json json_of(const machine::Machine& machine, const limits::Proposal& proposal,
             std::span<const run::ProgramSource> programs) {
    const limits::Limits& limits = proposal.limits;
    Json out{{"schema", "stepper_sim.limits.1"},
             {"version", kVersion},
             {"machine", {{"name", machine.name}, {"file", machine.file}}},
             {"programs", names_of(programs)},
             {"margin", limits.margin},
             {"clear", limits.clear},
             {"why_not_clear", limits.why_not_clear}};
    out["axes"] = axes_json(limits);
    out["change"] = limits::setting_lines(limits::with_margin(machine, limits), machine);
    out["measure_next"] = measurement_json(proposal.measure_next);
    out["time"] = proposal.time ? json_of(*proposal.time) : Json(nullptr);
    out["corners"] = proposal.corners ? json_of(*proposal.corners, programs) : Json(nullptr);
    return out;
}

std::string written(const Json& json) {
    return json_text(json);
}

}  // namespace

Json axes_json(const limits::Limits& limits) {
    Json out = Json::object();
    for (const limits::AxisLimits& axis : limits.axes)
        out[planner::axis_key(axis.letter)] = {
            {"holds", axis.holds},
            {"keeps_margin", axis.keeps_margin},
            {"why_not", axis.why_not},
            {"max_speed_m_s", json_of(axis.speed)},
            {"max_acceleration_m_s2", json_of(axis.acceleration)},
            {"speed_step_m_s", axis.step ? json_of(*axis.step) : Json(nullptr)}};
    return out;
}

std::string limits_json(const machine::Machine& machine, const limits::Proposal& proposal,
                        std::span<const run::ProgramSource> programs) {
    return written(json_of(machine, proposal, programs));
}

std::string limits_json(std::span<const MachineLimits> machines,
                        std::span<const machine::LeftOut> left_out) {
    Json out{{"schema", "stepper_sim.limits_list.1"}, {"version", kVersion}};
    out["machines"] = Json::array();
    for (const MachineLimits& one : machines) {
        Json errors = Json::array();
        for (const planner::Diagnostic& error : one.errors)
            errors.push_back(planner::to_line(error));
        out["machines"].push_back(
            {{"file", one.file},
             {"errors", errors},
             {"limits",
              one.proposal ? json_of(*one.machine, *one.proposal, one.programs) : Json(nullptr)}});
    }
    out["left_out"] = Json::array();
    for (const machine::LeftOut& file : left_out)
        out["left_out"].push_back({{"file", file.file}, {"why", file.why}});
    return written(out);
}

}  // namespace stepper_sim::report
