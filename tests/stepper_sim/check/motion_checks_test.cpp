// Checks of what settings and programs ask of a motor: the figures they tell, by hand, and that what they propose holds.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <functional>
#include <numbers>

#include "planner/kinematics/kinematics.hpp"
#include "stepper_sim/run/ceilings.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;
using planner::from_si;

constexpr double kRounding = 1e-9;     // of sums and products, relative or in N m and m
constexpr double kRounding_hz = 1e-6;  // of some ten thousand hertz

constexpr double kMargin = 0.2;
constexpr std::string_view kSquare = "G21 G90\nG0 X10 Y10 Z1\nG1 X60 F6000\nY60\nX10\nY10\nM2\n";
constexpr double kRadius_m = 20 * 2e-3 / (2.0 * std::numbers::pi);  // the bench's pulleys

/// The first finding of this check about a motor's settings.
std::optional<check::Finding> of_settings(std::string_view check, const machine::Machine& machine,
                                          char motor) {
    for (check::Finding& finding : findings_of(check, machine, {}, kMargin))
        if (finding.motor == motor) return finding;
    return std::nullopt;
}

/// The findings of this check on the square, its result as `change` leaves it.
check::Findings of_program(std::string_view check, const machine::Machine& machine,
                           const std::function<void(run::ProgramResult&)>& change) {
    const run::MotorModels models = run::motor_models(machine);
    std::vector<run::ProgramResult> programs{run_text(machine, kSquare)};
    change(programs[0]);
    check::Findings findings = check::run_checks({machine, models, programs, kMargin});
    std::erase_if(findings, [&](const check::Finding& f) { return f.check != check; });
    return findings;
}

TEST(StepRate, TheSpeedItProposesKeepsTheMargin) {
    for (const double share : {0.9, 1.5}) {
        machine::Machine machine = machine_from(changed("cortex-m4-168mhz-line", "avr-16mhz-line"));
        machine::AxisSettings& settings = machine.axes[0].settings;
        settings.max_acceleration *= 100.0;  // the travel is no limit
        settings.max_speed =
            from_si<planner::Speed>(share * run::ceiling_speed_m_s(machine, machine.axes[0]));
        const auto found = of_settings("step-rate", machine, 'X');
        ASSERT_TRUE(found);
        settings.max_speed = from_si<planner::Speed>(proposed_value(*found));
        EXPECT_FALSE(of_settings("step-rate", machine, 'X')) << share;
    }
}

TEST(StepRate, OnCrossedBeltsAMotorStepsForBothAxesAtOnce) {
    std::string text = changed("\"cartesian\"", "\"crossed-belt\"");
    text = changed("cortex-m4-168mhz-line", "avr-16mhz-line", text);
    const machine::Machine machine = machine_from(changed("150 mm/s\"", "400 mm/s\"", text));
    const auto found = of_settings("step-rate", machine, 'X');
    ASSERT_TRUE(found);
    EXPECT_NEAR(found->value, 2.0 * 400.0 * 80.0, kRounding_hz);
}

TEST(StepRate, AProgramsShortestIntervalAgainstTheDriverIsAFaultWithItsLine) {
    const machine::Machine machine = machine_from();
    const double driver_hz = run::ceilings_of(machine, machine.axes[0]).driver_hz;
    const auto at = [&](double share) {
        return of_program("step-rate", machine, [&](run::ProgramResult& result) {
            result.motors[0].timing.min_interval_s = {1.0 / (share * driver_hz), 4, 0.5};
        });
    };
    EXPECT_TRUE(at(0.99).empty());
    const check::Findings findings = at(1.01);
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_EQ(findings[0].grade, check::Grade::fault);
    EXPECT_EQ(findings[0].motor, 'X');
    EXPECT_EQ(findings[0].line, 4U);
    EXPECT_NEAR(findings[0].value, 1.01 * driver_hz, kRounding * driver_hz);
    EXPECT_EQ(findings[0].limit, driver_hz);
}

