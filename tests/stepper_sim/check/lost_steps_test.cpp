// The reason the tool exists: a thin part whose back-and-forth strokes meet an axis's own frequency loses steps although the torque is
// ample, is found where it happens, and is cured by the change that is proposed.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "stepper_sim/controller/pulse_run.hpp"
#include "stepper_sim/dynamics/axis_dynamics.hpp"
#include "stepper_sim/dynamics/band_edge.hpp"
#include "stepper_sim/run/plan_file.hpp"
#include "stepper_sim/run/slip_judge.hpp"
#include "stepper_sim/run/worst_moves.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kRounding = 1e-9, kRounding_m_s = 1e-9;
constexpr double kEndsOfATrain =
    0.01;  // its first and last strokes may take longer than those between

check::Findings lost_steps(const machine::Machine& machine, const std::string& program) {
    const run::MotorModels models = run::motor_models(machine);
    const auto result = run::run_program(machine, models, kConfigs / "programs" / program);
    EXPECT_TRUE(result);
    const std::vector<run::ProgramResult> programs{result.value()};
    check::Findings kept;
    for (const check::Finding& finding :
         check::run_checks({machine, models, programs, run::kDefaultMargin}))
        if (finding.check == "lost-steps" || finding.grade != check::Grade::note)
            kept.push_back(finding);
    return kept;
}

TEST(LostSteps, TheThinWedgeIsFlaggedWhereReversalsMeetTheBedsFrequencyAndClearAfterTheChange) {
    machine::Machine machine = shipped("tray-printer-hurried");
    const check::Findings findings = lost_steps(machine, "wedge-marker.gcode");
    ASSERT_FALSE(findings.empty());
    const check::Finding& worst = findings.front();
    // Only the simulation objects: torque stays within its margin.
    for (const check::Finding& finding : findings)
        if (finding.grade != check::Grade::note) {
            EXPECT_EQ(finding.check, "lost-steps") << finding.message;
        }
    EXPECT_EQ(worst.grade, check::Grade::fault);
    EXPECT_EQ(worst.motor, 'Y');
    EXPECT_NE(worst.message.find("resonance"), std::string::npos) << worst.message;
    EXPECT_GT(worst.likelihood.value_or(0.0), 0.5);

    const double proposed_m_s2 = proposed_value(worst);
    EXPECT_LT(proposed_m_s2, machine.axes[1].settings.max_acceleration.value());
    machine.axes[1].settings.max_acceleration =
        planner::from_si<planner::Acceleration>(proposed_m_s2);
    for (const check::Finding& finding : lost_steps(machine, "wedge-marker.gcode"))
        EXPECT_EQ(finding.grade, check::Grade::note) << finding.message;
}

TEST(LostSteps, ThePrintedFrequencyIsThatOfTheFormula) {
    const machine::Machine machine = shipped("tray-printer-hurried");
    const run::MotorModels models = run::motor_models(machine);
    const auto result =
        run::run_program(machine, models, kConfigs / "programs" / "wedge-marker.gcode");
    ASSERT_TRUE(result);
    // Bed on its belt with the rotor's magnetic spring behind it: two springs in series on the bed, the rotor's own inertia small
    // beside it. Physics of the two-mass model, solved here by the quadratic of its characteristic equation.
    const dynamics::AxisDynamics axis = dynamics::axis_dynamics(
        machine, models.loads, models.available[1], 1, dynamics::BandEdge::nominal);
    const double km = dynamics::magnetic_stiffness_Nm_rad(axis), kb = axis.stiffness_Nm_rad;
    const double a = axis.rotor_inertia_kg_m2 * axis.load_inertia_kg_m2;
    const double b = axis.rotor_inertia_kg_m2 * kb + axis.load_inertia_kg_m2 * (km + kb);
    const double rate_rad_s = std::sqrt((b - std::sqrt(b * b - 4.0 * a * km * kb)) / (2.0 * a));
    bool seen = false;
    for (const run::SlipWindow& window : result.value().slips.windows)
        if (window.motor == 1) {
            EXPECT_NEAR(window.natural_hz, rate_rad_s / (2.0 * std::numbers::pi),
                        kRounding * window.natural_hz);
            seen = true;
        }
    EXPECT_TRUE(seen);
}

