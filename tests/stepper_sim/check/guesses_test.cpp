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
constexpr run::RunOptions kQuick{.dynamics = false};

check::Report quick_report(const machine::Machine& machine, const std::string& program) {
    const TextFile file(program);
    const std::vector<run::ProgramSource> programs{run::ProgramSource(file.path())};
    const run::MotorModels models = run::motor_models(machine);
    const auto results = std::vector{run_text(machine, program)};
    return check::make_report({machine, models, results, run::kDefaultMargin}, {programs, kQuick});
}

/// The worst that is said of X's torque.
check::Grade torque_grade(const machine::Machine& machine, const std::string& program) {
    const TextFile file(program);
    const std::vector<run::ProgramSource> programs{run::ProgramSource(file.path())};
    const run::MotorModels models = run::motor_models(machine);
    const std::vector results{run_text(machine, program)};
    check::Grade worst = check::Grade::note;
    for (const check::Finding& finding : check::run_guessed_checks(
             {machine, models, results, run::kDefaultMargin}, {programs, kQuick}))
        if (finding.check == "torque" && finding.motor == 'X')
            worst = std::max(worst, finding.grade);
    return worst;
}

constexpr const char* kMove = "G21 G90\nG0 X50\nG0 X0\n";

/// The bench with this friction of X, and an acceleration.
machine::Machine bench(const std::string& friction, const std::string& acceleration) {
    return machine_from(
        changed("load = { mass = \"0.3 kg\", friction = \"2 N\" }",
                "load = { mass = \"3 kg\", friction = \"" + friction + "\" }",
                changed("max_speed = \"150 mm/s\", max_acceleration = \"1500 mm/s^2\", speed_step "
                        "= \"5 mm/s\" }\n[axes.y]",
                        "max_speed = \"150 mm/s\", max_acceleration = \"" + acceleration +
                            "\", speed_step = \"5 mm/s\" }\n[axes.y]")));
}

TEST(Guesses, WhereTheEndsCannotBeRunNothingIsClear) {
    const machine::Machine machine = bench("guess", "100 mm/s^2");
    const run::MotorModels models = run::motor_models(machine);
    const std::vector results{run_text(machine, kMove)};
    const std::vector<run::ProgramSource> gone{run::ProgramSource("gone.nc")};
    check::Findings findings;
    check::add_guess_ends({machine, models, results, run::kDefaultMargin}, {gone, kQuick},
                          findings);
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_EQ(findings[0].check, "guesses");
    EXPECT_EQ(check::verdict_of(findings), check::Verdict::thin);
}

TEST(Guesses, AMachineThatSaysAllHasNoCorners) {
    const machine::Machine machine = machine_from();
    EXPECT_TRUE(
        check::guess_ends(machine, check::guesses_of(machine, run::motor_models(machine))).empty());
}

// Somewhere between an acceleration that holds at both ends of the friction's band and one that holds at neither lies one that holds
// in the middle of the band alone.
TEST(Guesses, ClearHoldsAtBothEndsOfTheBand) {
    bool seen = false;
    for (int a = 4000; a <= 16000; a += 1000) {
        const std::string acceleration = std::to_string(a) + " mm/s^2";
        const machine::Machine guessed = bench("guess", acceleration);
        const machine::ClassBand band = machine::typical_friction(guessed.axes[0].load.mass, false);
        const auto stated = [&](double newtons) {
            return torque_grade(bench(std::to_string(newtons) + " N", acceleration), kMove);
        };
        const check::Grade grade = torque_grade(guessed, kMove);
        const check::Grade low = stated(band.low), middle = stated(band.nominal),
                           high = stated(band.high);
        EXPECT_EQ(grade == check::Grade::note,
                  low == check::Grade::note && high == check::Grade::note)
            << acceleration;
        EXPECT_EQ(grade == check::Grade::fault,
                  low == check::Grade::fault && high == check::Grade::fault)
            << acceleration;
        seen = seen || (middle == check::Grade::note && high == check::Grade::risk);
    }
    EXPECT_TRUE(seen) << "no acceleration at which the middle of the band was too sure";
}

TEST(Guesses, WithoutTheirEndsRunNothingIsClear) {
    const machine::Machine machine = bench("guess", "1500 mm/s^2");
    const run::MotorModels models = run::motor_models(machine);
    const check::Report report = check::make_report({machine, models, {}, run::kDefaultMargin});
    EXPECT_TRUE(any_with(report.findings, check::Grade::risk));
    EXPECT_EQ(report.verdict, check::Verdict::thin);
}

TEST(Guesses, AFaultOfOneEndAloneIsARisk) {
    check::Findings findings(1);
    findings[0].check = "torque";
    findings[0].motor = 'X';
    findings[0].grade = check::Grade::fault;
    check::join_corner({}, "at an end", findings);
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_EQ(findings[0].grade, check::Grade::risk);
    EXPECT_NE(findings[0].message.find("at an end"), std::string::npos);
}

