#include "stepper_sim/report/json.hpp"

#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/change.hpp"
#include "stepper_sim/report/finding_json.hpp"
#include "stepper_sim/report/json_text.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::report {

namespace {

Json program_of(const check::Report& report) {
    if (!report.has_program) return nullptr;
    const check::ProgramSummary& program = report.program;
    Json words = Json::object();
    for (const auto& [word, count] : program.unknown_words)
        words[word] = count;
    return {{"files", program.files},
            {"lines", program.lines},
            {"moves", program.moves},
            {"duration_s", program.duration_s},
            {"path_m", program.path_m},
            {"filament_m", program.filament_m},
            {"unit", program.default_inches ? "inch" : "mm"},
            {"unit_stated", program.units_stated},
            {"unknown_words", words}};
}

std::string_view to_word(check::Cure cure) {
    switch (cure) {
        case check::Cure::cures:
            return "cures";
        case check::Cure::not_checked:
            return "not checked again";
        default:
            return "none found";
    }
}

Json change_first(const check::Report& report) {
    const check::ChangeFirst& first = report.change_first;
    if (first.cure == check::Cure::not_needed) return nullptr;
    Json settings = Json::array();
    for (const check::SettingChange& setting : first.change.settings)
        settings.push_back({{"axis", motor_json(setting.to.axis)},
                            {"key", machine::key_text(setting.to.key)},
                            {"value", setting.to.value},
                            {"now", setting.now}});
    Json out{{"cure", to_word(first.cure)},
             {"change", check::words::lines(first.change)},
             {"settings", settings},
             {"check", first.answers.check},
             {"motor", motor_json(first.answers.motor)},
             {"tried", first.tried},
             {"said", change_first_said(report)}};
    out["verdict_with_it"] = first.cure == check::Cure::cures
                                 ? Json(check::to_word(check::verdict_of(first.left)))
                                 : Json(nullptr);
    return out;
}

Json finding_of(const check::Finding& finding, const check::ChangeFirst& first) {
    Json out = finding_json(finding);
    const check::Change* change = check::shown_change(finding, first);
    out["change"] = change != nullptr ? check::words::lines(*change) : std::string();
    return out;
}

/// Null where the resonance was not looked at.
Json screened(const check::MotorSummary& motor, double value) {
    return motor.screened ? Json(value) : Json(nullptr);
}

}  // namespace

std::string to_json(const check::Report& report) {
    Json out{{"schema", "stepper_sim.check.1"},
             {"version", kVersion},
             {"verdict", check::to_word(report.verdict)},
             {"margin", report.margin},
             {"machine", {{"name", report.machine_name}, {"file", report.machine_file}}},
             {"program", program_of(report)}};
    Json axes = Json::object(), motors = Json::object();
    for (const check::AxisSummary& axis : report.axes)
        if (report.has_program)
            axes[planner::axis_key(axis.letter)] = {
                {"peak_speed_m_s", axis.peak_speed_m_s},
                {"peak_acceleration_m_s2", axis.peak_acceleration_m_s2},
                {"end_position_m", axis.end_m},
                {"min_position_m", axis.min_m},
                {"max_position_m", axis.max_m}};
    for (const check::MotorSummary& motor : report.motors)
        motors[planner::axis_key(motor.letter)] = {
            {"steps", motor.steps},
            {"net_steps", motor.net_steps},
            {"peak_step_rate_hz", motor.peak_step_rate_hz},
            {"driver_ceiling_hz", motor.ceilings.driver_hz},
            {"controller_ceiling_hz", motor.ceilings.controller_hz},
            {"tick_ceiling_hz", motor.ceilings.tick_hz},
            {"highest_speed_m_s", motor.step_rate_speed_m_s},
            {"binds", run::to_word(motor.ceilings.binding())},
            {"min_interval_s", motor.min_interval_s},
            {"torque_use_peak", motor.torque_use_peak},
            {"torque_use_nominal", motor.torque_use_nominal},
            {"torque_use_high_curve", motor.torque_use_high},
            {"speed_step_use_peak", motor.speed_step_use_peak},
            {"modal_ratio_peak", screened(motor, motor.modal_ratio_peak)},
            {"load_angle_peak_rad", screened(motor, motor.load_angle_peak_rad)},
            {"ringing_peak_m", screened(motor, motor.ringing_peak_m)},
            {"base_speed_m_s", motor.base_speed_m_s},
            {"torque_basis", motor.torque_basis}};
    out["axes"] = axes;
    out["motors"] = motors;
    out["controller"] = {{"name", report.controller.name},
                         {"style", report.controller.style},
                         {"load_peak", report.controller.load_peak},
                         {"late_pulses", report.controller.late_pulses},
                         {"lateness_peak_s", report.controller.lateness_peak_s}};
    out["change_first"] = change_first(report);
    out["measure_next"] = measurement_json(report.measure_next);
    out["findings"] = Json::array();
    for (const check::Finding& finding : report.findings)
        out["findings"].push_back(finding_of(finding, report.change_first));
    out["parts"] = Json::array();
    for (const check::PartUse& part : report.parts)
        out["parts"].push_back({{"kind", part.kind},
                                {"name", part.name},
                                {"source", part.source},
                                {"known", machine::to_word(part.known)}});
    out["assumptions"] = report.assumptions;
    // Names and comments of files may hold any bytes; those that are not UTF-8 are shown as the replacement character.
    return json_text(out);
}

}  // namespace stepper_sim::report
