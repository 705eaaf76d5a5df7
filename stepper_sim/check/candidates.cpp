#include "stepper_sim/check/candidates.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "stepper_sim/check/steps_fit.hpp"
#include "stepper_sim/run/worst_motions.hpp"

namespace stepper_sim::check::candidates {

namespace {

// Guess: with coarser steps the swing of every single one is heard and seen, whatever the step rate gains.
constexpr int kFewestMicrosteps = 4;
constexpr int kMostMicrosteps = 256;  // of any driver in the catalogue

/// What drivers of unknown settings usually offer: powers of two. Common practice, no source.
std::vector<int> offered(const machine::DriverPart& driver) {
    if (!driver.microsteps.empty()) return driver.microsteps;
    std::vector<int> powers;
    for (int microsteps = 1; microsteps <= kMostMicrosteps; microsteps *= 2)
        powers.push_back(microsteps);
    return powers;
}

/// The highest speed of an axis, as its settings and its travel allow or as programs reach it.
double reached_m_s(const CheckInput& input, std::size_t slot, Reached reached) {
    double top_m_s = 0.0;
    if (reached == Reached::in_programs)
        for (const run::ProgramResult& program : input.programs)
            top_m_s = std::max(top_m_s, program.axes[slot].peak_speed_m_s);
    else
        for (const run::WorstMotion& motion : run::worst_motions(input.machine))
            top_m_s = std::max(top_m_s, std::abs(motion.speed_m_s[slot]));
    return std::min(top_m_s, input.machine.axes[slot].settings.max_speed.value());
}

template <class Value>
Change of_moving_axes(const CheckInput& input, std::size_t motor, machine::SettingKey key,
                      Value&& value) {
    const motor::MotorLoad& load = input.models.loads.motors[motor];
    Change change;
    for (std::size_t i = 0; i < load.axis.size(); ++i) {
        if (load.motion[i] == 0.0) continue;
        const auto slot = static_cast<std::size_t>(load.axis[i]);
        const char letter = input.machine.axes[slot].letter;
        change.settings.push_back(set(input.machine, letter, key, value(slot)));
    }
    return change;
}

/// A driver's rating whose basis the maker leaves open is read as a peak: the cautious way.
planner::Current driver_rms(const machine::RatedCurrent& rating) {
    return rating.basis == machine::CurrentBasis::rms ? rating.value
                                                      : rating.value / std::numbers::sqrt2;
}

}  // namespace

SettingChange set(const machine::Machine& machine, char axis, machine::SettingKey key,
                  double value) {
    return {{axis, key, machine::rounded(key, value)}, machine::present_value(machine, axis, key)};
}

void add(std::vector<Change>& changes, Change change) {
    std::erase_if(change.settings, [](const SettingChange& setting) {
        return !(setting.to.value > 0.0) || setting.to.value == setting.now;
    });
    if (change.settings.empty()) return;
    const bool known = std::any_of(changes.begin(), changes.end(), [&](const Change& other) {
        return other.settings == change.settings;
    });
    if (!known) changes.push_back(std::move(change));
}

void join(Change& change, const Change& more) {
    for (const SettingChange& setting : more.settings) {
        const auto same =
            std::find_if(change.settings.begin(), change.settings.end(), [&](const auto& other) {
                return other.to.axis == setting.to.axis && other.to.key == setting.to.key;
            });
        if (same == change.settings.end())
            change.settings.push_back(setting);
        else
            same->to.value = std::min(same->to.value, setting.to.value);
    }
}

Change scaled(const CheckInput& input, std::size_t motor, machine::SettingKey key, double share,
              bool is_try) {
    Change change = of_moving_axes(input, motor, key, [&](std::size_t slot) {
        return share * machine::present_value(input.machine, input.machine.axes[slot].letter, key);
    });
    change.is_try = is_try;
    return change;
}

Change slower(const CheckInput& input, std::size_t motor, double share, Reached reached) {
    return of_moving_axes(input, motor, machine::SettingKey::max_speed, [&](std::size_t slot) {
        return share * reached_m_s(input, slot, reached);
    });
}

std::optional<Change> fewer_microsteps(const CheckInput& input, std::size_t motor, double share) {
    const machine::Axis& axis = input.machine.axes[motor];
    if (!steps_fit(axis)) return std::nullopt;
    int best = 0;
    for (const int microsteps : offered(axis.driver))
        if (microsteps >= kFewestMicrosteps && microsteps < axis.microsteps &&
            microsteps <= share * axis.microsteps)
            best = std::max(best, microsteps);
    if (best == 0) return std::nullopt;
    Change change;
    change.settings = {set(input.machine, axis.letter, machine::SettingKey::microsteps, best),
                       set(input.machine, axis.letter, machine::SettingKey::steps_per_mm,
                           axis.steps_per_m() * best / axis.microsteps)};
    return change;
}

void add_slower_steps(const CheckInput& input, std::size_t motor, double share, Reached reached,
                      std::vector<Change>& changes) {
    if (!(share < 1.0)) return;
    const std::optional<Change> fewer = fewer_microsteps(input, motor, share);
    const bool stays_fine =
        fewer && fewer->settings.front().to.value >= static_cast<double>(kFineMicrosteps);
    if (stays_fine) add(changes, *fewer);
    add(changes, slower(input, motor, share, reached));
    if (fewer) add(changes, *fewer);
}

SettingChange highest_current(const machine::Machine& machine, const machine::Axis& axis) {
    planner::Current rms = axis.motor.rated_current.rms();
    if (axis.driver.current_max) rms = std::min(rms, driver_rms(*axis.driver.current_max));
    return set(machine, axis.letter, machine::SettingKey::current, rms.value());
}

}  // namespace stepper_sim::check::candidates
