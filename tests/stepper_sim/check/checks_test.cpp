// Each check finds the fault that is put in, names the right motor and limit, and is silent without it.
#include <gtest/gtest.h>

#include <algorithm>
#include <numbers>
#include <set>

#include "stepper_sim/check/words.hpp"
#include "stepper_sim/run/ceilings.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kRounding = 1e-9;  // of products and a quotient
constexpr double kRounding_s = 1e-12;

constexpr std::string_view kSquare = "G21 G90\nG0 X10 Y10 Z1\nG1 X60 F6000\nY60\nX10\nY10\nM2\n";

TEST(Checks, FindNothingWorseThanANoteOnAMachineWithinItsMeans) {
    const machine::Machine machine = machine_from();
    const run::MotorModels models = run::motor_models(machine);
    const std::vector<run::ProgramResult> programs{run_text(machine, kSquare, true)};
    const check::Findings findings =
        check::run_checks({machine, models, programs, run::kDefaultMargin});
    for (const check::Finding& finding : findings)
        EXPECT_EQ(finding.grade, check::Grade::note) << finding.message;
    EXPECT_EQ(check::verdict_of(findings), check::Verdict::clear);
}

TEST(Checks, NamesInTheTableAreDistinctAndAllRun) {
    std::set<std::string_view> names;
    for (const check::CheckRow& row : check::check_table())
        EXPECT_TRUE(names.insert(row.name).second) << row.name;
}

TEST(Checks, WorstGradeStandsFirst) {
    const machine::Machine machine =
        machine_from(changed("supply = \"24 V\"", "supply = \"60 V\""));
    const run::MotorModels models = run::motor_models(machine);
    const check::Findings findings = check::run_checks({machine, models, {}, run::kDefaultMargin});
    ASSERT_FALSE(findings.empty());
    for (std::size_t i = 1; i < findings.size(); ++i)
        EXPECT_GE(findings[i - 1].grade, findings[i].grade);
    EXPECT_EQ(findings.front().grade, check::Grade::fault);
}

TEST(Checks, TheVerdictIsThatOfTheWorstFinding) {
    const auto verdict = [](std::initializer_list<check::Grade> grades) {
        check::Findings findings;
        for (const check::Grade grade : grades)
            findings.emplace_back().grade = grade;
        return check::verdict_of(findings);
    };
    EXPECT_EQ(verdict({}), check::Verdict::clear);
    EXPECT_EQ(verdict({check::Grade::note, check::Grade::note}), check::Verdict::clear);
    EXPECT_EQ(verdict({check::Grade::note, check::Grade::risk, check::Grade::note}),
              check::Verdict::thin);
    EXPECT_EQ(verdict({check::Grade::risk, check::Grade::fault}), check::Verdict::fault);
}

TEST(StepsPerMm, DoubleIsAFaultThatNamesTheMicrosteps) {
    const check::Findings findings = findings_of(
        "steps-per-mm", machine_from(changed("steps_per_mm = 80", "steps_per_mm = 160")));
    ASSERT_EQ(findings.size(), 2U);  // x and y
    EXPECT_EQ(findings.front().grade, check::Grade::fault);
    EXPECT_NE(findings.front().message.find("it fits 32 microsteps, not 16"), std::string::npos)
        << findings.front().message;
    EXPECT_DOUBLE_EQ(findings.front().value, 160e3);
    EXPECT_DOUBLE_EQ(findings.front().limit, 80e3);
}

TEST(StepsPerMm, ACalibratedValueIsARiskNotAFault) {
    const check::Findings findings = findings_of(
        "steps-per-mm", machine_from(changed("steps_per_mm = 80", "steps_per_mm = 80.6")));
    ASSERT_EQ(findings.size(), 2U);
    EXPECT_EQ(findings.front().grade, check::Grade::risk);
}

TEST(StepsPerMm, WhatRoundingExplainsIsNotToldAndAThousandthIs) {
    const auto told = [](const char* steps) {
        return !findings_of("steps-per-mm",
                            machine_from(changed("steps_per_mm = 80",
                                                 std::string("steps_per_mm = ") + steps)))
                    .empty();
    };
    EXPECT_FALSE(told("80.01"));
    EXPECT_TRUE(told("80.08"));
    EXPECT_TRUE(told("79.92"));
}