TEST(Guesses, WhatIsGuessedStandsInTheReport) {
    const check::Report report = quick_report(bench("guess", "1500 mm/s^2"), kMove);
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
    for (const char* written : {"current = { not_stated = \"1 A\" }", "current = \"1 A\""}) {
        const machine::Machine machine =
            machine_from(changed("current = { rms = \"1 A\" }", written));
        const auto corners =
            check::guess_ends(machine, check::guesses_of(machine, run::motor_models(machine)));
        ASSERT_EQ(corners.size(), 2U);
        const auto standstill_Nm = [](const machine::Machine& at) {
            return run::motor_models(at).available[0].nominal_Nm(0.0);
        };
        EXPECT_DOUBLE_EQ(corners[0].machine.axes[0].current.peak().value(), 1.0);
        EXPECT_NEAR(corners[1].machine.axes[0].current.rms().value(), 1.0, 1e-9);
        EXPECT_LT(standstill_Nm(corners[0].machine), 0.75 * standstill_Nm(corners[1].machine));
    }
}

TEST(Guesses, AMotorByItsLabelAloneIsJudged) {
    const machine::Machine machine = machine_from(changed(
        "motor = \"motors/qsh4218-51-10-049.toml\"",
        R"(motor = { name = "label", frame = 17, step_angle = "1.8 deg", rated_current = { rms = "1 A" }, holding_torque = "0.49 N m" })"));
    std::string kinds;
    for (const check::Guess& guess : check::guesses_of(machine, run::motor_models(machine)))
        if (guess.axis == 'X') kinds += std::string(check::name_of(guess.key)) + ";";
    EXPECT_EQ(kinds, "damping;rotor inertia;resistance;inductance;");
}

TEST(Guesses, LimitsHoldAtTheHardEndToo) {
    for (const char* friction : {"0.3 N", "guess"}) {
        bool clear = false;
        for (int a = 16000; a >= 4000 && !clear; a -= 250) {
            const machine::Machine machine = bench(friction, std::to_string(a) + " mm/s^2");
            const run::MotorModels models = run::motor_models(machine);
            const auto answer = limits::probe({machine, models, {}, run::kDefaultMargin});
            ASSERT_TRUE(answer);
            clear = answer.value().clear;
            if (!clear || std::string(friction) != "guess") continue;
            const auto hard = check::guess_ends(machine, check::guesses_of(machine, models))[0];
            const run::MotorModels hard_models = run::motor_models(hard.machine);
            const auto at_end = limits::probe({hard.machine, hard_models, {}, run::kDefaultMargin});
            EXPECT_TRUE(at_end.value().clear) << a;
        }
        EXPECT_TRUE(clear);
    }
}

TEST(MeasureNext, NamesTheGuessThatMovesTheUseMost) {
    const machine::Machine machine = bench("guess", "1500 mm/s^2");
    const TextFile file(kMove);
    const std::vector<run::ProgramSource> programs{run::ProgramSource(file.path())};
    machine::Machine known = machine;
    for (machine::Axis& axis : known.axes)
        axis.running_factor = 0.9;  // else the torque itself is the least known
    const run::MotorModels models = run::motor_models(known);
    const std::vector results{run_text(known, kMove)};
    const auto next =
        check::measure_next({known, models, results, run::kDefaultMargin}, {programs, kQuick});
    ASSERT_TRUE(next);
    EXPECT_EQ(next->path, "axes.x.load.friction");
    EXPECT_EQ(next->of, "torque");
    EXPECT_NE(next->how.find("scale"), std::string::npos);
    // Both ends again, by hand.
    const auto use = [&](double newtons) {
        machine::Machine at = known;
        at.axes[0].load.friction = planner::from_si<planner::Force>(newtons);
        return run_text(at, kMove).motors[0].torque.use_low;
    };
    const machine::ClassBand band = machine::typical_friction(known.axes[0].load.mass, false);
    EXPECT_DOUBLE_EQ(next->use_low, use(band.low));
    EXPECT_DOUBLE_EQ(next->use_high, use(band.high));
}

TEST(MeasureNext, AnUnknownBeltComesFirst) {
    const machine::Machine machine = machine_from(changed(
        "stiffness = \"9000 N/mm\"", "stiffness = \"guess\"",
        changed("load = { mass = \"0.5 kg\", friction = \"2 N\" }\nstiffness = \"9000 N/mm\"",
                "load = { mass = \"0.5 kg\", friction = \"2 N\" }\nstiffness = \"9100 N/mm\"")));
    const run::MotorModels models = run::motor_models(machine);
    const std::vector results{run_text(machine, kMove)};
    const TextFile file(kMove);
    const std::vector<run::ProgramSource> programs{run::ProgramSource(file.path())};
    const auto next =
        check::measure_next({machine, models, results, run::kDefaultMargin}, {programs, {}});
    ASSERT_TRUE(next);
    EXPECT_EQ(next->path, "axes.x.stiffness");
    EXPECT_TRUE(next->needed);
}

}  // namespace
