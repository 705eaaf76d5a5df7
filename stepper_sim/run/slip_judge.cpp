#include "stepper_sim/run/slip_judge.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numbers>
#include <optional>

#include "stepper_sim/dynamics/spread.hpp"
#include "stepper_sim/run/least_damping.hpp"

namespace stepper_sim::run {

namespace {

constexpr double kTurn_rad = 2.0 * std::numbers::pi;
// Draws behind a likelihood: good to about 9 points.
constexpr int kDraws = 32;
constexpr std::uint64_t kSeed = 20261125;
// At the corners of the spread a swing may pass the peak by a tenth of a right angle. Fixed on seeds 1, 7 and 8 of bench/adversary.cpp: another model of
// the same motor slips in many windows that go further.
constexpr double kPastPeak_rad = 0.05 * std::numbers::pi;
// Guess: above the base speed the current lags by so much at most before it fails to follow.
constexpr double kFastPastPeak_rad = 0.125 * std::numbers::pi;

bool milder(const dynamics::PlantVariant& a, const dynamics::PlantVariant& b) {
    const auto off = [](const dynamics::PlantVariant& v) {
        return std::fabs(std::log(v.torque)) + std::fabs(std::log(v.friction)) +
               std::fabs(std::log(v.stiffness)) + std::fabs(std::log(v.mass)) +
               (v.edge == dynamics::BandEdge::nominal ? 0.0 : 0.1);
    };
    return off(a) < off(b);
}

bool nominal_spread(const dynamics::PlantVariant& v) {
    return v.torque == 1.0 && v.friction == 1.0 && v.stiffness == 1.0 && v.mass == 1.0;
}

/// Of two motors on one plant, the one that fares worse tells.
dynamics::WindowOutcome worse(const dynamics::WindowOutcome& a, const dynamics::WindowOutcome& b) {
    if (a.slipped() != b.slipped()) return a.slipped() ? a : b;
    return a.peak_load_angle_rad >= b.peak_load_angle_rad ? a : b;
}

bool one_slips(std::span<const JudgedWindow> windows) {
    return std::ranges::any_of(
        windows, [](const JudgedWindow& w) { return w.slip.answer.slips_anywhere(); });
}

/// Keeps the earliest loss.
void note_losses(std::span<const dynamics::WindowOutcome> outcomes, SlipAnswer& answer) {
    for (const dynamics::WindowOutcome& outcome : outcomes)
        if (outcome.lost_synchronism &&
            (answer.lost_time_s < 0.0 || outcome.lost_time_s < answer.lost_time_s))
            answer.lost_time_s = outcome.lost_time_s;
}

}  // namespace

SlipJudge::SlipJudge(const machine::Machine& machine, const MotorModels& models,
                     const JudgeRules& rules)
    : machine_(machine), rules_(rules) {
    for (int m = 0; m < static_cast<int>(machine.axes.size()); ++m) {
        const auto& available = models.available[static_cast<std::size_t>(m)];
        for (const dynamics::BandEdge edge :
             {dynamics::BandEdge::low, dynamics::BandEdge::nominal, dynamics::BandEdge::high})
            axes_[static_cast<std::size_t>(edge)].push_back(
                dynamics::axis_dynamics(machine, models.loads, available, m, edge));
        springs_.push_back(dynamics::spring_band(machine, models.loads, m));
    }
}

void SlipJudge::describe(JudgedWindow& window) const {
    SlipWindow& slip = window.slip;
    const dynamics::AxisDynamics& nominal = axis(dynamics::BandEdge::nominal, window.slot(0));
    slip.natural_hz = dynamics::vibration_modes(nominal).mode[0].rate_rad_s / kTurn_rad;
    const double corner = dynamics::base_rate_rad_s(nominal);
    if (corner > 0.0) slip.base_share = slip.window.top_rate_rad_s / corner;
    slip.ripple_hz =
        std::fabs(slip.window.ratio_rate_rad_s) / dynamics::microstep_angle_rad(nominal);
}

dynamics::AxisDynamics SlipJudge::variant_of(const dynamics::PlantVariant& variant,
                                             std::size_t slot) const {
    dynamics::AxisDynamics out = dynamics::varied(axis(variant.edge, slot), variant);
    if (!nominal_spread(variant))
        out.coupling_damping_Nms_rad *= least_damping(machine_.axes[slot]);
    return out;
}

std::vector<std::vector<dynamics::WindowOutcome>> SlipJudge::simulate_all(
    std::span<JudgedWindow* const> windows, std::span<const std::vector<Run>> runs,
    bool until_lost) const {
    std::size_t count = 0;
    for (std::size_t w = 0; w < windows.size(); ++w)
        count += runs[w].size() * windows[w]->motor_count();
    std::vector<dynamics::AxisDynamics> axes;
    axes.reserve(count);
    std::vector<dynamics::WindowRun> all;
    struct Asked {
        std::uint64_t key;
        dynamics::WindowOutcome* answer;
        std::size_t motors;
    };
    std::vector<Asked> asked;
    WindowMemo* const memo = rules_.hints.memo;
    std::vector<std::vector<dynamics::WindowOutcome>> answers(windows.size());
    for (std::size_t w = 0; w < windows.size(); ++w) {
        const JudgedWindow& window = *windows[w];
        const dynamics::Window& span = window.slip.window;
        answers[w].resize(runs[w].size());
        for (std::size_t r = 0; r < runs[w].size(); ++r) {
            const Run& run = runs[w][r];
            std::array<dynamics::WindowRun, 2> plant;
            for (std::size_t i = 0; i < window.motor_count(); ++i) {
                const JudgedMotor& motor = window.motors[i];
                axes.push_back(variant_of(run.variant, window.slot(i)));
                plant[i] = {&axes.back(),
                            motor.edges,
                            span.end_s - span.run_in_s,
                            motor.start_rate_rad_s,
                            span.top_rate_rad_s,
                            run.regulator,
                            run.viscous_factor,
                            until_lost && !nominal_spread(run.variant),
                            window.motor_count() == 2 && i == 0};
            }
            const auto motors = std::span(plant).first(window.motor_count());
            const std::uint64_t key = memo != nullptr ? WindowMemo::key(motors) : 0;
            if (memo != nullptr)
                if (const auto known = memo->find(key)) {
                    answers[w][r] = *known;
                    continue;
                }
            asked.push_back({key, &answers[w][r], motors.size()});
            all.insert(all.end(), motors.begin(), motors.end());
        }
    }
    std::vector<dynamics::WindowOutcome> outcomes(all.size());
    dynamics::simulate(all, outcomes);
    std::size_t next = 0;
    for (const Asked& one : asked) {
        *one.answer = outcomes[next++];
        if (one.motors == 2) *one.answer = worse(*one.answer, outcomes[next++]);
        if (memo != nullptr) memo->keep(one.key, *one.answer);
    }
    return answers;
}

void SlipJudge::take(const Tried& tried) const {
    SlipWindow& slip = tried.window->slip;
    SlipAnswer& answer = slip.answer;
    answer = {};
    const Run *mildest = nullptr, *harshest = nullptr;
    for (std::size_t i = 0; i < tried.runs.size(); ++i) {
        const Run& run = tried.runs[i];
        const dynamics::WindowOutcome& outcome = tried.outcomes[i];
        const bool sine = run.regulator == dynamics::CurrentRegulator::dead_beat;
        answer.peak_angle_rad = std::max(answer.peak_angle_rad, outcome.peak_load_angle_rad);
        if (sine && run.variant.edge == dynamics::BandEdge::low && nominal_spread(run.variant))
            answer.low_angle_rad = outcome.peak_load_angle_rad;
        if (!outcome.slipped()) continue;
        ++answer.slips;
        const bool better =
            mildest == nullptr ||
            (sine && mildest->regulator == dynamics::CurrentRegulator::mixed_decay) ||
            (sine == (mildest->regulator == dynamics::CurrentRegulator::dead_beat) &&
             milder(run.variant, mildest->variant));
        if (better) mildest = &run;
        if (harshest == nullptr || milder(harshest->variant, run.variant)) harshest = &run;
    }
    answer.runs = static_cast<int>(tried.runs.size());
    note_losses(tried.outcomes, answer);
    if (mildest != nullptr) {
        answer.verdict = SlipVerdict::possible;
        answer.slips_at = mildest->variant;
        answer.chopper_alone = mildest->regulator == dynamics::CurrentRegulator::mixed_decay;
        answer.viscous_factor = mildest->viscous_factor;
        answer.harshest = *harshest;
    } else if (!slip.window.long_fast_stretch) {
        const double peak_rad =
            peak_of_torque_rad(axis(dynamics::BandEdge::low, tried.window->slot(0)));
        answer.past_peak =
            (answer.low_angle_rad > peak_rad && !slip.fast()) ||
            answer.peak_angle_rad > peak_rad + (slip.fast() ? kFastPastPeak_rad : kPastPeak_rad);
        if (answer.past_peak) answer.verdict = SlipVerdict::possible;
    }
}

/// Where the edges of torque all slip, with every regulator that may be the driver's, nothing favourable is left.
void SlipJudge::tell_likely(std::span<JudgedWindow* const> slipping) const {
    std::vector<std::vector<Run>> runs;
    for (const JudgedWindow* window : slipping)
        runs.push_back(nominal_runs(*window));
    const auto outcomes = simulate_all(slipping, runs, false);
    for (std::size_t w = 0; w < slipping.size(); ++w) {
        if (!std::ranges::all_of(outcomes[w],
                                 [](const dynamics::WindowOutcome& o) { return o.slipped(); }))
            continue;
        SlipAnswer& answer = slipping[w]->slip.answer;
        answer.verdict = SlipVerdict::likely;
        answer.lost_time_s = -1.0;  // the place is that of the machine as its file has it
        note_losses(outcomes[w], answer);
    }
}

/// The same once more with the pulses as planned: what then holds slips for the controller's sake.
void SlipJudge::tell_late(std::span<JudgedWindow* const> slipping) const {
    for (JudgedWindow* window : slipping) {
        JudgedWindow punctual = *window;
        bool known = true;
        for (std::size_t i = 0; i < punctual.motor_count(); ++i) {
            known = known && !punctual.motors[i].phases.empty();
            punctual.motors[i].edges = dynamics::ideal_edges(
                punctual.motors[i].phases,
                dynamics::microstep_angle_rad(axis(dynamics::BandEdge::nominal, punctual.slot(i))));
        }
        if (!known) continue;
        JudgedWindow* one = &punctual;
        const std::vector<std::vector<Run>> runs{spread_runs(punctual)};
        const auto outcomes = simulate_all({&one, 1}, runs, true);
        window->slip.answer.only_late = std::ranges::none_of(
            outcomes[0], [](const dynamics::WindowOutcome& o) { return o.slipped(); });
    }
}

double SlipJudge::likelihood(const JudgedWindow& window) const {
    const dynamics::CurrentRegulator regulator = window.slip.answer.chopper_alone
                                                     ? dynamics::CurrentRegulator::mixed_decay
                                                     : dynamics::CurrentRegulator::dead_beat;
    std::array<dynamics::WindowRun, 2> motors;
    dynamics::Spread spread;
    for (std::size_t i = 0; i < window.motor_count(); ++i) {
        const std::size_t slot = window.slot(i);
        const dynamics::Window& span = window.slip.window;
        motors[i] = {&axis(dynamics::BandEdge::nominal, slot),
                     window.motors[i].edges,
                     span.end_s - span.run_in_s,
                     window.motors[i].start_rate_rad_s,
                     span.top_rate_rad_s,
                     regulator,
                     1.0,
                     true,
                     i + 1 < window.motor_count()};
        const double nominal = axis(dynamics::BandEdge::nominal, slot).torque_factor;
        spread.torque_low_factor = axis(dynamics::BandEdge::low, slot).torque_factor / nominal;
        spread.torque_high_factor = axis(dynamics::BandEdge::high, slot).torque_factor / nominal;
        spread.stiffness_low_factor = springs_[slot].soft;
        spread.stiffness_high_factor = springs_[slot].stiff;
    }
    return dynamics::slip_likelihood({motors.data(), window.motor_count()}, spread, kDraws, kSeed);
}

void SlipJudge::judge(std::span<JudgedWindow> windows) {
    std::vector<Tried> tried;
    for (JudgedWindow& window : windows) {
        describe(window);
        tried.push_back({&window, {}, {}});
    }
    std::vector<Tried*> all, near, close;
    for (Tried& one : tried)
        all.push_back(&one);
    if (rules_.hints.suspect) {
        run_and_take(all, &SlipJudge::suspect_run);
        if (one_slips(windows)) return;
    }
    run_and_take(all, &SlipJudge::first_runs);
    if (rules_.until_lost && one_slips(windows)) return;
    std::ranges::copy_if(all, std::back_inserter(near),
                         [&](const Tried* one) { return near_the_edge(*one->window); });
    run_and_take(near, &SlipJudge::spread_runs);
    if (rules_.until_lost && one_slips(windows)) return;
    std::ranges::copy_if(near, std::back_inserter(close),
                         [&](const Tried* one) { return close_to_the_peak(*one->window); });
    run_and_take(close, &SlipJudge::fine_runs);
    if (rules_.until_lost) return;
    std::vector<JudgedWindow*> slipping;
    for (const Tried* one : near)
        if (one->window->slip.answer.slips_anywhere()) slipping.push_back(one->window);
    if (slipping.empty()) return;
    tell_likely(slipping);
    if (rules_.pulses_late) tell_late(slipping);
    for (JudgedWindow* window : slipping) {
        if (drawn_ >= rules_.most_likelihoods) break;
        ++drawn_;
        window->slip.likelihood = likelihood(*window);
    }
}

void SlipJudge::run_and_take(std::span<Tried* const> all,
                             std::vector<Run> (SlipJudge::*runs_of)(const JudgedWindow&) const) {
    std::vector<JudgedWindow*> windows;
    std::vector<std::vector<Run>> runs;
    for (const Tried* one : all) {
        windows.push_back(one->window);
        std::erase_if(runs.emplace_back((this->*runs_of)(*one->window)), [&](const Run& run) {
            return std::ranges::find(one->runs, run) != one->runs.end();
        });
    }
    auto outcomes = simulate_all(windows, runs, rules_.until_lost);
    for (std::size_t w = 0; w < all.size(); ++w) {
        all[w]->runs.insert(all[w]->runs.end(), runs[w].begin(), runs[w].end());
        all[w]->outcomes.insert(all[w]->outcomes.end(), outcomes[w].begin(), outcomes[w].end());
        take(*all[w]);
    }
}

}  // namespace stepper_sim::run
