/// The verdict on windows that are ready to be simulated: the full model over the spread of what the machine may be. slip_confirm.hpp
/// gathers their pulses.
/// Model:   every window runs first at a few corners: the low torque less the margin with least and with most friction and the high torque,
///          tuned to what shakes it, the first of these soft and stiff too, and the low torque with all else nominal. Where none comes
///          near the peak of its torque it holds; one that is like a riskier one, which is looked at too, may come nearer and runs at four
///          of these. Others run at the low torque less the margin, at the nominal and at the high torque, soft, tuned and stiff
///          (plant_variant.hpp), with least and most friction; with a good sine regulator, and where the driver is a simple chopper at
///          some of these with one too. Where a window that holds comes close to the peak, frequencies between these run as well.
///          Cruises above the base speed also run at a third and at three times the bearing friction.
/// Formula: tuned: slow mode = n f, n = 1 to 5, and 0.15 of the band stiffer; peak = pi/2 (1 + 1/(2 m)); holds: angle < 0.67 peak;
///          likely: slips at the low, the nominal and the high torque alike, all else as in the machine file; possible: slips in any
///          other run, or swings past the peak, at the corners a tenth past it
/// Symbols: f = rate of the reversals [Hz], m = microsteps, angle = largest load angle [rad electrical]
/// Valid:   as full_model.hpp; a driver declared a sine regulator is not judged by a chopper
/// Source:  torque over load angle is a sine: textbook; the tenth is fixed on bench/adversary.cpp; Guess: the other shares
/// Checked by: LostSteps.EveryWindowIsSimulatedWithAllItsPulses, LostSteps.ALongCruiseAboveTheCornerSpeedIsSimulatedAtOtherDampingToo,
///             LostSteps.TheThinWedgeIsFlaggedWhereReversalsMeetTheBedsFrequencyAndClearAfterTheChange; bench/adversary.cpp
#pragma once

#include <array>
#include <optional>
#include <span>
#include <vector>

#include "stepper_sim/dynamics/full_model.hpp"
#include "stepper_sim/run/demand.hpp"
#include "stepper_sim/run/slip_result.hpp"
#include "stepper_sim/run/window_memo.hpp"

namespace stepper_sim::run {

/// One motor of a window.
struct JudgedMotor {
    std::vector<dynamics::StepEdge> edges;    // as emitted, from the run-in on
    std::vector<dynamics::RatePhase> phases;  // as planned, where punctual pulses may be wanted
    double start_rate_rad_s = 0.0;
    double rad_per_m = 0.0;
};

/// One window, its motor, and on crossed belts the motor beside.
struct JudgedWindow {
    SlipWindow slip;
    std::array<JudgedMotor, 2> motors;

    std::size_t motor_count() const { return slip.beside < 0 ? 1 : 2; }
    std::size_t slot(std::size_t i) const {
        return static_cast<std::size_t>(i == 0 ? slip.motor : slip.beside);
    }
};

struct JudgeRules {
    double margin = 0.0;       // of the low torque, that must stay unused
    bool pulses_late = false;  // the controller was seen late: slips are tried with punctual pulses
    bool until_lost = false;   // only whether it holds is asked for
    int most_likelihoods = 0;  // the first windows that slip get one
    SearchHints hints = {};
};

/// The largest swing that stays on the rising side of the torque curve; a command of large steps runs ahead by half of one.
double peak_of_torque_rad(const dynamics::AxisDynamics& axis);

/// What is tried is slip_runs.cpp's; what came of it slip_judge.cpp's.
class SlipJudge {
  public:
    SlipJudge(const machine::Machine& machine, const MotorModels& models, const JudgeRules& rules);

    /// Fills in the answers, and what reasons are read from.
    void judge(std::span<JudgedWindow> windows);

  private:
    using Run = PlantRun;
    /// What one window was asked and what came of it.
    struct Tried {
        JudgedWindow* window = nullptr;
        std::vector<Run> runs;
        std::vector<dynamics::WindowOutcome> outcomes;
    };

    const dynamics::AxisDynamics& axis(dynamics::BandEdge edge, std::size_t slot) const {
        return axes_[static_cast<std::size_t>(edge)][slot];
    }
    void describe(JudgedWindow& window) const;
    dynamics::AxisDynamics variant_of(const dynamics::PlantVariant& variant,
                                      std::size_t slot) const;
    std::optional<double> share_at(std::size_t slot, double hz) const;
    std::vector<double> shares_of(const JudgedWindow& window) const;
    std::vector<Run> suspect_run(const JudgedWindow& window) const;
    std::vector<Run> first_runs(const JudgedWindow& window) const;
    std::vector<Run> spread_runs(const JudgedWindow& window) const;
    bool near_the_edge(const JudgedWindow& window) const;
    bool close_to_the_peak(const JudgedWindow& window) const;
    std::vector<Run> fine_runs(const JudgedWindow& window) const;
    std::vector<Run> nominal_runs(const JudgedWindow& window) const;
    bool any_chopper(const JudgedWindow& window) const;
    /// One outcome a run: of the motor that fares worse.
    std::vector<std::vector<dynamics::WindowOutcome>> simulate_all(
        std::span<JudgedWindow* const> windows, std::span<const std::vector<Run>> runs,
        bool until_lost) const;
    void run_and_take(std::span<Tried* const> all,
                      std::vector<Run> (SlipJudge::*runs_of)(const JudgedWindow&) const);
    void take(const Tried& tried) const;
    void tell_likely(std::span<JudgedWindow* const> slipping) const;
    void tell_late(std::span<JudgedWindow* const> slipping) const;
    double likelihood(const JudgedWindow& window) const;

    const machine::Machine& machine_;
    JudgeRules rules_;
    std::array<std::vector<dynamics::AxisDynamics>, 3> axes_;
    std::vector<dynamics::SpringBand> springs_;
    int drawn_ = 0;
};

}  // namespace stepper_sim::run