// Another route to each window's outcome: all pulses of the program in one list, cut to the window. The second pass gathers them in
// batches; a window judged before its last pulses are in would show here. With full steps the edges of one batch span many windows,
// with microsteps a window takes many batches.
struct WholeProgram {
    std::vector<planner::MotorMove> moves;
    std::vector<controller::Edge> edges;
    double tick_s = 0.0;
};

WholeProgram whole_program(const machine::Machine& machine, const std::filesystem::path& program) {
    WholeProgram whole;
    controller::EdgeList all;
    controller::PulseRun pulses(machine, &all);
    EXPECT_TRUE(run::plan_file(machine, program, [&](std::span<const planner::MotorMove> moves) {
        whole.moves.insert(whole.moves.end(), moves.begin(), moves.end());
        pulses.push(moves);
        return true;
    }));
    pulses.finish();
    whole.edges = std::move(all.edges);
    whole.tick_s = 1.0 / static_cast<double>(pulses.tick_hz());
    return whole;
}

std::vector<dynamics::StepEdge> edges_of(const run::SlipWindow& slip, const WholeProgram& whole) {
    std::vector<dynamics::StepEdge> edges;
    for (const controller::Edge& edge : whole.edges) {
        const double time_s = static_cast<double>(edge.tick) * whole.tick_s;
        if (edge.kind == controller::EdgeKind::step_rise && edge.motor == slip.motor &&
            time_s >= slip.window.run_in_s && time_s <= slip.window.end_s)
            edges.push_back({time_s - slip.window.run_in_s, edge.direction});
    }
    return edges;
}

/// The line told is that of a move during which the screen's ratio peaks.
void expect_line_of_peak(const run::SlipWindow& slip, const WholeProgram& whole) {
    const double at_s = slip.window.ratio_time_s;
    const bool there =
        std::any_of(whole.moves.begin(), whole.moves.end(), [&](const planner::MotorMove& move) {
            const double begin_s = move.start.seconds();
            return move.line == slip.at.line &&
                   at_s >= begin_s - std::max(move.rest_before_s, 0.0) &&
                   at_s <= begin_s + move.profile.duration_s;
        });
    EXPECT_TRUE(there) << "line " << slip.at.line;
}

/// All windows of a program, each against its own simulation here.
std::vector<run::SlipWindow> expect_whole_windows(const machine::Machine& machine,
                                                  const std::filesystem::path& program) {
    const run::MotorModels models = run::motor_models(machine);
    const auto result = run::run_program(machine, models, program);
    EXPECT_TRUE(result);
    const WholeProgram whole = whole_program(machine, program);
    for (const run::SlipWindow& slip : result.value().slips.windows) {
        const dynamics::Window& window = slip.window;
        SCOPED_TRACE("window at " + std::to_string(window.run_in_s) + " s, motor " +
                     std::to_string(slip.motor));
        if (slip.answer.lost_time_s < 0.0) expect_line_of_peak(slip, whole);
        run::JudgedWindow again;
        again.slip = slip;
        again.slip.answer = {};
        again.motors[0].edges = edges_of(slip, whole);
        again.motors[0].start_rate_rad_s = window.start_rate_rad_s;
        run::SlipJudge judge(machine, models,
                             {run::kDefaultMargin, false, false, slip.likelihood >= 0.0 ? 1 : 0});
        judge.judge({&again, 1});
        EXPECT_EQ(again.slip.answer.verdict, slip.answer.verdict);
        EXPECT_EQ(again.slip.answer.runs, slip.answer.runs);
        EXPECT_EQ(again.slip.answer.slips, slip.answer.slips);
        EXPECT_EQ(again.slip.answer.low_angle_rad, slip.answer.low_angle_rad);
        EXPECT_EQ(again.slip.answer.peak_angle_rad, slip.answer.peak_angle_rad);
        EXPECT_EQ(again.slip.likelihood, slip.likelihood);
    }
    return result.value().slips.windows;
}

