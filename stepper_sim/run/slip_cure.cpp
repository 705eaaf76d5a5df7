#include "stepper_sim/run/slip_cure.hpp"

#include <algorithm>
#include <array>
#include <vector>

#include "planner/units/bisect.hpp"
#include "stepper_sim/run/slip_confirm.hpp"
#include "stepper_sim/run/slip_screen.hpp"

namespace stepper_sim::run {

namespace {

// Tried first, in turn: slips come in bands, and a very low value may lie in one of its own.
constexpr std::array kLowScales{0.5, 0.25, 0.1};
// Halvings of the logarithm from 1 to what holds: the value found is within 1 to 3 % of the best of its band.
constexpr int kTrials = 5;

/// The machine with the setting of every axis that this motor moves scaled.
machine::Machine scaled(machine::Machine machine, const motor::MotorLoad& motor,
                        machine::SettingKey setting, double scale) {
    for (std::size_t i = 0; i < motor.axis.size(); ++i) {
        if (motor.motion[i] == 0.0) continue;
        const char axis = machine.axes[motor.axis[i]].letter;
        machine::apply({axis, setting, scale * machine::present_value(machine, axis, setting)},
                       machine);
    }
    return machine;
}

/// `options.hints`: what slips becomes the suspect.
bool holds(const machine::Machine& machine, const MotorModels& models, const ProgramSource& program,
           int motor, ConfirmOptions& options) {
    SlipScreen screen(machine, models, options.margin);
    const auto planned =
        plan_file(machine, program, [&](std::span<const planner::MotorMove> moves) {
            screen.push(moves);
            return true;
        });
    if (!planned) return false;
    std::vector<MotorScreen> screens = screen.finish();
    // Windows belong to the first motor of a plant.
    for (const std::vector<std::size_t>& slots : plants_of(machine))
        if (std::ranges::find(slots, static_cast<std::size_t>(motor)) == slots.end())
            screens[slots.front()] = {};
    const auto held = all_hold(machine, models, program, std::move(screens), options);
    if (held && held.value().slip) {
        options.hints.suspect = held.value().slip->answer.harshest;
        options.hints.suspect_motor = held.value().slip->motor;
    }
    return held && held.value().holds;
}

}  // namespace

std::optional<SlipCure> find_cure(const machine::Machine& machine, const MotorModels& models,
                                  const ProgramSource& program, int motor,
                                  machine::SettingKey setting, const ConfirmOptions& options,
                                  const ProgressCall& progress) {
    const motor::MotorLoad& load = models.loads.motors[static_cast<std::size_t>(motor)];
    ConfirmOptions asked = options;
    int tried = 0;
    const auto holds_at = [&](double scale) {
        if (progress)
            progress(static_cast<double>(tried++) /
                     static_cast<double>(kTrials + kLowScales.size()));
        return holds(scaled(machine, load, setting, scale), models, program, motor, asked);
    };
    const auto* lowest = std::ranges::find_if(kLowScales, holds_at);
    if (lowest == kLowScales.end()) return std::nullopt;
    const double fails = lowest == kLowScales.begin() ? 1.0 : *(lowest - 1);
    return SlipCure{setting, planner::bisect_ratio({*lowest, fails}, kTrials, holds_at).holds};
}

}  // namespace stepper_sim::run
