/// The sheet that goes with a trial program: conditions, rungs, and what the operator saw. Written with empty answers
/// (trial_text.hpp), filled in by hand, read back here; fit.hpp learns from it.
/// A sheet stands for itself: it holds all conditions of its trial, so that it can be fitted long after the settings changed.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/trial/trial_motion.hpp"

namespace stepper_sim::trial {

enum class RungResult : std::uint8_t { not_run, held, lost, resonance };

struct SheetRung {
    double value = 0.0;  // of what is in question, SI
    RungResult result = RungResult::not_run;
    planner::Place place;  // of the result
};

/// A number the operator measured, and where it stands.
struct SheetNumber {
    double value = 0.0;
    planner::Place place;
};

/// Torque at which the motor was seen to fall out of step at a speed of the axis.
struct SheetTorque {
    double speed_m_s = 0.0, torque_Nm = 0.0;
    planner::Place place;
};

/// A recorded trace of the trial's pulses (trial_capture.hpp).
struct SheetCapture {
    std::string file;  // beside the sheet, where it is no whole path
    planner::Place place;
};

struct TrialSheet {
    std::string file;
    char letter = 'X';
    int slot = 0;
    RungMotion motion;  // the value in question is that of no rung
    std::vector<SheetRung> rungs;
    std::optional<SheetNumber> frequency_Hz;  // of the axis's vibration
    std::optional<SheetNumber> ripples;       // swings until one tenth is left
    std::vector<SheetTorque> torques;
    std::optional<SheetCapture> capture;

    /// Something was filled in.
    bool answered() const;
};

/// Reads a sheet of a trial of this machine. Errors: the machine/ and units/ ids of tests/golden/errors, trial/other-machine,
/// trial/no-such-axis, trial/no-answer.
planner::Result<TrialSheet> read_sheet_text(std::string_view text, const std::string& name,
                                            const machine::Machine& machine);

/// The same from a file; also machine/no-file, machine/unreadable-file, machine/file-too-large.
planner::Result<TrialSheet> read_sheet(const std::string& file, const machine::Machine& machine);

}  // namespace stepper_sim::trial