std::ptrdiff_t slipping(const std::vector<run::SlipWindow>& windows) {
    return std::count_if(windows.begin(), windows.end(),
                         [](const run::SlipWindow& slip) { return slip.answer.slips_anywhere(); });
}

TEST(LostSteps, EveryWindowIsSimulatedWithAllItsPulses) {
    const auto windows = expect_whole_windows(shipped("tray-printer-hurried"),
                                              kConfigs / "programs" / "wedge-marker.gcode");
    EXPECT_GE(windows.size(), 20U);
    EXPECT_GE(slipping(windows), 1);
    // The riskiest three that slip are drawn.
    EXPECT_EQ(std::count_if(windows.begin(), windows.end(),
                            [](const run::SlipWindow& slip) { return slip.likelihood >= 0.0; }),
              std::min<std::ptrdiff_t>(slipping(windows), 3));
}

TEST(LostSteps, EveryWindowOfFullStepsIsSimulatedWithAllItsPulses) {
    machine::Machine machine = shipped("tray-printer-hurried");
    for (machine::Axis& axis : machine.axes) {
        axis.settings.steps_per_mm /= axis.microsteps;
        axis.microsteps = 1;
    }
    EXPECT_GE(expect_whole_windows(machine, kConfigs / "programs" / "wedge-marker.gcode").size(),
              20U);
}

TEST(LostSteps, ALongCruiseAboveTheCornerSpeedIsSimulatedAtOtherDampingToo) {
    std::string text = changed("\"200 mm\"", "\"2000 mm\"");
    text = changed("max_speed = \"150 mm/s\"", "max_speed = \"900 mm/s\"", text);
    const TextFile file("G21 G90\nG1 X1900 F54000\n");
    const auto windows = expect_whole_windows(machine_from(text), file.path());
    ASSERT_FALSE(windows.empty());
    EXPECT_TRUE(windows.front().window.long_fast_stretch);
    EXPECT_TRUE(std::any_of(windows.begin(), windows.end(), [](const run::SlipWindow& slip) {
        return slip.answer.viscous_factor != 1.0 || slip.answer.runs > 12;
    }));
}

// So long a cruise is not simulated from its beginning.
TEST(LostSteps, AWindowThatBeginsInsideACruiseBeginsAtItsSpeed) {
    std::string text = changed("\"200 mm\"", "\"2000 mm\"");
    text =
        changed("max_acceleration = \"1500 mm/s^2\"", "max_acceleration = \"40000 mm/s^2\"", text);
    const machine::Machine machine = machine_from(text);
    std::string strokes = "G21 G90\nG1 X1000 F3000\n";
    for (int i = 0; i < 40; ++i)
        strokes += "G1 X1001 F9000\nX1000\n";
    const TextFile file(strokes);
    const auto result = run::run_program(machine, run::motor_models(machine), file.path());
    ASSERT_TRUE(result);
    const std::vector<run::SlipWindow>& windows = result.value().slips.windows;
    const auto inside =
        std::find_if(windows.begin(), windows.end(),
                     [](const run::SlipWindow& slip) { return slip.window.begins_inside; });
    ASSERT_NE(inside, windows.end());
    const double radius_m = run::motor_models(machine).loads.motors[0].radius_m;
    EXPECT_NEAR(inside->window.start_rate_rad_s, 0.05 / radius_m, kRounding_m_s / radius_m);
}

// A stroke there and one back are a cycle.
TEST(LostSteps, TheReversalRateIsThatOfTheStrokes) {
    std::string text = "G21 G90\nG1 X50 Y50 F6000\nF12000\n";
    for (int i = 0; i < 12; ++i)
        text += "Y51\nY50\n";
    const TextFile file(text);
    const machine::Machine machine = shipped("tray-printer-hurried");
    const auto result = run::run_program(machine, run::motor_models(machine), file.path());
    ASSERT_TRUE(result);
    const auto moves = whole_program(machine, file.path()).moves;
    const double stroke_s = moves[moves.size() / 2].profile.duration_s;
    ASSERT_FALSE(result.value().slips.windows.empty());
    const run::SlipWindow& slip = result.value().slips.windows.front();
    ASSERT_GT(slip.reversals, 15U);
    EXPECT_NEAR(slip.reversal_rate_hz, 0.5 / stroke_s, kEndsOfATrain * slip.reversal_rate_hz);
}

