#include "stepper_sim/machine/read_machine.hpp"

#include <gtest/gtest.h>

#include "planner/units/units_text.hpp"
#include "tests/stepper_sim/machine/machine_texts.hpp"

namespace stepper_sim::machine::test {
namespace {

using planner::to_si;

constexpr double kThreeRoundings = 1e-15;  // relative: each 1.1e-16, and those of the products
constexpr double kRounding_hz = 1e-9;      // of a third of a megahertz

class FullMachine : public testing::Test {
  protected:
    void SetUp() override {
        const planner::Result<Machine> result = read_text(kFullMachine);
        ASSERT_TRUE(result) << faults_of(kFullMachine);
        machine = result.value();
        ASSERT_EQ(machine.axes.size(), 2U);
    }
    Machine machine;
};

TEST_F(FullMachine, NameKinematicsAndPlanningAreRead) {
    EXPECT_EQ(machine.name, "Bench plotter");
    EXPECT_EQ(machine.file, "m.toml");
    EXPECT_EQ(machine.kinematics, planner::Kinematics::crossed_belt);
    EXPECT_EQ(machine.planning.corner, planner::CornerRule::deviation);
    EXPECT_EQ(to_si(machine.planning.deviation), 0.02e-3);
    EXPECT_EQ(machine.planning.window_moves, 16);
    EXPECT_EQ(to_si(machine.planning.arc_tolerance), 0.01e-3);
    EXPECT_EQ(to_si(machine.planning.path_acceleration.value()), 2.5);
}

TEST_F(FullMachine, ControllerIsRead) {
    const ControllerPart& part = machine.controller;
    EXPECT_EQ(part.name, "Bench controller");
    EXPECT_EQ(part.style, ControllerStyle::line);
    EXPECT_EQ(part.clock_hz, 16000000);
    EXPECT_EQ(part.tick_hz, 2000000);
    EXPECT_EQ(part.interrupt_cycles, 60);
    EXPECT_EQ(part.event_cycles, 40);
    EXPECT_EQ(part.motor_cycles, 41);
    EXPECT_EQ(part.processor_share, 0.7);
    EXPECT_EQ(to_si(part.pulse_high), 2e-6);
    EXPECT_EQ(to_si(part.direction_setup), 1e-6);
    EXPECT_EQ(to_si(part.direction_hold), 1.5e-6);
    EXPECT_EQ(part.max_steps_per_interrupt, 4);
    EXPECT_EQ(part.source.document, "none");
    EXPECT_EQ(part.source.known, Known::read);
    EXPECT_EQ(part.source.note, "made up");
}

TEST_F(FullMachine, AxesComeInTheOrderOfTheirSlots) {
    EXPECT_EQ(machine.axes[0].letter, 'X');
    EXPECT_EQ(machine.axes[1].letter, 'Y');
    EXPECT_EQ(machine.program.axes.letters(), "XY");
}

TEST_F(FullMachine, BeltAxisIsRead) {
    const Axis& x = machine.axes[0];
    EXPECT_EQ(to_si(x.travel_min.value()), 0.0);
    EXPECT_EQ(to_si(x.travel_max.value()), 0.3);
    EXPECT_EQ(to_si(x.drive.belt_pitch.value()), 0.002);
    EXPECT_EQ(x.drive.pulley_teeth, 20);
    EXPECT_FALSE(x.drive.screw_lead);
    EXPECT_EQ(x.drive.gear_ratio, 1.0);
    EXPECT_EQ(x.motor_count, 1);
    EXPECT_EQ(to_si(x.current.value), 1.2);
    EXPECT_EQ(x.current.basis, CurrentBasis::rms);
    EXPECT_EQ(to_si(x.supply), 24.0);
    EXPECT_EQ(x.microsteps, 16);
    EXPECT_EQ(to_si(x.load.mass), 0.45);
    EXPECT_EQ(to_si(x.load.friction), 0.0);
    EXPECT_FALSE(x.load.vertical);
    EXPECT_EQ(to_si(x.stiffness.value()), 60e3);
    ASSERT_EQ(x.modes.size(), 2U);
    EXPECT_EQ(to_si(x.modes[1].frequency), 70.0);
    EXPECT_EQ(x.modes[1].damping, 0.02);
    EXPECT_EQ(x.running_factor.value(), 0.72);
    EXPECT_EQ(x.settings.steps_per_mm, 80.0);
    EXPECT_EQ(to_si(x.settings.max_speed), 0.18);
    EXPECT_EQ(to_si(x.settings.max_acceleration), 3.0);
    EXPECT_EQ(to_si(x.settings.speed_step), 0.01);
    // 200 full steps x 16 per turn of 20 teeth x 2 mm: 80 steps per mm; three roundings.
    EXPECT_NEAR(x.mechanical_steps_per_m(), 80000.0, 80000.0 * kThreeRoundings);
}

TEST_F(FullMachine, ScrewAxisIsRead) {
    const Axis& y = machine.axes[1];
    EXPECT_EQ(to_si(y.travel_min.value()), -0.01);
    EXPECT_EQ(to_si(y.drive.screw_lead.value()), 0.008);
    EXPECT_FALSE(y.drive.belt_pitch);
    EXPECT_EQ(y.drive.screw_efficiency, 0.4);
    EXPECT_EQ(to_si(y.drive.screw_inertia), 0.02e-4);
    EXPECT_EQ(y.drive.gear_ratio, 3.0);
    EXPECT_EQ(y.motor_count, 2);
    EXPECT_EQ(y.current.basis, CurrentBasis::peak);
    EXPECT_TRUE(y.load.vertical);
    EXPECT_FALSE(y.stiffness);
    EXPECT_TRUE(y.modes.empty());
    EXPECT_FALSE(y.running_factor);
    EXPECT_EQ(y.settings.steps_per_mm, 200.5);
    EXPECT_EQ(to_si(y.settings.speed_step), 0.0);
}

TEST_F(FullMachine, MotorIsRead) {
    const MotorPart& motor = machine.axes[0].motor;
    EXPECT_EQ(motor.name, "M1");
    EXPECT_EQ(motor.maker, "Maker");
    EXPECT_EQ(motor.file, "");
    EXPECT_EQ(motor.frame, 17);
    EXPECT_EQ(motor.steps_per_turn, 200);
    EXPECT_EQ(motor.rotor_teeth(), 50);
    EXPECT_EQ(to_si(motor.rated_current.value), 1.0);
    EXPECT_EQ(motor.rated_current.basis, CurrentBasis::rms);
    EXPECT_EQ(to_si(motor.holding_torque), 0.27);
    EXPECT_EQ(to_si(motor.resistance.value()), 5.3);
    EXPECT_EQ(to_si(motor.inductance.value()), 0.0066);
    EXPECT_EQ(to_si(motor.rotor_inertia.value()), 35e-7);
    EXPECT_EQ(to_si(motor.detent_torque.value()), 0.022);
    EXPECT_EQ(to_si(motor.max_supply.value()), 75.0);
    EXPECT_EQ(motor.source.document, "sheet 1");
    EXPECT_EQ(motor.source.known, Known::recalled);
}

TEST_F(FullMachine, CurveIsReadWithItsOwnSource) {
    ASSERT_EQ(machine.axes[0].motor.curves.size(), 1U);
    const PullOutCurve& curve = machine.axes[0].motor.curves[0];
    EXPECT_EQ(to_si(curve.supply), 24.0);
    EXPECT_EQ(curve.current.basis, CurrentBasis::rms);
    EXPECT_EQ(curve.drive, "half step, drive not named");
    ASSERT_EQ(curve.speeds.size(), 2U);
    EXPECT_EQ(curve.speeds[1], planner::parse_quantity<planner::AngularSpeed>("150 rpm").value());
    EXPECT_EQ(to_si(curve.torques[1]), 0.2);
    EXPECT_EQ(curve.source.document, "sheet 2");
    EXPECT_EQ(curve.source.note, "page 3");
}

TEST_F(FullMachine, MotorWithACurveNeedsNoResistanceOrInductance) {
    const MotorPart& motor = machine.axes[1].motor;
    EXPECT_EQ(motor.steps_per_turn, 400);
    EXPECT_FALSE(motor.resistance);
    EXPECT_FALSE(motor.inductance);
    EXPECT_EQ(motor.rated_current.basis, CurrentBasis::peak);
    EXPECT_EQ(motor.curves.at(0).current.basis, CurrentBasis::not_stated);
}

TEST_F(FullMachine, DriverIsRead) {
    const DriverPart& driver = machine.axes[0].driver;
    EXPECT_EQ(driver.name, "D1");
    EXPECT_DOUBLE_EQ(to_si(driver.step_high_min), 1.9e-6);
    EXPECT_DOUBLE_EQ(to_si(driver.step_low_min), 1.9e-6);
    EXPECT_EQ(to_si(driver.setup_min.value()), 650e-9);
    EXPECT_EQ(to_si(driver.hold_min.value()), 0.0);
    EXPECT_EQ(to_si(driver.step_rate_max), 250e3);
    EXPECT_TRUE(driver.step_rate_stated);
    EXPECT_FALSE(driver.both_edges);
    EXPECT_EQ(to_si(driver.supply_min), 8.2);
    EXPECT_EQ(to_si(driver.supply_max), 45.0);
    EXPECT_EQ(to_si(driver.current_max.value().value), 2.5);
    EXPECT_EQ(driver.microsteps, (std::vector<int>{1, 2, 4, 8, 16, 32}));
    EXPECT_EQ(driver.regulator, Regulator::chopper);
    EXPECT_EQ(driver.source.document, "sheet 3");
    EXPECT_EQ(machine.axes[1].driver.regulator, Regulator::sine);
}

TEST_F(FullMachine, UnstatedStepRateFollowsFromThePulseTimes) {
    const DriverPart& driver = machine.axes[1].driver;
    EXPECT_FALSE(driver.step_rate_stated);
    EXPECT_TRUE(driver.both_edges);
    // Every edge a step: the longer of 1 us and 3 us bounds evenly spaced steps.
    EXPECT_NEAR(to_si(driver.step_rate_max), 1.0 / 3e-6, kRounding_hz);
    const auto single = read_text(with("both_edges = true", "both_edges = false"));
    ASSERT_TRUE(single);
    EXPECT_NEAR(to_si(single.value().axes[1].driver.step_rate_max), 1.0 / 4e-6, kRounding_hz);
}

TEST_F(FullMachine, ProgramSettingsAreRead) {
    const planner::ProgramSettings& program = machine.program;
    EXPECT_TRUE(program.rapid_is_feed);
    EXPECT_TRUE(program.default_inches);
    EXPECT_EQ(program.dwell_unit_s, 1e-3);
    EXPECT_EQ(program.arc_radius_tolerance_m, 5e-6);
    EXPECT_EQ(program.ignored_axes, "EA");
    EXPECT_EQ(program.parameters, (std::map<int, double>{{100, 2.5}}));
    EXPECT_TRUE(program.block_delete);
    EXPECT_FALSE(program.home_all_axes);
    EXPECT_EQ(program.start_m[0], 0.001);
    EXPECT_EQ(program.start_m[1], 0.002);
    EXPECT_EQ(program.home_m[0], 0.0);
    EXPECT_EQ(program.home_m[1], 0.003);
    EXPECT_EQ(program.work_offset_m[0], 0.01);
    EXPECT_TRUE(machine.work_offset_known);
}

TEST_F(FullMachine, WordsAreReadInTheirPlainForm) {
    const auto& words = machine.program.words;
    ASSERT_EQ(words.size(), 7U);
    EXPECT_EQ(words.at("M7307").effect, planner::WordEffect::ignore);
    EXPECT_EQ(words.at("M7315").effect, planner::WordEffect::ignore);
    EXPECT_EQ(words.at("M7316").effect, planner::WordEffect::text);
    EXPECT_EQ(words.at("G7029.1").effect, planner::WordEffect::wait);
    EXPECT_EQ(words.at("M7317").effect, planner::WordEffect::set_acceleration);
    EXPECT_EQ(words.at("M7317").value_key, "S");
    EXPECT_EQ(words.at("M7318").effect, planner::WordEffect::relative_e);
    EXPECT_EQ(words.at("M7319").effect, planner::WordEffect::absolute_e);
}

TEST(ReadMachine, LeftOutKeysTakeTheStandardsMeaning) {
    std::string text(kFullMachine);
    text.resize(text.find("[program]"));
    const auto result = read_text(text);
    ASSERT_TRUE(result) << faults_of(text);
    const planner::ProgramSettings& program = result.value().program;
    EXPECT_FALSE(program.rapid_is_feed);
    EXPECT_FALSE(program.default_inches);
    EXPECT_EQ(program.dwell_unit_s, 1.0);
    EXPECT_TRUE(program.words.empty());
    EXPECT_EQ(program.axes.letters(), "XY");
}

TEST(ReadMachine, UnknownWorkOffsetIsRemembered) {
    const auto result =
        read_text(with("work_offset = { x = \"10 mm\" }", "work_offset = \"unknown\""));
    ASSERT_TRUE(result);
    EXPECT_FALSE(result.value().work_offset_known);
}

TEST(ReadMachine, CallsToolsAndCompensationAreRead) {
    const auto result =
        read_text(with("[program.words]",
                       "cutter_compensation = \"as written\"\ntool_lengths = { 2 = \"30 "
                       "mm\" }\n[program.words]\ncall = [\"M7320 P  l\", \"M7322 "
                       "P\"]\nreturn = \"M7321\""));
    ASSERT_TRUE(result);
    const planner::ProgramSettings& program = result.value().program;
    EXPECT_TRUE(program.compensation_as_written);
    EXPECT_EQ(program.tool_lengths_m, (std::map<int, double>{{2, 0.03}}));
    EXPECT_EQ(program.words.at("M7320").effect, planner::WordEffect::call);
    EXPECT_EQ(program.words.at("M7320").value_key, "P");
    EXPECT_EQ(program.words.at("M7320").repeat_key, "L");
    EXPECT_EQ(program.words.at("M7322").repeat_key, "");
    EXPECT_EQ(program.words.at("M7321").effect, planner::WordEffect::give_back);
    EXPECT_FALSE(read_text(kFullMachine).value().program.compensation_as_written);
}

TEST(ReadMachine, PanelSwitchesAreRead) {
    const auto result = read_text(
        with("units = \"inch\"", "units = \"mm\"\nblock_delete = false\nhome_all_axes = true"));
    ASSERT_TRUE(result);
    EXPECT_FALSE(result.value().program.default_inches);
    EXPECT_FALSE(result.value().program.block_delete);
    EXPECT_TRUE(result.value().program.home_all_axes);
}

TEST(ReadMachine, OtherControllerStylesAreRead) {
    const std::string fixed =
        with("style = \"line\"", "style = \"fixed-rate\"\nbase_rate = \"40 kHz\"",
             with("max_steps_per_interrupt = 4", "accumulator_bits = 24"));
    const auto result = read_text(fixed);
    ASSERT_TRUE(result) << faults_of(fixed);
    EXPECT_EQ(result.value().controller.style, ControllerStyle::fixed_rate);
    EXPECT_EQ(result.value().controller.base_rate_hz, 40000);
    EXPECT_EQ(result.value().controller.accumulator_bits, 24);

    const std::string line_key = "max_steps_per_interrupt = 4\n";
    const auto scheduled = read_text(with("\"line\"", "\"scheduled\"", with(line_key, "")));
    ASSERT_TRUE(scheduled);
    EXPECT_EQ(scheduled.value().controller.style, ControllerStyle::scheduled);
}

TEST(ReadMachine, IdealControllerNeedsOnlyItsName) {
    std::string text(kFullMachine);
    const std::size_t first = text.find("[controller]");
    text.replace(first, text.find("[planning]") - first,
                 "controller = { name = \"Exact\", style = \"ideal\" }\n");
    const auto result = read_text(text);
    ASSERT_TRUE(result) << faults_of(text);
    EXPECT_EQ(result.value().controller.style, ControllerStyle::ideal);
}

TEST(PlanLimits, AreTheSettingsInSlotOrder) {
    const planner::PlanLimits limits = plan_limits(read_text(kFullMachine).value());
    EXPECT_EQ(limits.axis_count, 2);
    EXPECT_EQ(limits.max_speed_m_s[0], 0.18);
    EXPECT_EQ(limits.max_speed_m_s[1], 0.02);
    EXPECT_EQ(limits.max_acceleration_m_s2[1], 0.3);
    EXPECT_EQ(limits.speed_step_m_s[0], 0.01);
    EXPECT_EQ(limits.path_acceleration_m_s2, 2.5);
    EXPECT_EQ(limits.corner, planner::CornerRule::deviation);
    EXPECT_EQ(limits.deviation_m, 0.02e-3);
    EXPECT_EQ(limits.window_moves, 16);
}

TEST(PlanLimits, WithoutPathAccelerationThereIsNoCap) {
    const auto result = read_text(with("path_acceleration = \"2500 mm/s^2\"", ""));
    ASSERT_TRUE(result);
    EXPECT_TRUE(std::isinf(plan_limits(result.value()).path_acceleration_m_s2));
}

}  // namespace
}  // namespace stepper_sim::machine::test
