#include <cmath>

#include "stepper_sim/report/fit_text.hpp"
#include "stepper_sim/report/json_text.hpp"
#include "stepper_sim/report/limits_json.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::report {

namespace {

Json json_of(const trial::Estimate& estimate, const trial::TrialPrior& prior) {
    const auto one = [&](trial::Unknown unknown) {
        return Json{{"factor", std::exp(estimate.value[unknown])},
                    {"spread", estimate.spread(unknown)}};
    };
    const char* spring = dynamics::is_rigid(prior.nominal) ? "mass" : "stiffness";
    return {{"friction", one(trial::friction_unknown)},
            {"running_factor", one(trial::torque_unknown)},
            {spring, one(trial::spring_unknown)},
            {"damping", one(trial::damping_unknown)}};
}

Json json_of(const trial::SheetFit& sheet) {
    const auto one = [](const trial::Prediction& p, double spread) {
        return Json{{"value", p.value}, {"spread", spread}, {"loss_within_reach", p.slips}};
    };
    return {{"file", sheet.file},
            {"raise", trial::to_word(sheet.motion.question)},
            {"expected_before", one(sheet.before, sheet.spread_before)},
            {"expected_now", one(sheet.after, sheet.spread_after)}};
}

Json json_of(std::span<const trial::Answer> outliers) {
    Json list = Json::array();
    for (const trial::Answer& answer : outliers)
        list.push_back({{"file", answer.place.file},
                        {"line", answer.place.line},
                        {"answer", answer.text},
                        {"fitted", answer.expected}});
    return list;
}

}  // namespace

std::string fit_json(const machine::Machine& machine, const trial::FittedSheets& fits,
                     std::span<const trial::FittedValue> values,
                     const std::optional<LimitsBothWays>& limits) {
    Json out{{"schema", "stepper_sim.fit.1"},
             {"version", kVersion},
             {"machine", {{"name", machine.name}, {"file", machine.file}}},
             {"axes", Json::object()},
             {"recorded", fits.recorded},
             {"values", Json::array()},
             {"limits", nullptr}};
    if (limits)
        out["limits"] = {{"before", axes_json(limits->before)}, {"now", axes_json(limits->after)}};
    for (const trial::AxisFit& fit : fits.axes) {
        Json sheets = Json::array();
        for (const trial::SheetFit& sheet : fit.sheets)
            sheets.push_back(json_of(sheet));
        out["axes"][planner::axis_key(fit.letter)] = {
            {"before", json_of(fit.before, fit.prior)},
            {"after", json_of(fit.after, fit.prior)},
            {"far_off", fit.far_off},
            {"outliers", json_of(std::span(fit.outliers))},
            {"sheets", sheets}};
    }
    for (const trial::FittedValue& value : values)
        out["values"].push_back({{"axis", std::string(1, value.letter)},
                                 {"key", value.key},
                                 {"value", value.value},
                                 {"before", value.before},
                                 {"source", value.source}});
    return json_text(out);
}

}  // namespace stepper_sim::report