TEST(LostSteps, WhereNotAllWindowsAreSimulatedTheRiskiestOfTheirKindsAre) {
    const machine::Machine machine = shipped("tray-printer-hurried");
    const run::MotorModels models = run::motor_models(machine);
    const auto windows = [&](int most) {
        const auto result = run::run_program(
            machine, models, kConfigs / "programs" / "wedge-marker.gcode", {.most_windows = most});
        EXPECT_TRUE(result);
        return result.value().slips.windows;
    };
    const auto all = windows(1000), few = windows(3);
    ASSERT_GT(all.size(), 3U);
    ASSERT_EQ(few.size(), 3U);
    EXPECT_EQ(few[0].motor, all[0].motor);
    EXPECT_EQ(few[0].window.run_in_s, all[0].window.run_in_s);
    for (const run::SlipWindow& one : few)
        EXPECT_TRUE(std::any_of(all.begin(), all.end(), [&](const run::SlipWindow& other) {
            return other.motor == one.motor && other.window.run_in_s == one.window.run_in_s;
        }));
}

TEST(LostSteps, TheSameMachineHoldsOnAnOrdinaryPart) {
    for (const check::Finding& finding :
         lost_steps(shipped("tray-printer-hurried"), "tray-insert.gcode"))
        EXPECT_EQ(finding.grade, check::Grade::note) << finding.message;
}

// Made-up moves: one line a motor, with the frequency in place of a time nobody can look up.
TEST(LostSteps, OfWorstCaseMovesEachMotorIsToldOnceWithoutAPlace) {
    const machine::Machine machine = shipped("tray-printer");
    const run::MotorModels models = run::motor_models(machine);
    std::vector<run::ProgramResult> programs;
    for (const run::ProgramSource& source : run::worst_programs(machine, models))
        programs.push_back(run::run_program(machine, models, source).value());
    ASSERT_GT(programs.size(), 1U);
    std::string motors;
    for (const check::Finding& finding :
         check::run_checks({machine, models, programs, run::kDefaultMargin})) {
        if (finding.check != "lost-steps") continue;
        motors += finding.motor;
        EXPECT_FALSE(finding.time_s) << finding.message;
    }
    std::sort(motors.begin(), motors.end());
    EXPECT_GE(motors.size(), 3U);
    EXPECT_EQ(std::adjacent_find(motors.begin(), motors.end()), motors.end()) << motors;
}

TEST(LostSteps, WindowsLeftOutAreNeverClear) {
    const machine::Machine machine = shipped("tray-printer");
    const run::MotorModels models = run::motor_models(machine);
    const auto result = run::run_program(
        machine, models, kConfigs / "programs" / "wedge-marker.gcode", {.most_windows = 2});
    ASSERT_TRUE(result);
    const std::vector<run::ProgramResult> programs{result.value()};
    EXPECT_EQ(
        check::verdict_of(check::run_checks({machine, models, programs, run::kDefaultMargin})),
        check::Verdict::thin);
}

TEST(LostSteps, SettingsAloneAreNeverClear) {
    const machine::Machine machine = machine_from();
    const run::MotorModels models = run::motor_models(machine);
    EXPECT_EQ(check::verdict_of(check::run_checks({machine, models, {}, run::kDefaultMargin})),
              check::Verdict::thin);
}

TEST(LostSteps, WithoutDynamicsNothingIsClear) {
    const machine::Machine machine = machine_from();
    EXPECT_TRUE(any_with(findings_of("lost-steps", machine, "G21 G90\nG1 X10 F1000\n"),
                         check::Grade::risk));
}

}  // namespace
