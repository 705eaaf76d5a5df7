/// What would cure a slip: the largest value of one setting with which the program no longer slips
/// on that motor, found by planning, screening and simulating it again.
/// Model:   slips come in bands, so the lowest band is looked for first, from above; then between what holds and what does not
/// Formula: 1/2, 1/4 and 1/10 of the setting in turn; from the first that holds five halvings of the logarithm up: x <- sqrt(low high)
/// Symbols: low, high = shares of the setting that hold and that do not
/// Valid:   within 1 to 3 % of the best of its band; another band above may hold too
/// Source:  bisection: textbook; Guess: the three shares
/// Checked by: SlipCure.HoldsAndOneGrainMoreSlipsWhicheverSettingIsLowered, SlipCure.ThereIsNoneWhereATenthOfTheSettingSlipsToo
#pragma once

#include <cstdint>
#include <optional>

#include "stepper_sim/run/demand.hpp"
#include "stepper_sim/run/plan_file.hpp"
#include "stepper_sim/run/slip_confirm.hpp"
#include "stepper_sim/run/slip_result.hpp"

namespace stepper_sim::run {

/// Programs longer than this are not planned again and again for a remedy.
inline constexpr std::uint64_t kMostCureMoves = 200000;

/// Looks from the present value down to a tenth of it; empty where even that slips. `options` are
/// those of the check.
std::optional<SlipCure> find_cure(const machine::Machine& machine, const MotorModels& models,
                                  const ProgramSource& program, int motor,
                                  machine::SettingKey setting, const ConfirmOptions& options,
                                  const ProgressCall& progress = {});

}  // namespace stepper_sim::run
