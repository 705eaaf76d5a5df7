// A verdict is no surer than what it rests on: machines with values that nobody measured.
#include "stepper_sim/check/guesses.hpp"

#include <gtest/gtest.h>

#include "stepper_sim/check/guessed_checks.hpp"
#include "stepper_sim/check/measure_next.hpp"
#include "stepper_sim/check/report.hpp"
#include "stepper_sim/limits/limit_probe.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

/// Without simulation: the torque alone tells.
constexpr RunOptions kQuick{.dynamics = false};

Report quick_report(const Machine& machine, const std::string& program) {
    const TextFile file(program);
    const std::vector<ProgramSource> programs{ProgramSource(file.path())};
    const MotorModels models = motor_models(machine);
    const auto results = std::vector{run_text(machine, program)};
    return make_report({machine, models, results, kDefaultMargin}, {programs, kQuick});
}

/// The worst that is said of X's torque.
Grade torque_grade(const Machine& machine, const std::string& program) {
    const TextFile file(program);
    const std::vector<ProgramSource> programs{ProgramSource(file.path())};
    const MotorModels models = motor_models(machine);
    const std::vector results{run_text(machine, program)};
    Grade worst = Grade::note;
    for (const Finding& finding :
         run_guessed_checks({machine, models, results, kDefaultMargin}, {programs, kQuick}))
        if (finding.check == "torque" && finding.motor == 'X')
            worst = std::max(worst, finding.grade);
    return worst;
}

constexpr const char* kMove = "G21 G90\nG0 X50\nG0 X0\n";

/// The bench with this friction of X, and an acceleration.
Machine bench(const std::string& friction, const std::string& acceleration) {
    return machine_from(
        changed("load = { mass = \"0.3 kg\", friction = \"2 N\" }",
                "load = { mass = \"3 kg\", friction = \"" + friction + "\" }",
                changed("max_speed = \"150 mm/s\", max_acceleration = \"1500 mm/s^2\", speed_step "
                        "= \"5 mm/s\" }\n[axes.y]",
                        "max_speed = \"150 mm/s\", max_acceleration = \"" + acceleration +
                            "\", speed_step = \"5 mm/s\" }\n[axes.y]")));
}

TEST(Guesses, WhereTheEndsCannotBeRunNothingIsClear) {
    const Machine machine = bench("guess", "100 mm/s^2");
    const MotorModels models = motor_models(machine);
    const std::vector results{run_text(machine, kMove)};
    const std::vector<ProgramSource> gone{ProgramSource("gone.nc")};
    Findings findings;
    add_guess_ends({machine, models, results, kDefaultMargin}, {gone, kQuick}, findings);
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_EQ(findings[0].check, "guesses");
    EXPECT_EQ(verdict_of(findings), Verdict::thin);
}

TEST(Guesses, AMachineThatSaysAllHasNoCorners) {
    const Machine machine = machine_from();
    EXPECT_TRUE(guess_ends(machine, guesses_of(machine, motor_models(machine))).empty());
}

// Somewhere between an acceleration that holds at both ends of the friction's band and one that holds at neither lies one that holds
// in the middle of the band alone.
TEST(Guesses, ClearHoldsAtBothEndsOfTheBand) {
    bool seen = false;
    for (int a = 4000; a <= 16000; a += 1000) {
        const std::string acceleration = std::to_string(a) + " mm/s^2";
        const Machine guessed = bench("guess", acceleration);
        const ClassBand band = typical_friction(guessed.axes[0].load.mass, false);
        const auto stated = [&](double newtons) {
            return torque_grade(bench(std::to_string(newtons) + " N", acceleration), kMove);
        };
        const Grade grade = torque_grade(guessed, kMove);
        const Grade low = stated(band.low), middle = stated(band.nominal), high = stated(band.high);
        EXPECT_EQ(grade == Grade::note, low == Grade::note && high == Grade::note) << acceleration;
        EXPECT_EQ(grade == Grade::fault, low == Grade::fault && high == Grade::fault)
            << acceleration;
        seen = seen || (middle == Grade::note && high == Grade::risk);
    }
    EXPECT_TRUE(seen) << "no acceleration at which the middle of the band was too sure";
}

TEST(Guesses, WithoutTheirEndsRunNothingIsClear) {
    const Machine machine = bench("guess", "1500 mm/s^2");
    const MotorModels models = motor_models(machine);
    const Report report = make_report({machine, models, {}, kDefaultMargin});
    EXPECT_TRUE(any_with(report.findings, Grade::risk));
    EXPECT_EQ(report.verdict, Verdict::thin);
}

TEST(Guesses, AFaultOfOneEndAloneIsARisk) {
    Findings findings(1);
    findings[0].check = "torque";
    findings[0].motor = 'X';
    findings[0].grade = Grade::fault;
    join_corner({}, "at an end", findings);
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_EQ(findings[0].grade, Grade::risk);
    EXPECT_NE(findings[0].message.find("at an end"), std::string::npos);
}

