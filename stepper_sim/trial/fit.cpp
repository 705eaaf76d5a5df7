#include "stepper_sim/trial/fit.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "planner/units/units_text.hpp"
#include "stepper_sim/trial/contradiction.hpp"
#include "stepper_sim/trial/trial.hpp"
#include "stepper_sim/trial/trial_loudness.hpp"

namespace stepper_sim::trial {

namespace {

constexpr int kRounds = 5;
constexpr double kSettled = 0.004;  // of a limit's logarithm: its own grain
constexpr double kFarOff = 3.0;
constexpr double kLearntShare = 0.95;  // of the spread before: less is not worth a change
constexpr double kMovedShare = 0.25;   // likewise, of a value

/// The limit of a sheet as a straight function of the unknowns, straightened at `at`.
struct StraightLimit {
    double logarithm = 0.0;  // where all unknowns are 0
    UnknownArray gradient{};
};

double along(const UnknownArray& gradient, const UnknownArray& value) {
    double sum = 0.0;
    for (std::size_t i = 0; i < kUnknowns; ++i)
        sum += gradient[i] * value[i];
    return sum;
}

UnknownArray middle(const UnknownArray& a, const UnknownArray& b) {
    UnknownArray out{};
    for (std::size_t i = 0; i < kUnknowns; ++i)
        out[i] = 0.5 * (a[i] + b[i]);
    return out;
}

bool answers_rungs(const TrialSheet& sheet) {
    return std::any_of(sheet.rungs.begin(), sheet.rungs.end(),
                       [](const SheetRung& r) { return r.result != RungResult::not_run; });
}

bool is_sweep(const TrialSheet& sheet) {
    return sheet.motion.question == TrialQuestion::resonance;
}

bool is_end(const TrialSheet& sheet, double frequency_Hz) {
    return frequency_Hz <= sheet.rungs.front().value || frequency_Hz >= sheet.rungs.back().value;
}

class AxisFitter {
  public:
    AxisFitter(const machine::Machine& machine, const run::MotorModels& models,
               std::span<const TrialSheet* const> sheets)
        : sheets_(sheets), available_(models.available[slot()]) {
        fit_.slot = sheets.front()->slot;
        damping_before_ = machine.axes[slot()].damping.value_or(dynamics::kDefaultModalDamping);
        fit_.letter = sheets.front()->letter;
        fit_.prior = trial_prior(machine, models, fit_.slot);
        fit_.before = belief_before(fit_.prior);
        fit_.after = fit_.before;
        rig_ = trial_rig(machine, models.loads, fit_.slot);
        frequency_ = predict(rig_, fit_.prior, {.question = TrialQuestion::resonance}, {});
    }

    void run() {
        for (const TrialSheet* sheet : sheets_) {
            SheetFit one{sheet->file, sheet->motion, {}, {}, 0.0, 0.0};
            one.before = predict(rig_, fit_.prior, sheet->motion, {});
            if (is_sweep(*sheet))
                one.before.value = heard_Hz(*sheet, {}).value_or(one.before.value);
            one.after = one.before;
            fit_.sheets.push_back(one);
        }
        // Limits bend and jump: after a step that agrees less well with the answers the next goes half the way, and the best counts.
        Round best = here();
        bool worse = false, moves = true;
        for (int round = 0; round < kRounds && moves; ++round) {
            const UnknownArray next = map_estimate(observations(), fit_.prior.spread).value;
            moves = straighten(worse ? middle(best.at, next) : next);
            const Round now = here();
            worse = !(now.misfit < best.misfit);
            if (!worse) best = now;
        }
        straightened_at_ = best.at;
        fit_.sheets = best.sheets;
        fit_.after = map_estimate(observations(), fit_.prior.spread);  // for its spreads
        fit_.after.value = best.at;
        finish();
    }

    std::vector<planner::Diagnostic> disagreements() const {
        const std::vector<planner::Diagnostic> pairs = contradictions(answers_);
        return pairs.empty() ? far_outliers(fit_.outliers) : pairs;
    }

    const AxisFit& result() const { return fit_; }

  private:
    std::size_t slot() const { return static_cast<std::size_t>(sheets_.front()->slot); }

    StraightLimit straight(const SheetFit& sheet) const {
        const UnknownArray& g = sheet.before.gradient;
        return {std::log(sheet.after.value) - along(g, straightened_at_), g};
    }

