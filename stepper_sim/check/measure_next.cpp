#include "stepper_sim/check/measure_next.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/run/run_sources.hpp"

namespace stepper_sim::check {

namespace {

// Guess: less than this of a motor's torque is not worth a measurement.
constexpr double kWorthIt = 0.05;
// Guess: above this a motor is lost either way.
constexpr double kAllTheSame = 3.0;

/// What one motor uses, by kind.
struct Use {
    double torque = 0.0, step = 0.0, swing = 0.0;
};
using Uses = std::vector<Use>;

Uses uses_of(std::span<const run::ProgramResult> results, std::size_t motors) {
    Uses uses(motors);
    for (const run::ProgramResult& result : results)
        for (std::size_t m = 0; m < motors; ++m) {
            const auto keep = [](double& most, double use) {
                most = std::max(most, std::min(use, kAllTheSame));
            };
            keep(uses[m].torque, result.motors[m].torque.use_low);
            keep(uses[m].step, result.motors[m].speed_step.use_low);
            keep(uses[m].swing, result.slips.motors[m].swing);
        }
    return uses;
}

class Search {
  public:
    Search(const CheckInput& input, const Recheck& recheck) : input_(input), recheck_(recheck) {
        options_ = recheck.options;
        options_.watcher = nullptr;
        options_.cures = false;
        options_.most_windows = 0;
    }

    void guess(const Guess& guess) {
        const auto at = [&](double value) {
            machine::Machine machine = input_.machine;
            set_guess(guess, value, machine);
            // Only springs need the screen of swings, which takes most of the time.
            return run(machine, guess.key == GuessKey::stiffness || guess.key == GuessKey::damping);
        };
        consider(at(guess.band.low), at(guess.band.high), path_of(guess), band_text(guess),
                 bench(guess), never_clear_without(guess));
    }

    /// The torque itself, known from plate or curve: its band is the one that every use stands in.
    void torque(std::size_t slot) {
        const machine::Axis& axis = input_.machine.axes[slot];
        if (axis.running_factor) return;
        Uses low(input_.machine.axes.size()), high = low;
        for (const run::ProgramResult& result : input_.programs) {
            const run::TorqueMoment& moment = result.motors[slot].torque;
            if (std::min(moment.use_low, kAllTheSame) <= low[slot].torque) continue;
            low[slot].torque = std::min(moment.use_low, kAllTheSame);
            high[slot].torque = moment.use_high;
        }
        const auto letter = planner::axis_key(axis.letter);
        consider(high, low, fmt::format("axes.{}.running_factor", letter),
                 "the torque between its low and its high figure",
                 fmt::format("let 'stepper_sim trial --axis {} --raise speed' find where it loses "
                             "steps, and 'fit' the sheet",
                             letter),
                 false);
    }

    std::optional<Measurement> best() const { return best_; }

  private:
    Uses run(const machine::Machine& machine, bool dynamics) const {
        run::RunOptions options = options_;
        options.dynamics = options.dynamics && dynamics;
        const run::MotorModels models = run::motor_models(machine);
        const auto sources = run::sources_of(machine, models, recheck_.programs, recheck_.options);
        const auto results = run::run_sources(machine, models, sources, options);
        if (!results) return {};
        return uses_of(results.value(), machine.axes.size());
    }

    void consider(const Uses& a, const Uses& b, const std::string& path, const std::string& band,
                  const std::string& how, bool needed) {
        if (a.size() != b.size()) return;
        for (std::size_t m = 0; m < a.size(); ++m) {
            const auto of = [&](std::string_view what, double one, double other) {
                const double moves = std::fabs(one - other);
                const bool better =
                    !best_ || needed > best_->needed || (needed == best_->needed && moves > moved_);
                if ((moves < kWorthIt && !needed) || !better) return;
                moved_ = moves;
                best_ = Measurement{path,
                                    band,
                                    how,
                                    input_.machine.axes[m].letter,
                                    what,
                                    std::min(one, other),
                                    std::max(one, other),
                                    needed};
            };
            of("torque", a[m].torque, b[m].torque);
            of("speed step", a[m].step, b[m].step);
            of("swing", a[m].swing, b[m].swing);
        }
    }

    bool never_clear_without(const Guess& guess) const {
        return guess.key == GuessKey::stiffness &&
               input_.machine.axes[guess.slot].drive.belt_pitch.has_value();
    }

    static std::string bench(const Guess& guess) {
        switch (guess.key) {
            case GuessKey::stiffness:
                return "with the motors on, pull the tool with a scale and read the millimetres on "
                       "a "
                       "ruler: newtons a millimetre; or tap it, record the hum with a microphone "
                       "and "
                       "take k = m (2 pi f)^2";
            case GuessKey::damping:
                return "tap the tool and count in a recording how many swings halve it: 0.11 over "
                       "that number";
            case GuessKey::friction:
                return "with the motors off, pull the axis slowly with a scale and read the force "
                       "that "
                       "keeps it moving";
            case GuessKey::rotor_inertia:
                return "find the motor's data sheet";
            case GuessKey::resistance:
                return "measure one winding with a meter, cold, less that of its leads";
            case GuessKey::inductance:
                return "measure one winding with an LCR meter at 1 kHz";
            case GuessKey::current:
                break;
        }
        return "read V_ref at the driver and take the formula of its data sheet, which says peak "
               "or "
               "RMS; or measure one phase with the motor held";
    }

    const CheckInput& input_;
    const Recheck& recheck_;
    run::RunOptions options_;
    std::optional<Measurement> best_;
    double moved_ = 0.0;
};

}  // namespace

std::optional<Measurement> measure_next(const CheckInput& input, const Recheck& recheck) {
    Search search(input, recheck);
    if (!too_long(input))
        for (const Guess& guess : guesses_of(input.machine, input.models))
            search.guess(guess);
    for (std::size_t slot = 0; slot < input.machine.axes.size(); ++slot)
        search.torque(slot);
    return search.best();
}

std::string sentence_of(const Measurement& m) {
    std::string uses;
    if (m.use_high > m.use_low)
        uses = fmt::format("between its ends motor {} uses {} to {} of its {}", m.motor,
                           words::percent(m.use_low), words::percent(m.use_high), m.of);
    if (m.needed) uses += std::string(uses.empty() ? "" : ", and ") + "nothing is clear without it";
    return fmt::format("{} ({}): {}; {}", m.path, m.band, uses, m.how);
}

}  // namespace stepper_sim::check
