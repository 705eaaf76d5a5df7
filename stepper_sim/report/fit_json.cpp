#include <cmath>

#include "stepper_sim/report/fit_text.hpp"
#include "stepper_sim/report/json_text.hpp"
#include "stepper_sim/report/limits_json.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim {

namespace {

Json json_of(const Estimate& estimate, const TrialPrior& prior) {
    const auto one = [&](Unknown unknown) {
        return Json{{"factor", std::exp(estimate.value[unknown])},
                    {"spread", estimate.spread(unknown)}};
    };
    const char* spring = is_rigid(prior.nominal) ? "mass" : "stiffness";
    return {{"friction", one(friction_unknown)},
            {"running_factor", one(torque_unknown)},
            {spring, one(spring_unknown)},
            {"damping", one(damping_unknown)}};
}

Json json_of(const SheetFit& sheet) {
    const auto one = [](const Prediction& p, double spread) {
        return Json{{"value", p.value}, {"spread", spread}, {"loss_within_reach", p.slips}};
    };
    return {{"file", sheet.file},
            {"raise", to_word(sheet.motion.question)},
            {"expected_before", one(sheet.before, sheet.spread_before)},
            {"expected_now", one(sheet.after, sheet.spread_after)}};
}

Json json_of(std::span<const Answer> outliers) {
    Json list = Json::array();
    for (const Answer& answer : outliers)
        list.push_back({{"file", answer.place.file},
                        {"line", answer.place.line},
                        {"answer", answer.text},
                        {"fitted", answer.expected}});
    return list;
}

}  // namespace

std::string fit_json(const Machine& machine, const FittedSheets& fits,
                     std::span<const FittedValue> values,
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
    for (const AxisFit& fit : fits.axes) {
        Json sheets = Json::array();
        for (const SheetFit& sheet : fit.sheets)
            sheets.push_back(json_of(sheet));
        out["axes"][std::string(1, static_cast<char>(fit.letter | 0x20))] = {
            {"before", json_of(fit.before, fit.prior)},
            {"after", json_of(fit.after, fit.prior)},
            {"far_off", fit.far_off},
            {"outliers", json_of(std::span(fit.outliers))},
            {"sheets", sheets}};
    }
    for (const FittedValue& value : values)
        out["values"].push_back({{"axis", std::string(1, value.letter)},
                                 {"key", value.key},
                                 {"value", value.value},
                                 {"before", value.before},
                                 {"source", value.source}});
    return json_text(out);
}

}  // namespace stepper_sim