// Newton on the belt: (m a + friction) r for the load and J a / r for the rotor, at top speed.
TEST(Torque, OfSettingsIsThatOfFullAccelerationAtTopSpeedAgainstTheBandThere) {
    machine::Machine machine = machine_from();
    int risks = 0, faults = 0;
    for (double mass_kg = 0.5; faults == 0; mass_kg *= 1.05) {
        machine.axes[0].load.mass = from_si<planner::Mass>(mass_kg);
        const auto found = of_settings("torque", machine, 'X');
        if (!found) {
            EXPECT_EQ(risks, 0) << mass_kg;
            continue;
        }
        const double asked_Nm = (mass_kg * 1.5 + 2.0) * kRadius_m +
                                machine.axes[0].motor.rotor_inertia->value() * 1.5 / kRadius_m;
        const motor::TorqueBand band = run::motor_models(machine).available[0].at(
            from_si<planner::AngularSpeed>(0.15 / kRadius_m));
        const double low_Nm = band.low.value(), high_Nm = band.high.value();
        EXPECT_NEAR(found->value, asked_Nm, kRounding);
        const bool fault = asked_Nm > high_Nm;
        EXPECT_EQ(found->grade, fault ? check::Grade::fault : check::Grade::risk);
        EXPECT_NEAR(found->limit, fault ? high_Nm : low_Nm * (1.0 - kMargin), kRounding);
        EXPECT_GT(asked_Nm, low_Nm * (1.0 - kMargin));
        ++(fault ? faults : risks);

        machine::Machine cured = machine;
        cured.axes[0].settings.max_acceleration =
            from_si<planner::Acceleration>(proposed_value(*found));
        EXPECT_FALSE(of_settings("torque", cured, 'X')) << proposed_lines(*found);
    }
    EXPECT_GT(risks, 2);
}

TEST(Torque, WhereFrictionTakesItASlowerSpeedIsProposedAndHolds) {
    machine::Machine machine = machine_from(changed("150 mm/s\"", "400 mm/s\""));
    machine.axes[0].load.mass = from_si<planner::Mass>(0.05);
    std::optional<check::Finding> found;
    for (double friction_N = 5.0; !found; friction_N += 1.0) {
        machine.axes[0].load.friction = from_si<planner::Force>(friction_N);
        found = of_settings("torque", machine, 'X');
    }
    EXPECT_NE(proposed_lines(*found).find("axes.x.settings.max_speed"), std::string::npos)
        << proposed_lines(*found);
    machine.axes[0].settings.max_speed = from_si<planner::Speed>(proposed_value(*found));
    EXPECT_FALSE(of_settings("torque", machine, 'X')) << proposed_lines(*found);
}

// No speed helps where friction alone nearly fills the margin, but a small acceleration does.
TEST(Torque, WhereOnlyASmallAccelerationHelpsItIsProposedAndHolds) {
    machine::Machine machine = machine_from(changed("150 mm/s\"", "5 mm/s\""));
    const auto without_acceleration = [](machine::Machine still) {
        still.axes[0].settings.max_acceleration = from_si<planner::Acceleration>(1e-6);
        return of_settings("torque", still, 'X');
    };
    double friction_N = 1.0;
    for (; !without_acceleration(machine); friction_N += 1.0)
        machine.axes[0].load.friction = from_si<planner::Force>(friction_N);
    machine.axes[0].load.friction = from_si<planner::Force>(friction_N - 2.0);
    machine.axes[0].settings.max_acceleration = from_si<planner::Acceleration>(10.0);
    const auto found = of_settings("torque", machine, 'X');
    ASSERT_TRUE(found);
    ASSERT_NE(proposed_lines(*found).find("axes.x.settings.max_acceleration"), std::string::npos)
        << proposed_lines(*found) << found->message;
    EXPECT_EQ(found->message.find("no slower setting helps"), std::string::npos) << found->message;
    machine.axes[0].settings.max_acceleration =
        from_si<planner::Acceleration>(proposed_value(*found));
    EXPECT_FALSE(of_settings("torque", machine, 'X')) << proposed_lines(*found);
}

TEST(Torque, WhereWeightTakesItNoSettingIsProposed) {
    machine::Machine machine = machine_from();
    machine.axes[2].load.mass = from_si<planner::Mass>(100.0);
    const auto found = of_settings("torque", machine, 'Z');
    ASSERT_TRUE(found);
    EXPECT_EQ(found->grade, check::Grade::fault);
    EXPECT_EQ(proposed_lines(*found), "");
    EXPECT_NE(found->message.find("no slower setting helps"), std::string::npos) << found->message;
}

TEST(SpeedStep, TheProposedOneKeepsTheMargin) {
    machine::Machine machine =
        machine_from(changed("speed_step = \"5 mm/s\"", "speed_step = \"140 mm/s\""));
    const auto found = of_settings("speed-step", machine, 'Y');
    ASSERT_TRUE(found);
    machine.axes[1].settings.speed_step = from_si<planner::Speed>(proposed_value(*found));
    EXPECT_FALSE(of_settings("speed-step", machine, 'Y')) << proposed_lines(*found);
}

