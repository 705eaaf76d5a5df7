#include "stepper_sim/check/verified_change.hpp"

#include <algorithm>
#include <cmath>

#include "stepper_sim/check/consequence.hpp"
#include "stepper_sim/check/guessed_checks.hpp"
#include "stepper_sim/run/run_sources.hpp"
#include "stepper_sim/run/slip_cure.hpp"

namespace stepper_sim::check {

namespace {

// Guesses: rounding, and another moment just as bad; scatter of a share over the draws of spread.hpp.
constexpr double kSameExcess = 0.01, kSameLikelihood = 0.1;

bool objects(const Finding& finding) {
    return finding.grade != Grade::note;
}

bool alike(const Finding& a, const Finding& b) {
    return a.check == b.check && a.motor == b.motor;
}

/// How far beyond its limit, either way.
double excess(const Finding& finding) {
    const double ratio = finding.limit != 0.0 ? finding.value / finding.limit : 0.0;
    return ratio > 0.0 ? std::abs(std::log(ratio)) : std::abs(finding.value - finding.limit);
}

/// The worst that a check says of a motor.
struct Worst {
    Grade grade = Grade::note;
    double excess = 0.0, likelihood = 0.0;
};

Worst worst_like(const Finding& finding, const Findings& findings) {
    Worst worst;
    for (const Finding& other : findings) {
        if (!objects(other) || !alike(other, finding) || other.grade < worst.grade) continue;
        if (other.grade > worst.grade) worst = {other.grade, 0.0, 0.0};
        worst.excess = std::max(worst.excess, excess(other));
        worst.likelihood = std::max(worst.likelihood, other.likelihood.value_or(0.0));
    }
    return worst;
}

bool got_worse(const Finding& finding, const Findings& before, const Findings& after) {
    const Worst was = worst_like(finding, before), is = worst_like(finding, after);
    if (is.grade != was.grade) return is.grade > was.grade;
    // How far a rotor had slipped when its simulation ended says nothing.
    if (finding.check == "lost-steps") return is.likelihood > was.likelihood + kSameLikelihood;
    return is.excess > was.excess * (1.0 + kSameExcess);
}

machine::Machine with(const Change& change, machine::Machine machine) {
    for (const SettingChange& setting : change.settings)
        machine::apply(setting.to, machine);
    return machine;
}

class Search {
  public:
    Search(const CheckInput& input, const Findings& findings, const Recheck& recheck,
           const run::ProgressCall& progress)
        : input_(input), findings_(findings), recheck_(recheck), progress_(progress) {
        options_ = recheck.options;
        options_.watcher = nullptr;
        options_.cures = false;
    }

    /// Fills `first` where the change cures; false: it does not.
    bool try_change(const Finding& finding, const Change& change, ChangeFirst& first) {
        ++first.tried;
        const machine::Machine machine = with(change, input_.machine);
        const run::MotorModels models = run::motor_models(machine);
        if (!settings_may_hold(machine, models, finding)) return false;
        const double done = rechecks_++;
        run::ProgressCall part;
        if (progress_) part = [&](double share) { progress_((done + share) / kMostRechecks); };
        const auto sources = run::sources_of(machine, models, recheck_.programs, options_);
        const auto results = run::run_sources(machine, models, sources, options_, part);
        if (progress_) progress_((done + 1.0) / kMostRechecks);
        if (!results) return false;
        const CheckInput changed{machine, models, results.value(), input_.margin};
        Findings after = run_checks(changed);
        if (!cures(finding, findings_, after)) return false;
        add_guess_ends(changed, {recheck_.programs, options_}, after);
        if (!cures(finding, findings_, after)) return false;
        std::erase_if(after, [](const Finding& left) { return !objects(left); });
        sort_by_consequence(after);
        first.left = std::move(after);
        return true;
    }

    bool spent() const { return rechecks_ >= kMostRechecks; }

  private:
    /// What the settings alone ask does not go away with programs; it costs nothing to ask first.
    bool settings_may_hold(const machine::Machine& machine, const run::MotorModels& models,
                           const Finding& finding) const {
        Findings alone = run_checks({machine, models, {}, input_.margin});
        std::erase_if(alone, [](const Finding& f) { return f.check == "lost-steps"; });
        return cures(finding, findings_, alone);
    }

    const CheckInput& input_;
    const Findings& findings_;
    const Recheck& recheck_;
    const run::ProgressCall& progress_;
    run::RunOptions options_;
    int rechecks_ = 0;
};

bool refuted(const Finding& finding, const Change& change, const ChangeFirst& first) {
    return std::any_of(first.refuted.begin(), first.refuted.end(), [&](const Refuted& other) {
        return other.check == finding.check && other.motor == finding.motor &&
               other.change.settings == change.settings;
    });
}

}  // namespace

bool cures(const Finding& finding, const Findings& before, const Findings& after) {
    return std::none_of(after.begin(), after.end(), [&](const Finding& left) {
        return objects(left) && (alike(left, finding) || got_worse(left, before, after));
    });
}

bool too_long(const CheckInput& input) {
    return std::any_of(input.programs.begin(), input.programs.end(), [](const auto& program) {
        return program.planned_moves > run::kMostCureMoves;
    });
}

ChangeFirst unverified_change(const Findings& findings) {
    ChangeFirst first;
    if (findings.empty() || !objects(findings.front())) return first;
    first.cure = Cure::none_known;
    first.answers = findings.front();
    for (const Finding& finding : findings) {
        if (!objects(finding)) break;
        const Change* change = shown_change(finding, first);
        if (change == nullptr && !finding.lower) continue;
        first.cure = Cure::not_checked;
        first.answers = finding;
        if (change != nullptr) first.change = *change;
        break;
    }
    return first;
}

ChangeFirst verified_change(const CheckInput& input, const Findings& findings,
                            const Recheck& recheck, const run::ProgressCall& progress) {
    ChangeFirst first = unverified_change(findings);
    if (first.cure == Cure::not_needed || too_long(input)) return first;
    first.change = {};
    first.answers = findings.front();
    Search search(input, findings, recheck, progress);
    for (const Finding& finding : findings) {
        if (!objects(finding)) break;
        for (const Change& change : finding.changes) {
            if (search.spent()) break;
            if (refuted(finding, change, first)) continue;
            if (search.try_change(finding, change, first)) {
                first.cure = Cure::cures;
                first.change = change;
                first.answers = finding;
                return first;
            }
            first.refuted.push_back({finding.check, finding.motor, change});
        }
    }
    first.cure = first.tried > 0 ? Cure::none_cures : Cure::none_known;
    return first;
}

const Change* shown_change(const Finding& finding, const ChangeFirst& first) {
    for (const Change& change : finding.changes)
        if (!change.is_try && !refuted(finding, change, first)) return &change;
    return nullptr;
}

}  // namespace stepper_sim::check