TEST(MotorCurrent, AboveTheDriversRatingIsAFaultHoweverStrongTheMotor) {
    // The motor takes 2.8 A, the driver gives 1.4 A RMS.
    const auto refused = [](const char* current) {
        const check::Findings findings = findings_of(
            "motor-current", machine_from(changed("qsh4218-51-10-049", "qsh5718-56-28-126",
                                                  changed("{ rms = \"1 A\" }", current))));
        return any_with(findings, check::Grade::fault, 'X');
    };
    EXPECT_TRUE(refused("{ rms = \"1.5 A\" }"));
    EXPECT_FALSE(refused("{ rms = \"1.4 A\" }"));
    EXPECT_TRUE(refused("{ peak = \"2.1 A\" }"));
}

TEST(MotorCurrent, AboveTheRatingIsAFault) {
    EXPECT_TRUE(any_with(findings_of("motor-current", machine_from(changed("{ rms = \"1 A\" }",
                                                                           "{ rms = \"1.3 A\" }"))),
                         check::Grade::fault));
}

TEST(MotorCurrent, PeakOfTheSameNumberIsLessCurrentThanRms) {
    // 1.4 A peak is 0.99 A RMS: within the 1 A RMS rating, where 1.4 A RMS is not.
    EXPECT_FALSE(
        any_with(findings_of("motor-current",
                             machine_from(changed("{ rms = \"1 A\" }", "{ peak = \"1.4 A\" }"))),
                 check::Grade::fault));
    EXPECT_TRUE(any_with(findings_of("motor-current", machine_from(changed("{ rms = \"1 A\" }",
                                                                           "{ rms = \"1.4 A\" }"))),
                         check::Grade::fault));
}

TEST(MotorCurrent, PlateRmsSetAsPeakIsCalledOutByName) {
    const check::Findings findings = findings_of(
        "motor-current", machine_from(changed("{ rms = \"1 A\" }", "{ peak = \"1 A\" }")));
    ASSERT_FALSE(findings.empty());
    EXPECT_NE(findings.front().message.find("RMS current was set as a peak"), std::string::npos)
        << findings.front().message;
}

TEST(SupplyVoltage, AboveTheDriversRangeIsAFault) {
    EXPECT_TRUE(any_with(findings_of("supply-voltage", machine_from(changed("supply = \"24 V\"",
                                                                            "supply = \"36 V\""))),
                         check::Grade::fault, 'X'));
}

TEST(SupplyVoltage, BelowTheDriversRangeIsAFault) {
    EXPECT_TRUE(any_with(findings_of("supply-voltage", machine_from(changed("supply = \"24 V\"",
                                                                            "supply = \"4 V\""))),
                         check::Grade::fault, 'X'));
}

TEST(StepRate, TooManyMicrostepsForTheControllerAreRefusedWithTheSpeedThatWorks) {
    std::string text = changed("microsteps = 16", "microsteps = 256");
    text = changed("steps_per_mm = 80", "steps_per_mm = 1280", text);
    text = changed("steps_per_mm = 400", "steps_per_mm = 6400", text);
    text = changed("cortex-m4-168mhz-line", "avr-16mhz-line", text);
    const check::Findings findings = findings_of("step-rate", machine_from(text));
    ASSERT_TRUE(any_with(findings, check::Grade::fault, 'X'));
    EXPECT_NE(findings.front().message.find("the highest speed that works is"), std::string::npos)
        << findings.front().message;
    EXPECT_DOUBLE_EQ(findings.front().value, 0.15 * 1280e3);
}

TEST(StepRate, TheCeilingAndTheMarginBelowItAreTheEdgesOfFaultAndRisk) {
    machine::Machine machine = machine_from(changed("cortex-m4-168mhz-line", "avr-16mhz-line"));
    machine.axes[0].settings.max_acceleration *= 100.0;  // the travel is no limit
    const double ceiling_hz = run::ceilings_of(machine, machine.axes[0]).lowest_hz();
    const auto grade_at = [&](double share) -> std::optional<check::Grade> {
        machine::Machine other = machine;
        other.axes[0].settings.max_speed =
            planner::from_si<planner::Speed>(share * ceiling_hz / machine.axes[0].steps_per_m());
        for (const check::Finding& finding : findings_of("step-rate", other, {}, 0.2))
            if (finding.motor == 'X') return finding.grade;
        return std::nullopt;
    };
    EXPECT_EQ(grade_at(1.01), check::Grade::fault);
    EXPECT_EQ(grade_at(0.99), check::Grade::risk);
    EXPECT_EQ(grade_at(0.81), check::Grade::risk);
    EXPECT_EQ(grade_at(0.79), std::nullopt);
}

