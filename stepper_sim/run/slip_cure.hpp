/// What would cure a slip: the largest value of one setting with which the program no longer slips
/// on that motor, found by planning, screening and simulating it again.
#pragma once

#include <cstdint>
#include <optional>

#include "stepper_sim/run/demand.hpp"
#include "stepper_sim/run/plan_file.hpp"
#include "stepper_sim/run/slip_confirm.hpp"
#include "stepper_sim/run/slip_result.hpp"

namespace stepper_sim {

/// Programs longer than this are not planned again and again for a remedy.
inline constexpr std::uint64_t kMostCureMoves = 200000;

/// Looks from the present value down to a tenth of it; empty where even that slips. `options` are
/// those of the check.
std::optional<SlipCure> find_cure(const Machine& machine, const MotorModels& models,
                                  const ProgramSource& program, int motor, SettingKey setting,
                                  const ConfirmOptions& options, const ProgressCall& progress = {});

}  // namespace stepper_sim
