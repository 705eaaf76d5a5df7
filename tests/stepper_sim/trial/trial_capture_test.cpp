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

const Machine& bench() {
    static const Machine machine = machine_from();
    return machine;
}

/// A trial of Y cut down to one rung, the third: all of them run under one set of settings here.
Trial one_rung(TrialQuestion question) {
    Trial trial = design_trial(bench(), motor_models(bench()), 1, question).value();
    trial.rungs = {trial.rungs[2]};
    return trial;
}

TrialSheet held(const Trial& trial, std::size_t rungs = 1) {
    TrialSheet sheet;
    sheet.file = "y.toml";
    sheet.letter = trial.letter;
    sheet.slot = trial.rig.slot;
    sheet.motion = trial.motion;
    for (std::size_t i = 0; i < rungs; ++i)
        sheet.rungs.push_back({trial.rungs[0], RungResult::held, {"y.toml", i + 1, 1}});
    return sheet;
}

/// What a controller with these settings sends for the trial's program.
std::string recorded(const Trial& trial, const Machine& set) {
    const TextFile program(trial_program(bench(), trial));
    return vcd_of(set, edges_of(set, program.path()));
}

planner::Result<std::vector<RecordedRung>> seen(const TrialSheet& sheet, const std::string& vcd) {
    std::istringstream trace(vcd);
    return recorded_rungs(sheet, bench(), motor_models(bench()), trace, "t.vcd");
}

double ran_share(TrialQuestion question, double set_share) {
    const Trial trial = one_rung(question);
    const auto rungs =
        seen(held(trial), recorded(trial, set_to(bench(), trial, set_share * trial.rungs[0])));
    if (!rungs) {
        ADD_FAILURE() << planner::to_line(rungs.diagnostics().front());
        return 0.0;
    }
    EXPECT_EQ(rungs.value().size(), 1U);
    EXPECT_EQ(rungs.value()[0].agrees, rungs.value()[0].value == trial.rungs[0]);
    return rungs.value()[0].value / trial.rungs[0];
}

TEST(TrialCapture, ARungThatRanAsWrittenAgrees) {
    for (const TrialQuestion question : {TrialQuestion::speed, TrialQuestion::acceleration,
                                         TrialQuestion::step, TrialQuestion::resonance})
        EXPECT_EQ(ran_share(question, 1.0), 1.0) << to_word(question);
}

TEST(TrialCapture, AWrongAccelerationIsTold) {
    for (const double share :
         {0.8, 0.93, 1.1})  // strokes of 70 ms, where half a millisecond is 2 % of the acceleration
        EXPECT_NEAR(ran_share(TrialQuestion::acceleration, share), share, kHalfAMillisecond);
}

TEST(TrialCapture, ACappedSpeedIsTold) {
    EXPECT_NEAR(ran_share(TrialQuestion::speed, 0.85), 0.85, kWholePulses);
}

TEST(TrialCapture, ZigZagsOfAGentlerMachineReverseMoreSlowly) {
    const Trial trial = one_rung(TrialQuestion::resonance);
    Machine gentler = set_to(bench(), trial, trial.rungs[0]);
    gentler.axes[1].settings.max_acceleration *= 0.64;
    const auto rungs = seen(held(trial), recorded(trial, gentler));
    ASSERT_TRUE(rungs);
    // From rest a stroke takes 2 sqrt(length/acceleration); a speed step at its ends lessens that.
    EXPECT_LT(rungs.value()[0].value, 0.95 * trial.rungs[0]);
    EXPECT_GT(rungs.value()[0].value, 0.80 * trial.rungs[0]);
}

TEST(TrialCapture, AnotherTraceIsRefused) {
    const Trial trial = one_rung(TrialQuestion::acceleration);
    const Machine set = set_to(bench(), trial, trial.rungs[0]);
    const std::string vcd = recorded(trial, set);
    const auto more_rungs = seen(held(trial, 3), vcd);
    ASSERT_FALSE(more_rungs);
    EXPECT_EQ(more_rungs.diagnostics().front().id, "trial/other-trace");
    TrialSheet other = held(trial);
    other.motion.stroke_m *= 0.5;
    const auto shorter = seen(other, vcd);
    ASSERT_FALSE(shorter);
    EXPECT_NE(planner::to_line(shorter.diagnostics().front()).find("pulses of rung 1"),
              std::string::npos);
    EXPECT_FALSE(seen(held(trial), "not a trace"));
}

TEST(TrialCapture, TheValuesThatRanTakeThePlaceOfTheSheets) {
    const Trial trial = one_rung(TrialQuestion::acceleration);
    const TextFile vcd(recorded(trial, set_to(bench(), trial, 0.9 * trial.rungs[0])), "y.vcd");
    TrialSheet sheet = held(trial);
    sheet.capture = SheetCapture{vcd.path().string(), {"y.toml", 12, 1}};
    const auto said = take_capture(sheet, bench(), motor_models(bench()));
    ASSERT_TRUE(said);
    ASSERT_EQ(said.value().size(), 1U);
    EXPECT_EQ(said.value()[0].find("rung 1 ran at "), 0U) << said.value()[0];
    // Taken over 10 ms in whole steps of 12.5 um, each of both speeds a step off at most.
    constexpr double kTwoSteps_m_s2 = 2.0 * 12.5e-6 / (0.01 * 0.01);
    EXPECT_NEAR(sheet.rungs[0].value, 0.9 * trial.rungs[0], kTwoSteps_m_s2);

    sheet.capture->file = "nowhere.vcd";
    const auto lost = take_capture(sheet, bench(), motor_models(bench()));
    ASSERT_FALSE(lost);
    EXPECT_EQ(planner::to_line(lost.diagnostics().front()).find("y.toml:12:1: "), 0U);
}

}  // namespace