    /// A guess and what it predicts.
    struct Round {
        UnknownArray at{};
        std::vector<SheetFit> sheets;
        double misfit = 0.0;
    };

    Round here() {
        return {straightened_at_, fit_.sheets,
                misfit(observations(), fit_.prior.spread, straightened_at_)};
    }

    /// Predicts anew at a guess; false when that moves nothing any more.
    bool straighten(const UnknownArray& value) {
        bool moves = false;
        for (std::size_t i = 0; i < sheets_.size(); ++i) {
            SheetFit& sheet = fit_.sheets[i];
            const StraightLimit limit = straight(sheet);
            const double expected = std::exp(limit.logarithm + along(limit.gradient, value));
            sheet.after = predict_value(rig_, fit_.prior, sheet.motion, value, expected);
            sheet.after.gradient = sheet.before.gradient;
            if (is_sweep(*sheets_[i]))
                sheet.after.value = heard_Hz(*sheets_[i], value).value_or(sheet.after.value);
            if (std::fabs(std::log(sheet.after.value / expected)) > kSettled) moves = true;
        }
        straightened_at_ = value;
        return moves;
    }

    void finish() {
        for (SheetFit& sheet : fit_.sheets) {
            sheet.spread_before = fit_.before.spread(sheet.before.gradient);
            sheet.spread_after = fit_.after.spread(sheet.after.gradient);
        }
        for (std::size_t i = 0; i < kUnknowns; ++i)
            if (std::fabs(fit_.after.value[i]) > kFarOff * fit_.prior.spread[i])
                fit_.far_off = true;
        answers_.clear();
        observations();
        fit_.outliers = outliers(answers_);
    }

    std::vector<Observation> observations() {
        std::vector<Observation> all;
        for (std::size_t i = 0; i < sheets_.size(); ++i) {
            const TrialSheet& sheet = *sheets_[i];
            if (is_sweep(sheet))
                add_heard(sheet, straight(fit_.sheets[i]), all);
            else if (answers_rungs(sheet))
                add_rungs(sheet, fit_.sheets[i], all);
            if (sheet.frequency_Hz) add_frequency(*sheet.frequency_Hz, all);
            if (sheet.ripples) add_ripples(*sheet.ripples, all);
            for (const SheetTorque& torque : sheet.torques)
                add_torque(torque, all);
        }
        return all;
    }

    void add_rungs(const TrialSheet& sheet, const SheetFit& fitted, std::vector<Observation>& all) {
        const StraightLimit limit = straight(fitted);
        const std::string expected =
            fitted.after.slips ? "a loss at " + rung_text(sheet.motion.question, fitted.after.value)
                               : "no loss by these strokes";
        for (const SheetRung& rung : sheet.rungs) {
            if (rung.result == RungResult::not_run) continue;
            const bool lost = rung.result == RungResult::lost;
            Observation o{lost ? ObservationKind::below : ObservationKind::above,
                          limit.logarithm - std::log(rung.value), limit.gradient, kLossError};
            all.push_back(o);
            note(o, rung.place,
                 std::string(lost ? "lost" : "held") + " at " +
                     rung_text(sheet.motion.question, rung.value),
                 expected, lost, !lost);
        }
    }

    /// Where the simulation of the sheet's own rungs is loudest.
    std::optional<double> heard_Hz(const TrialSheet& sheet, const UnknownArray& logarithms) const {
        std::vector<double> frequencies_Hz;
        for (const SheetRung& rung : sheet.rungs)
            frequencies_Hz.push_back(rung.value);
        return loudness(rig_, moved(fit_.prior.nominal, logarithms), sheet.motion, frequencies_Hz)
            .heard_Hz();
    }

    /// One answer however many rungs were loud. At either end of the sweep, or where the simulation hears nothing, it says nothing.
    void add_heard(const TrialSheet& sheet, const StraightLimit& expected,
                   std::vector<Observation>& all) {
        double sum = 0.0, count = 0.0;
        planner::Place place;
        for (const SheetRung& rung : sheet.rungs) {
            if (rung.result != RungResult::resonance && rung.result != RungResult::lost) continue;
            sum += std::log(rung.value);
            ++count;
            place = rung.place;
        }
        if (count == 0.0 || is_end(sheet, std::exp(sum / count)) ||
            !heard_Hz(sheet, straightened_at_))
            return;
        all.push_back({ObservationKind::measured, expected.logarithm - sum / count,
                       expected.gradient, kHeardError});
        note_measured(all.back(), place, std::exp(sum / count), "heard ", " Hz");
    }

