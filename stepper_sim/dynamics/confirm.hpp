/// The verdict on suspicious windows: the full model with both regulators, and at other damping where a long stretch runs above the
/// base speed. A window that passes is a prediction, not a proof; one that was never handed in is not a pass.
/// Model:   full_model.hpp
/// Formula: slips with both regulators at the nominal damping: likely; in any other run: possible; in none: passes
/// Symbols: none beyond full_model.hpp
/// Valid:   as the full model; windows must bring their own run-in (windows.hpp)
/// Source:  the two regulators bracket good and crude drives, derived by simulation; loss of synchronism at mid rates depends on damping:
///          L. Cao, H. M. Schwartz, Nonlinear Dynamics 18 (1999) 383 (abstract read)
/// Checked by: Confirm.SlipsOfBothRegulatorsAreLikely, Confirm.CruiseFarAboveTheCornerDependsOnDamping
#pragma once

#include <cstdint>
#include <span>

#include "stepper_sim/dynamics/full_model.hpp"

namespace stepper_sim {

enum class SlipVerdict : std::uint8_t { passes, possible, likely };

/// One window to confirm; axis and edges must outlive the call.
struct WindowCase {
    const AxisDynamics* axis = nullptr;
    std::span<const StepEdge> edges;
    double duration_s = 0.0;
    double start_rate_rad_s = 0.0;
    double top_rate_rad_s = 0.0;
    bool long_fast_stretch =
        false;                // tried also at 1/3 and 3 times the viscous friction of the rotor
    bool until_lost = false;  // only whether it slips is asked for
};

struct Confirmation {
    SlipVerdict verdict = SlipVerdict::passes;
    WindowOutcome dead_beat, mixed_decay;  // at the nominal damping
    double peak_load_angle_rad = 0.0;      // electrical, largest of all runs made
    double lost_time_s = -1.0;             // earliest loss of synchronism in any run; < 0: none
    int runs = 0, slips = 0;
    bool damping_decides = false;  // a long cruise holds at one damping and slips at another
};

/// Confirms windows together (batched); result i belongs to case i.
void confirm(std::span<const WindowCase> cases, std::span<Confirmation> results);

}  // namespace stepper_sim