TEST(Guesses, WhatIsGuessedStandsInTheReport) {
    const Report report = quick_report(bench("guess", "1500 mm/s^2"), kMove);
    const auto said = [&](std::string_view what) {
        return std::any_of(
            report.assumptions.begin(), report.assumptions.end(),
            [&](const std::string& sentence) { return sentence.find(what) != std::string::npos; });
    };
    EXPECT_TRUE(said("friction of X 0.21 N to 5.1 N"));
    EXPECT_FALSE(said("stiffness of X"));
}

// The number read as a peak makes 0.71 of the torque that it makes read as RMS.
TEST(Guesses, ACurrentOfNoBasisIsTakenBothWays) {
    const Machine machine =
        machine_from(changed("current = { rms = \"1 A\" }", "current = { not_stated = \"1 A\" }"));
    const auto corners = guess_ends(machine, guesses_of(machine, motor_models(machine)));
    ASSERT_EQ(corners.size(), 2U);
    const auto standstill_Nm = [](const Machine& at) {
        return motor_models(at).available[0].nominal_Nm(0.0);
    };
    EXPECT_DOUBLE_EQ(corners[0].machine.axes[0].current.peak().value(), 1.0);
    EXPECT_NEAR(corners[1].machine.axes[0].current.rms().value(), 1.0, 1e-9);
    EXPECT_LT(standstill_Nm(corners[0].machine), 0.75 * standstill_Nm(corners[1].machine));
}

TEST(Guesses, AMotorByItsLabelAloneIsJudged) {
    const Machine machine = machine_from(changed(
        "motor = \"motors/qsh4218-51-10-049.toml\"",
        R"(motor = { name = "label", frame = 17, step_angle = "1.8 deg", rated_current = { rms = "1 A" }, holding_torque = "0.49 N m" })"));
    std::string kinds;
    for (const Guess& guess : guesses_of(machine, motor_models(machine)))
        if (guess.axis == 'X') kinds += std::string(name_of(guess.key)) + ";";
    EXPECT_EQ(kinds, "damping;rotor inertia;resistance;inductance;");
}

TEST(Guesses, LimitsHoldAtTheHardEndToo) {
    for (const char* friction : {"0.3 N", "guess"}) {
        bool clear = false;
        for (int a = 16000; a >= 4000 && !clear; a -= 250) {
            const Machine machine = bench(friction, std::to_string(a) + " mm/s^2");
            const MotorModels models = motor_models(machine);
            const auto answer = probe({machine, models, {}, kDefaultMargin});
            ASSERT_TRUE(answer);
            clear = answer.value().clear;
            if (!clear || std::string(friction) != "guess") continue;
            const auto hard = guess_ends(machine, guesses_of(machine, models))[0];
            const MotorModels hard_models = motor_models(hard.machine);
            const auto at_end = probe({hard.machine, hard_models, {}, kDefaultMargin});
            EXPECT_TRUE(at_end.value().clear) << a;
        }
        EXPECT_TRUE(clear);
    }
}

TEST(MeasureNext, NamesTheGuessThatMovesTheUseMost) {
    const Machine machine = bench("guess", "1500 mm/s^2");
    const TextFile file(kMove);
    const std::vector<ProgramSource> programs{ProgramSource(file.path())};
    Machine known = machine;
    for (Axis& axis : known.axes)
        axis.running_factor = 0.9;  // else the torque itself is the least known
    const MotorModels models = motor_models(known);
    const std::vector results{run_text(known, kMove)};
    const auto next = measure_next({known, models, results, kDefaultMargin}, {programs, kQuick});
    ASSERT_TRUE(next);
    EXPECT_EQ(next->path, "axes.x.load.friction");
    EXPECT_EQ(next->of, "torque");
    EXPECT_NE(next->how.find("scale"), std::string::npos);
    // Both ends again, by hand.
    const auto use = [&](double newtons) {
        Machine at = known;
        at.axes[0].load.friction = planner::from_si<planner::Force>(newtons);
        return run_text(at, kMove).motors[0].torque.use_low;
    };
    const ClassBand band = typical_friction(known.axes[0].load.mass, false);
    EXPECT_DOUBLE_EQ(next->use_low, use(band.low));
    EXPECT_DOUBLE_EQ(next->use_high, use(band.high));
}

TEST(MeasureNext, AnUnknownBeltComesFirst) {
    const Machine machine = machine_from(changed(
        "stiffness = \"9000 N/mm\"", "stiffness = \"guess\"",
        changed("load = { mass = \"0.5 kg\", friction = \"2 N\" }\nstiffness = \"9000 N/mm\"",
                "load = { mass = \"0.5 kg\", friction = \"2 N\" }\nstiffness = \"9100 N/mm\"")));
    const MotorModels models = motor_models(machine);
    const std::vector results{run_text(machine, kMove)};
    const TextFile file(kMove);
    const std::vector<ProgramSource> programs{ProgramSource(file.path())};
    const auto next = measure_next({machine, models, results, kDefaultMargin}, {programs, {}});
    ASSERT_TRUE(next);
    EXPECT_EQ(next->path, "axes.x.stiffness");
    EXPECT_TRUE(next->needed);
}

}  // namespace