    void add_frequency(const SheetNumber& seen_Hz, std::vector<Observation>& all) {
        all.push_back({ObservationKind::measured, std::log(frequency_.value / seen_Hz.value),
                       frequency_.gradient, kFrequencyError});
        note_measured(all.back(), seen_Hz.place, seen_Hz.value, "measured ", " Hz");
    }

    void add_ripples(const SheetNumber& ripples, std::vector<Observation>& all) {
        const double damping = std::numbers::ln10 / (2.0 * std::numbers::pi * ripples.value);
        Observation o{
            ObservationKind::measured, std::log(damping_before_ / damping), {}, kRippleError};
        if (dynamics::is_rigid(fit_.prior.nominal)) return;
        o.gradient[damping_unknown] = 1.0;
        all.push_back(o);
        // Their number falls as the damping rises; the residual is that of the damping.
        note_measured(o, ripples.place, ripples.value, "", " ripples", -1.0);
    }

    void add_torque(const SheetTorque& torque, std::vector<Observation>& all) {
        const double rate_rad_s = torque.speed_m_s * rig_.motor_per_axis * rig_.rad_per_m;
        const double expected_Nm = available_.nominal_Nm(rate_rad_s);
        if (!(expected_Nm > 0.0)) return;
        Observation o{
            ObservationKind::measured, std::log(expected_Nm / torque.torque_Nm), {}, kTorqueError};
        o.gradient[torque_unknown] = 1.0;
        all.push_back(o);
        note_measured(o, torque.place, torque.torque_Nm, "torque ", " N m");
        answers_.back().wants_less = answers_.back().wants_more = true;
    }

    void note(const Observation& o, const planner::Place& place, std::string text,
              std::string expected, bool less, bool more) {
        const double r = residual(o, fit_.after.value);
        const double stray = o.kind == ObservationKind::above   ? std::max(0.0, -r)
                             : o.kind == ObservationKind::below ? std::max(0.0, r)
                                                                : std::fabs(r);
        answers_.push_back({place, std::move(text), r / o.error, less, more, stray,
                            std::move(expected), o.kind == ObservationKind::measured});
    }

    /// `sign` of the residual's growth with the value.
    void note_measured(const Observation& o, const planner::Place& place, double value,
                       const std::string& what, const std::string& unit, double sign = 1.0) {
        const double fitted = value * std::exp(sign * residual(o, fit_.after.value));
        note(o, place, what + planner::format_number(value, 4) + unit,
             planner::format_number(fitted, 4) + unit, false, false);
    }

    std::span<const TrialSheet* const> sheets_;
    const motor::AvailableTorque& available_;
    TrialRig rig_;
    Prediction frequency_;
    double damping_before_ = dynamics::kDefaultModalDamping;
    UnknownArray straightened_at_{};
    std::vector<Answer> answers_;
    AxisFit fit_;
};

}  // namespace

bool AxisFit::learnt(Unknown unknown) const {
    return after.spread(unknown) < kLearntShare * before.spread(unknown) ||
           std::fabs(after.value[unknown]) > kMovedShare * before.spread(unknown);
}

planner::Result<std::vector<AxisFit>> fit(const machine::Machine& machine,
                                          const run::MotorModels& models,
                                          std::span<const TrialSheet> sheets) {
    std::vector<AxisFit> fits;
    std::vector<planner::Diagnostic> faults;
    for (int slot = 0; slot < static_cast<int>(machine.axes.size()); ++slot) {
        std::vector<const TrialSheet*> own;
        for (const TrialSheet& sheet : sheets)
            if (sheet.slot == slot) own.push_back(&sheet);
        if (own.empty()) continue;
        std::vector<planner::Diagnostic> found = contradictions(own);
        if (found.empty()) {
            AxisFitter fitter(machine, models, own);
            fitter.run();
            found = fitter.disagreements();
            fits.push_back(fitter.result());
        }
        faults.insert(faults.end(), found.begin(), found.end());
    }
    if (!faults.empty()) return faults;
    return fits;
}

}  // namespace stepper_sim::trial
