#include "stepper_sim/trial/contradiction.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "stepper_sim/trial/fit.hpp"
#include "stepper_sim/trial/trial.hpp"

namespace stepper_sim::trial {

namespace {

// Held at more than this times what lost: more than a rung, and five times the error of repeating.
constexpr double kHeldOverLost = 1.15;
constexpr double kSameConditions = 0.02;
constexpr double kErrors = 3.0;
// The machine file alone is right within 37.5 % (of the logarithm) nine times in ten (bench/trial_study.cpp): a fit that is farther off than
// that explains the answer worse than no fit.
const double kFarOutside = std::log(1.5);

bool alike(double a, double b) {
    return std::fabs(a - b) <= kSameConditions * std::max(std::fabs(a), std::fabs(b));
}

bool same_conditions(const RungMotion& a, const RungMotion& b) {
    if (a.question != b.question || a.question == TrialQuestion::resonance) return false;
    const RungMotion x = with_value(a, 0.0), y = with_value(b, 0.0);
    return alike(x.speed_m_s, y.speed_m_s) && alike(x.acceleration_m_s2, y.acceleration_m_s2) &&
           alike(x.step_m_s, y.step_m_s) && alike(x.stroke_m, y.stroke_m) &&
           alike(x.sweep_from_Hz, y.sweep_from_Hz) && alike(x.sweep_to_Hz, y.sweep_to_Hz);
}

Answer answer(const TrialSheet& sheet, const SheetRung& rung) {
    const std::string what = rung.result == RungResult::lost ? "lost" : "held";
    return {rung.place, what + " at " + rung_text(sheet.motion.question, rung.value), 0.0, false,
            false};
}

/// The worst pair of one trial's loss and another's success.
void compare_rungs(const TrialSheet& losing, const TrialSheet& holding, double& worst,
                   std::vector<planner::Diagnostic>& found) {
    for (const SheetRung& lost : losing.rungs)
        for (const SheetRung& held : holding.rungs) {
            const bool pair =
                lost.result == RungResult::lost &&
                (held.result == RungResult::held || held.result == RungResult::resonance);
            if (!pair || held.value <= worst * lost.value) continue;
            worst = held.value / lost.value;
            found = {contradiction(answer(losing, lost), answer(holding, held))};
        }
}

struct Heard {
    double frequency_Hz, error;
    planner::Place place;
};

std::vector<Heard> heard_in(std::span<const TrialSheet* const> sheets) {
    std::vector<Heard> heard;
    for (const TrialSheet* sheet : sheets) {
        if (sheet->frequency_Hz)
            heard.push_back(
                {sheet->frequency_Hz->value, kFrequencyError, sheet->frequency_Hz->place});
        if (sheet->motion.question != TrialQuestion::resonance) continue;
        for (const SheetRung& rung : sheet->rungs)
            if (rung.result == RungResult::resonance || rung.result == RungResult::lost)
                heard.push_back({rung.value, kHeardError, rung.place});
    }
    return heard;
}

Answer answer(const Heard& heard) {
    return {heard.place, "resonance at " + rung_text(TrialQuestion::resonance, heard.frequency_Hz),
            0.0, false, false};
}

void compare_frequencies(const std::vector<Heard>& heard, std::vector<planner::Diagnostic>& found) {
    for (std::size_t i = 0; i < heard.size(); ++i)
        for (std::size_t j = i + 1; j < heard.size(); ++j)
            if (std::fabs(std::log(heard[i].frequency_Hz / heard[j].frequency_Hz)) >
                kErrors * std::hypot(heard[i].error, heard[j].error)) {
                found.push_back(contradiction(answer(heard[i]), answer(heard[j])));
                return;
            }
}

}  // namespace

std::string place_text(const planner::Place& place) {
    return planner::printable(place.file) + ':' + std::to_string(place.line) + ':' +
           std::to_string(place.column);
}

planner::Diagnostic contradiction(const Answer& first, const Answer& second) {
    return {"trial/contradiction", first.place, first.text,
            "an answer that agrees with " + place_text(second.place) + ", " + second.text,
            "repeat both, or clear the one you trust less"};
}

std::vector<planner::Diagnostic> contradictions(std::span<const TrialSheet* const> sheets) {
    std::vector<planner::Diagnostic> found;
    double worst = kHeldOverLost;
    for (const TrialSheet* losing : sheets)
        for (const TrialSheet* holding : sheets)
            if (same_conditions(losing->motion, holding->motion))
                compare_rungs(*losing, *holding, worst, found);
    compare_frequencies(heard_in(sheets), found);
    return found;
}

std::vector<planner::Diagnostic> contradictions(std::span<const Answer> answers) {
    const Answer* less = nullptr;
    const Answer* more = nullptr;
    for (const Answer& a : answers) {
        if (a.wants_less && a.pull > kErrors && (less == nullptr || a.pull > less->pull)) less = &a;
        if (a.wants_more && a.pull < -kErrors && (more == nullptr || a.pull < more->pull))
            more = &a;
    }
    if (less == nullptr || more == nullptr) return {};
    return {contradiction(*less, *more)};
}

std::vector<Answer> outliers(std::span<const Answer> answers) {
    std::vector<Answer> found;
    for (const Answer& a : answers)
        if (a.stray > 0.0 && std::fabs(a.pull) > kErrors) found.push_back(a);
    return found;
}

std::vector<planner::Diagnostic> far_outliers(std::span<const Answer> outliers) {
    const Answer* worst = nullptr;
    for (const Answer& a : outliers)
        if (a.stray > kFarOutside && (worst == nullptr || a.stray > worst->stray)) worst = &a;
    if (worst == nullptr) return {};
    const Answer* pulls = nullptr;
    for (const Answer& a : outliers)
        if (a.measured && &a != worst &&
            (pulls == nullptr || std::fabs(a.pull) > std::fabs(pulls->pull)))
            pulls = &a;
    std::string expected = worst->expected + ", which the fit of all answers gives";
    if (pulls != nullptr)
        expected += ", pulled there by " + place_text(pulls->place) + ", " + pulls->text;
    return {planner::Diagnostic{"trial/outlier", worst->place, worst->text, expected,
                                "repeat it, or clear the answer you trust less"}};
}

}  // namespace stepper_sim::trial
