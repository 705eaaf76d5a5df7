// Recorded trials: the pulses of a trial program, run by a controller set right or wrong, tell what its rungs ran at.
#include "stepper_sim/trial/trial_capture.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <sstream>

#include "stepper_sim/trial/trial.hpp"
#include "stepper_sim/trial/trial_program.hpp"
#include "tests/stepper_sim/capture/capture_samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kHalfAMillisecond = 0.02;  // in strokes of 70 ms that is 2 % of the acceleration
constexpr double kWholePulses = 0.01;  // speed is counted over windows of some ten milliseconds

const machine::Machine& bench() {
    static const machine::Machine machine = machine_from();
    return machine;
}

/// A trial of Y cut down to one rung, the third: all of them run under one set of settings here.
trial::Trial one_rung(trial::TrialQuestion question) {
    trial::Trial trial =
        trial::design_trial(bench(), run::motor_models(bench()), 1, question).value();
    trial.rungs = {trial.rungs[2]};
    return trial;
}

trial::TrialSheet held(const trial::Trial& trial, std::size_t rungs = 1) {
    trial::TrialSheet sheet;
    sheet.file = "y.toml";
    sheet.letter = trial.letter;
    sheet.slot = trial.rig.slot;
    sheet.motion = trial.motion;
    for (std::size_t i = 0; i < rungs; ++i)
        sheet.rungs.push_back({trial.rungs[0], trial::RungResult::held, {"y.toml", i + 1, 1}});
    return sheet;
}

/// What a controller with these settings sends for the trial's program.
std::string recorded(const trial::Trial& trial, const machine::Machine& set) {
    const TextFile program(trial::trial_program(bench(), trial));
    return vcd_of(set, edges_of(set, program.path()));
}

planner::Result<std::vector<trial::RecordedRung>> seen(const trial::TrialSheet& sheet,
                                                       const std::string& vcd) {
    std::istringstream trace(vcd);
    return trial::recorded_rungs(sheet, bench(), run::motor_models(bench()), trace, "t.vcd");
}

double ran_share(trial::TrialQuestion question, double set_share) {
    const trial::Trial trial = one_rung(question);
    const auto rungs = seen(
        held(trial), recorded(trial, trial::set_to(bench(), trial, set_share * trial.rungs[0])));
    if (!rungs) {
        ADD_FAILURE() << planner::to_line(rungs.diagnostics().front());
        return 0.0;
    }
    EXPECT_EQ(rungs.value().size(), 1U);
    EXPECT_EQ(rungs.value()[0].agrees, rungs.value()[0].value == trial.rungs[0]);
    return rungs.value()[0].value / trial.rungs[0];
}

TEST(TrialCapture, ARungThatRanAsWrittenAgrees) {
    for (const trial::TrialQuestion question :
         {trial::TrialQuestion::speed, trial::TrialQuestion::acceleration,
          trial::TrialQuestion::step, trial::TrialQuestion::resonance})
        EXPECT_EQ(ran_share(question, 1.0), 1.0) << trial::to_word(question);
}

TEST(TrialCapture, AWrongAccelerationIsTold) {
    for (const double share :
         {0.8, 0.93, 1.1})  // strokes of 70 ms, where half a millisecond is 2 % of the acceleration
        EXPECT_NEAR(ran_share(trial::TrialQuestion::acceleration, share), share, kHalfAMillisecond);
}

TEST(TrialCapture, ACappedSpeedIsTold) {
    EXPECT_NEAR(ran_share(trial::TrialQuestion::speed, 0.85), 0.85, kWholePulses);
}

TEST(TrialCapture, ZigZagsOfAGentlerMachineReverseMoreSlowly) {
    const trial::Trial trial = one_rung(trial::TrialQuestion::resonance);
    machine::Machine gentler = trial::set_to(bench(), trial, trial.rungs[0]);
    gentler.axes[1].settings.max_acceleration *= 0.64;
    const auto rungs = seen(held(trial), recorded(trial, gentler));
    ASSERT_TRUE(rungs);
    // From rest a stroke takes 2 sqrt(length/acceleration); a speed step at its ends lessens that.
    EXPECT_LT(rungs.value()[0].value, 0.95 * trial.rungs[0]);
    EXPECT_GT(rungs.value()[0].value, 0.80 * trial.rungs[0]);
}

TEST(TrialCapture, AnotherTraceIsRefused) {
    const trial::Trial trial = one_rung(trial::TrialQuestion::acceleration);
    const machine::Machine set = trial::set_to(bench(), trial, trial.rungs[0]);
    const std::string vcd = recorded(trial, set);
    const auto more_rungs = seen(held(trial, 3), vcd);
    ASSERT_FALSE(more_rungs);
    EXPECT_EQ(more_rungs.diagnostics().front().id, "trial/other-trace");
    trial::TrialSheet other = held(trial);
    other.motion.stroke_m *= 0.5;
    const auto shorter = seen(other, vcd);
    ASSERT_FALSE(shorter);
    EXPECT_NE(planner::to_line(shorter.diagnostics().front()).find("pulses of rung 1"),
              std::string::npos);
    EXPECT_FALSE(seen(held(trial), "not a trace"));
}

TEST(TrialCapture, TheValuesThatRanTakeThePlaceOfTheSheets) {
    const trial::Trial trial = one_rung(trial::TrialQuestion::acceleration);
    const TextFile vcd(recorded(trial, trial::set_to(bench(), trial, 0.9 * trial.rungs[0])),
                       "y.vcd");
    trial::TrialSheet sheet = held(trial);
    sheet.capture = trial::SheetCapture{vcd.path().string(), {"y.toml", 12, 1}};
    const auto said = trial::take_capture(sheet, bench(), run::motor_models(bench()));
    ASSERT_TRUE(said);
    ASSERT_EQ(said.value().size(), 1U);
    EXPECT_EQ(said.value()[0].find("rung 1 ran at "), 0U) << said.value()[0];
    // Taken over 10 ms in whole steps of 12.5 um, each of both speeds a step off at most.
    constexpr double kTwoSteps_m_s2 = 2.0 * 12.5e-6 / (0.01 * 0.01);
    EXPECT_NEAR(sheet.rungs[0].value, 0.9 * trial.rungs[0], kTwoSteps_m_s2);

    sheet.capture->file = "nowhere.vcd";
    const auto lost = trial::take_capture(sheet, bench(), run::motor_models(bench()));
    ASSERT_FALSE(lost);
    EXPECT_EQ(planner::to_line(lost.diagnostics().front()).find("y.toml:12:1: "), 0U);
}

}  // namespace
