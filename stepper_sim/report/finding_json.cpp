#include "stepper_sim/report/finding_json.hpp"

#include "stepper_sim/check/report.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/json_text.hpp"

namespace stepper_sim::report {

Json motor_json(char letter) {
    return letter != 0 ? Json(planner::axis_key(letter)) : Json(nullptr);
}

Json finding_json(const check::Finding& finding) {
    const auto known = [](const auto& value) { return value ? Json(*value) : Json(nullptr); };
    return {{"check", finding.check},
            {"grade", check::to_word(finding.grade)},
            {"motor", motor_json(finding.motor)},
            {"line", finding.line != 0 ? Json(finding.line) : Json(nullptr)},
            {"time_s", known(finding.time_s)},
            {"position_m", known(finding.position_m)},
            {"value", finding.value},
            {"limit", finding.limit},
            {"unit", finding.unit},
            {"message", finding.message},
            {"change", finding.changes.empty() ? "" : check::words::lines(finding.changes.front())},
            {"likelihood", known(finding.likelihood)}};
}

nlohmann::ordered_json measurement_json(const std::optional<check::Measurement>& measurement) {
    if (!measurement) return nullptr;
    const check::Measurement& m = *measurement;
    return {{"path", m.path},
            {"band", m.band},
            {"how", m.how},
            {"motor", planner::axis_key(m.motor)},
            {"use", m.of},
            {"use_at_better_end", m.use_low},
            {"use_at_worse_end", m.use_high},
            {"needed", m.needed}};
}

}  // namespace stepper_sim::report