/// The bench at 256 microsteps and 200 mm/s: 80 x 16 steps/mm, 256 kHz.
std::string fine_and_fast(std::string_view controller) {
    std::string text = changed("microsteps = 16", "microsteps = 256");
    text = changed("steps_per_mm = 80", "steps_per_mm = 1280", text);
    text = changed("steps_per_mm = 400", "steps_per_mm = 6400", text);
    text = changed("150 mm/s\"", "200 mm/s\"", text);
    return changed("cortex-m4-168mhz-line", controller, text);
}

TEST(StepRate, FineStepsAt200MmPerSecondAreForAFastPartNotForAn8BitOne) {
    const machine::Machine slow = machine_from(fine_and_fast("avr-16mhz-line"));
    const check::Findings refused = findings_of("step-rate", slow);
    ASSERT_TRUE(any_with(refused, check::Grade::fault, 'X'));
    const check::Finding& first = refused.front();
    EXPECT_DOUBLE_EQ(first.value, 256e3);
    const double works_m_s = run::ceiling_speed_m_s(slow, slow.axes[0]);
    EXPECT_NE(
        first.message.find("the highest speed that works is " + check::words::mm_s(works_m_s)),
        std::string::npos)
        << first.message;
    std::string at_that = fine_and_fast("avr-16mhz-line");
    at_that = changed("200 mm/s\"", check::words::mm_s(0.999 * works_m_s) + "\"", at_that);
    EXPECT_FALSE(
        any_with(findings_of("step-rate", machine_from(at_that)), check::Grade::fault, 'X'))
        << "the speed it names must work";

    const machine::Machine fast = machine_from(fine_and_fast("cortex-m4-168mhz-line"));
    for (const char letter : {'X', 'Y'})
        EXPECT_FALSE(any_with(findings_of("step-rate", fast), check::Grade::fault, letter));
}

TEST(PulseTiming, ShortPulseForASlowDriverIsAFault) {
    std::string text = changed("drivers/tmc2209.toml", "drivers/drv8825.toml");
    text = changed(
        "controller = \"controllers/cortex-m4-168mhz-line.toml\"",
        "controller = { part = \"controllers/cortex-m4-168mhz-line.toml\", pulse_high = \"1 us\" }",
        text);
    const check::Findings findings = findings_of("pulse-timing", machine_from(text));
    ASSERT_TRUE(any_with(findings, check::Grade::fault, 'X'));
    // DRV8825 datasheet SLVSA73F 7.6, in the catalogue.
    EXPECT_NEAR(findings.front().limit, 1.9e-6, kRounding_s);
}

TEST(PulseTiming, EmittedTimesBelowWhatTheDriverNeedsAreFaultsAndAboveAreNot) {
    const machine::Machine machine = machine_from();
    const machine::DriverPart& driver = machine.axes[0].driver;
    const std::pair<controller::Extreme controller::MotorTiming::*, double> needs[] = {
        {&controller::MotorTiming::min_high_s, driver.step_high_min.value()},
        {&controller::MotorTiming::min_low_s, driver.step_low_min.value()},
        {&controller::MotorTiming::min_setup_s, driver.setup_min->value()},
        {&controller::MotorTiming::min_hold_s, driver.hold_min->value()}};
    const run::MotorModels models = run::motor_models(machine);
    const run::ProgramResult plain = run_text(machine, kSquare);
    for (const auto& [time, needed_s] : needs) {
        for (const double share : {0.9, 1.1}) {
            std::vector<run::ProgramResult> programs{plain};
            (programs[0].motors[0].timing.*time).value = share * needed_s;
            check::Findings findings =
                check::run_checks({machine, models, programs, run::kDefaultMargin});
            std::erase_if(findings,
                          [](const check::Finding& f) { return f.check != "pulse-timing"; });
            EXPECT_EQ(any_with(findings, check::Grade::fault, 'X'), share < 1.0) << needed_s;
        }
    }
}

// Two turns of X (there, back, there), each with a step that may go the wrong way: two steps of position.
TEST(PulseTiming, ShortSetUpCountsThePositionItMayLose) {
    std::string text = changed("drivers/tmc2209.toml", "drivers/drv8825.toml");
    text = changed("controller = \"controllers/cortex-m4-168mhz-line.toml\"",
                   "controller = { part = \"controllers/cortex-m4-168mhz-line.toml\", "
                   "direction_setup = \"100 ns\", direction_hold = \"700 ns\" }",
                   text);
    const machine::Machine machine = machine_from(text);
    const check::Findings findings =
        findings_of("pulse-timing", machine, "G21 G90\nG1 X20 F3000\nX10\nX20\n");
    const auto lost = std::find_if(findings.begin(), findings.end(),
                                   [](const check::Finding& f) { return f.unit == "m"; });
    ASSERT_NE(lost, findings.end());
    EXPECT_EQ(lost->grade, check::Grade::fault);
    EXPECT_EQ(lost->motor, 'X');
    EXPECT_DOUBLE_EQ(lost->value, 2.0 * 2.0 / machine.axes[0].steps_per_m());
}