TEST(SpeedStep, OfSettingsIsNotJudgedWhereCornersFollowAnotherRule) {
    machine::Machine machine =
        machine_from(changed("speed_step = \"5 mm/s\"", "speed_step = \"140 mm/s\""));
    machine.planning.corner = planner::CornerRule::deviation;
    EXPECT_FALSE(of_settings("speed-step", machine, 'Y'));
}

TEST(Travel, ItsEndsBelongToItAndHalfAMillimetreMoreDoesNot) {
    const auto found = [](std::string_view program) {
        return findings_of("travel", machine_from(), program);
    };
    EXPECT_TRUE(found("G21 G90\nG1 X200 F3000\nX0\n").empty());
    const check::Findings high = found("G21 G90\nG1 X200.5 F3000\nX0\n");
    ASSERT_EQ(high.size(), 1U);
    EXPECT_EQ(high[0].line, 2U);
    const check::Findings low = found("G21 G90\nG1 X50 F3000\nX-0.5\nX10\n");
    ASSERT_EQ(low.size(), 1U);
    EXPECT_EQ(low[0].line, 3U);
    EXPECT_DOUBLE_EQ(low[0].value, -0.5e-3);
    EXPECT_EQ(low[0].limit, 0.0);
}

// The lifting axis travels from -10 to 100 mm.
TEST(Travel, ASpanIsComparedWithTheWholeTravel) {
    const machine::Machine machine =
        machine_from(std::string(kBench) + "[program]\nwork_offset = \"unknown\"\n");
    EXPECT_TRUE(findings_of("travel", machine, "G21 G90\nG1 Z109.9 F300\nZ0\n").empty());
    const check::Findings findings =
        findings_of("travel", machine, "G21 G90\nG1 Z-50 F300\nZ60.1\n");
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_NEAR(findings[0].value, 110.1e-3, kRounding);
    EXPECT_NEAR(findings[0].limit, 110e-3, kRounding);
}

TEST(ProcessorLoad, LatenessIsToldWhereItIsWorst) {
    const check::Findings findings =
        of_program("processor-load", machine_from(), [](run::ProgramResult& result) {
            result.controller.late_pulses = 3;
            result.controller.lateness_peak_s = {2e-3, 5, 0.25};
            result.controller.load_peak = {0.5, 3, 0.1};
        });
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_EQ(findings[0].line, 5U);
    EXPECT_EQ(findings[0].time_s, 0.25);
    EXPECT_EQ(findings[0].value, 2e-3);
}

TEST(PulseTiming, EmittedTimesEachHaveTheirOwnLimitAndATicksRoundingIsNoBreach) {
    const std::array<std::pair<controller::Extreme controller::MotorTiming::*, double>, 4> times{
        {{&controller::MotorTiming::min_high_s, 1e-6},
         {&controller::MotorTiming::min_low_s, 2e-6},
         {&controller::MotorTiming::min_setup_s, 3e-6},
         {&controller::MotorTiming::min_hold_s, 4e-6}}};
    machine::Machine machine = machine_from();
    machine.controller.pulse_high = machine.controller.direction_setup =
        machine.controller.direction_hold = from_si<planner::Time>(5e-6);
    machine::DriverPart& driver = machine.axes[0].driver;
    driver.step_high_min = from_si<planner::Time>(1e-6);
    driver.step_low_min = from_si<planner::Time>(2e-6);
    driver.setup_min = from_si<planner::Time>(3e-6);
    driver.hold_min = from_si<planner::Time>(4e-6);
    for (const auto& row : times)
        for (const double given_s : {row.second - 1e-9, row.second - 1e-13}) {
            const check::Findings findings =
                of_program("pulse-timing", machine, [&](run::ProgramResult& result) {
                    (result.motors[0].timing.*row.first).value = given_s;
                });
            EXPECT_EQ(any_with(findings, check::Grade::fault, 'X'), given_s == row.second - 1e-9)
                << row.second << " " << given_s;
        }
}

TEST(Checks, WithinAGradeTheOneFarthestBeyondItsLimitStandsFirst) {
    machine::Machine machine = machine_from();
    machine.axes[0].supply = from_si<planner::Voltage>(36.0);
    machine.axes[1].supply = from_si<planner::Voltage>(58.0);
    const run::MotorModels models = run::motor_models(machine);
    const check::Findings findings = check::run_checks({machine, models, {}, run::kDefaultMargin});
    ASSERT_GE(findings.size(), 2U);
    EXPECT_EQ(findings[0].motor, 'Y') << findings[0].message;
    EXPECT_EQ(findings[1].motor, 'X') << findings[1].message;
}

}  // namespace
