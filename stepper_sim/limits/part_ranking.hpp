/// Which motor and driver to buy for an axis: all of a catalogue that fit, by the time that programs take with the speed and the
/// acceleration that torque and step rate then leave. Resonance is not looked at: whether the values hold is limits.hpp's business.
/// Model:   each pair of motor and driver at the motor's rated current, or the driver's where that is less; the largest acceleration at
///          some speeds, the pair of both that is worth most; other axes and the speed step as they are
/// Formula: a(v) = largest a with asked(u, a) <= (1 - margin) low(u) for all u <= v; without programs the time of a stroke of length L
///          is L/v + v/a where v^2/a <= L, else 2 sqrt(L/a)
/// Symbols: u, v = travel of belt or nut [m/s], a = acceleration [m/s^2]; asked, low = torques [N m]
/// Valid:   fits: the same flange, no rating broken at the axis's supply and microsteps; the motor's own mass is not added to what moves
/// Source:  trapezoid from rest to rest: textbook; derived here; Guess: the speeds that are tried
/// Checked by: PartRanking.SettingsLeaveTheMarginAndNoMore, PartRanking.AStrongerMotorComesFirst,
///             PartRanking.WhatBreaksARatingIsLeftOut, PartRanking.CrossedBeltsGetTwo
#pragma once

#include <functional>
#include <span>
#include <string>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/machine/catalogue.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/run/program_source.hpp"

namespace stepper_sim::limits {

struct RankedPart {
    std::string motor;
    std::vector<std::string> drivers;  // all that make no difference, the axis's own first
    double current_rms_A = 0.0;
    double speed_m_s = 0.0, acceleration_m_s2 = 0.0;
    double duration_s = 0.0;  // of the programs, or of the stroke
    bool present = false;     // the axis's own motor and driver, at the axis's own current
};

struct PartRanking {
    std::vector<RankedPart>
        parts;               // shortest time first; equal to kToldShare: more acceleration first
    double present_s = 0.0;  // with the settings as they are
    double stroke_m = 0.0;   // without programs; else 0
    int frame = 0;           // tenths of an inch; 0: not known, every motor is taken
    int other_frames = 0;    // motors left out
    int rating_broken = 0;   // pairs left out
    int too_weak = 0;        // pairs that cannot move the axis with the margin
};

/// `progress`: called now and then, from any thread, with the share done. Errors: those of plan_file.hpp.
planner::Result<PartRanking> rank_parts(const machine::Machine& machine, int slot,
                                        const machine::Catalogue& catalogue,
                                        std::span<const run::ProgramSource> programs, double margin,
                                        const std::function<void(double)>& progress = {});

}  // namespace stepper_sim::limits