TEST(InertiaRatio, AHeavyLoadIsANoteWithItsRatio) {
    const machine::Machine heavy = machine_from(changed("mass = \"0.3 kg\"", "mass = \"8 kg\""));
    const check::Findings findings = findings_of("inertia-ratio", heavy);
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_EQ(findings.front().motor, 'X');
    EXPECT_EQ(findings.front().grade, check::Grade::note);
    constexpr double kPulley_m = 20 * 2e-3 / (2.0 * std::numbers::pi);
    const double ratio = 8.0 * kPulley_m * kPulley_m / heavy.axes[0].motor.rotor_inertia->value();
    EXPECT_NEAR(findings.front().value, ratio, kRounding * ratio);
    EXPECT_TRUE(findings_of("inertia-ratio", machine_from()).empty());
}

TEST(ProcessorLoad, LatePulsesAreAFaultAndMoreThanTheShareARisk) {
    const machine::Machine machine = machine_from();
    const run::MotorModels models = run::motor_models(machine);
    const run::ProgramResult plain = run_text(machine, kSquare);
    const auto graded = [&](std::uint64_t late, double load) {
        std::vector<run::ProgramResult> programs{plain};
        programs[0].controller.late_pulses = late;
        programs[0].controller.load_peak = {load, 7, 0.5};
        std::optional<check::Finding> found;
        for (const check::Finding& finding :
             check::run_checks({machine, models, programs, run::kDefaultMargin}))
            if (finding.check == "processor-load") found = finding;
        return found;
    };
    const double share = machine.controller.processor_share;
    EXPECT_FALSE(graded(0, 0.99 * share));
    ASSERT_TRUE(graded(0, 1.01 * share));
    EXPECT_EQ(graded(0, 1.01 * share)->grade, check::Grade::risk);
    EXPECT_EQ(graded(0, 1.01 * share)->line, 7U);
    ASSERT_TRUE(graded(1, 0.0));
    EXPECT_EQ(graded(1, 0.0)->grade, check::Grade::fault);
}

// 80 steps/mm x 16 at 150 mm/s ask more of the 8-bit part than it has.
TEST(ProcessorLoad, AProgramTooFastForItsControllerHasLatePulses) {
    std::string text = changed("microsteps = 16", "microsteps = 256");
    text = changed("steps_per_mm = 80", "steps_per_mm = 1280", text);
    text = changed("steps_per_mm = 400", "steps_per_mm = 6400", text);
    const auto faults = [](const std::string& machine) {
        return any_with(findings_of("processor-load", machine_from(machine), kSquare),
                        check::Grade::fault);
    };
    EXPECT_TRUE(faults(changed("cortex-m4-168mhz-line", "avr-16mhz-line", text)));
    EXPECT_FALSE(faults(changed("cortex-m4-168mhz-line", "avr-16mhz-line")));
}

TEST(Travel, PastTheEndIsAFaultWithLineAndPlace) {
    const check::Findings findings =
        findings_of("travel", machine_from(), "G21 G90\nG1 X100 F3000\nX230\nX10\n");
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_EQ(findings[0].grade, check::Grade::fault);
    EXPECT_EQ(findings[0].line, 3U);
    EXPECT_DOUBLE_EQ(findings[0].value, 0.230);
    EXPECT_DOUBLE_EQ(findings[0].limit, 0.200);
}

TEST(Travel, BelowTheStartIsAFaultToo) {
    EXPECT_TRUE(any_with(findings_of("travel", machine_from(), "G21 G90\nG1 X-0.5 F600\nX10\n"),
                         check::Grade::fault, 'X'));
    EXPECT_FALSE(any_with(findings_of("travel", machine_from(), "G21 G90\nG1 X0.5 F600\nX10\n"),
                          check::Grade::fault, 'X'));
}

TEST(Travel, UnknownProgramZeroComparesSpansOnly) {
    const std::string text = std::string(kBench) + "[program]\nwork_offset = \"unknown\"\n";
    EXPECT_TRUE(
        findings_of("travel", machine_from(text), "G21 G90\nG1 X-100 F3000\nX90\n").empty());
    EXPECT_TRUE(
        any_with(findings_of("travel", machine_from(text), "G21 G90\nG1 X-150 F3000\nX90\n"),
                 check::Grade::fault, 'X'));
}

TEST(Torque, HeavyBedAtHighAccelerationIsAFaultThatNamesTheAcceleration) {
    const machine::Machine machine = machine_from(changed("mass = \"0.5 kg\"", "mass = \"60 kg\""));
    const check::Findings findings = findings_of("torque", machine, kSquare);
    ASSERT_TRUE(any_with(findings, check::Grade::fault, 'Y'));
    EXPECT_FALSE(any_with(findings, check::Grade::fault, 'X'));
    EXPECT_NE(proposed_lines(findings.front()).find("axes.y.settings.max_acceleration"),
              std::string::npos)
        << proposed_lines(findings.front());
}

TEST(Torque, ProgramFindingNamesTheLineWhereTheHeavyAxisMoves) {
    const check::Findings findings =
        findings_of("torque", machine_from(changed("mass = \"0.5 kg\"", "mass = \"60 kg\"")),
                    "G21 G90\nG1 X60 F6000\nX10\nY60\nX20\n");
    bool placed = false;
    for (const check::Finding& finding : findings)
        placed = placed || (finding.line == 4U && finding.motor == 'Y');
    EXPECT_TRUE(placed);
}

TEST(SpeedStep, TooLargeAStepIsAFaultAndTheProposedOneHolds) {
    std::string text = changed("speed_step = \"5 mm/s\"", "speed_step = \"140 mm/s\"");
    const check::Findings findings = findings_of("speed-step", machine_from(text));
    ASSERT_FALSE(findings.empty());
    const std::string change = proposed_lines(findings.front());
    ASSERT_NE(change.find("speed_step = \""), std::string::npos);
    const std::string value = change.substr(change.find('"'));
    text = changed("speed_step = \"140 mm/s\"", "speed_step = " + value, text);
    EXPECT_FALSE(any_with(findings_of("speed-step", machine_from(text)), check::Grade::fault));
}

/// The worst grade of one check where the program's worst moment of motor X uses so much of the band's edges, at 20 % margin.
template <class Moment>
check::Grade graded(std::string_view check, Moment run::MotorResult::*moment, double use_low,
                    double use_high) {
    const machine::Machine machine = machine_from();
    const run::MotorModels models = run::motor_models(machine);
    std::vector<run::ProgramResult> programs{run_text(machine, kSquare)};
    (programs[0].motors[0].*moment).use_low = use_low;
    (programs[0].motors[0].*moment).use_high = use_high;
    check::Findings findings = check::run_checks({machine, models, programs, 0.2});
    std::erase_if(findings, [&](const check::Finding& f) { return f.check != check; });
    return findings.empty() ? check::Grade::note : findings.front().grade;
}

TEST(TorqueAndSpeedStep, BeyondTheHighEdgeIsAFaultAndBeyondTheLowOneARisk) {
    const auto at = [](double use_low, double use_high) {
        const check::Grade torque = graded("torque", &run::MotorResult::torque, use_low, use_high);
        EXPECT_EQ(graded("speed-step", &run::MotorResult::speed_step, use_low, use_high), torque);
        return torque;
    };
    EXPECT_EQ(at(1.5, 1.01), check::Grade::fault);
    EXPECT_EQ(at(1.5, 0.99), check::Grade::risk);
    EXPECT_EQ(at(0.81, 0.5), check::Grade::risk);
    EXPECT_EQ(at(0.79, 0.5), check::Grade::note);
}

TEST(ProgramWords, UnknownMotionWordIsARiskAndUnknownOtherWordANote) {
    const check::Findings findings = findings_of("program-words", machine_from(),
                                                 "G21 G90\nM975 S3\nG1 X10 F1000\nG7029\nX20\n");
    EXPECT_TRUE(any_with(findings, check::Grade::risk));
    EXPECT_TRUE(any_with(findings, check::Grade::note));
}

TEST(Margin, VerdictIsMonotoneInTheMargin) {
    const machine::Machine machine = machine_from(changed("mass = \"0.5 kg\"", "mass = \"3 kg\""));
    const run::MotorModels models = run::motor_models(machine);
    check::Verdict last = check::Verdict::clear;
    for (const double margin : {0.0, 0.1, 0.2, 0.3, 0.5, 0.7, 0.9}) {
        const check::Verdict verdict =
            check::verdict_of(check::run_checks({machine, models, {}, margin}));
        EXPECT_GE(verdict, last) << margin;
        last = verdict;
    }
    EXPECT_EQ(last, check::Verdict::thin);
}

}  // namespace
