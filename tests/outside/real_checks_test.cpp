// Programs that people have published, through the whole of `check` on a machine large enough for all of them. They are not part of this
// project: the environment variable STEPPER_SIM_PROGRAMS names the folder that holds them; without it this is skipped.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <string>

#include "planner/kinematics/kinematics.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/run/run_program.hpp"

namespace {

using namespace stepper_sim;

std::string axis(const std::string& letter, const std::string& rest) {
    return "[axes." + letter + "]\n" + rest + R"(
motor = "motors/qsh4218-51-10-049.toml"
driver = "drivers/tmc2209.toml"
current = { rms = "1 A" }
supply = "24 V"
microsteps = 16
)";
}

machine::Machine roomy_machine() {
    const std::string belt = R"(travel = ["-2000 mm", "2000 mm"]
drive = { belt_pitch = "2 mm", pulley_teeth = 20 }
load = { mass = "0.4 kg", friction = "2 N" }
settings = { steps_per_mm = 80, max_speed = "150 mm/s", max_acceleration = "1500 mm/s^2", speed_step = "5 mm/s" })";
    const std::string screw = R"(travel = ["-500 mm", "500 mm"]
drive = { screw_lead = "8 mm", efficiency = 0.5 }
load = { mass = "1 kg", friction = "5 N", vertical = true }
settings = { steps_per_mm = 400, max_speed = "10 mm/s", max_acceleration = "100 mm/s^2", speed_step = "0.4 mm/s" })";
    const std::string filament =
        R"(drive = { screw_lead = "24 mm", efficiency = 0.9, gear_ratio = 3.0 }
load = { mass = "0.02 kg", friction = "20 N" }
settings = { steps_per_mm = 400, max_speed = "40 mm/s", max_acceleration = "2000 mm/s^2", speed_step = "2 mm/s" })";
    auto machine = machine::read_machine_text(
        "name = \"roomy\"\nkinematics = \"cartesian\"\ncontroller = "
        "\"controllers/cortex-m4-168mhz-line.toml\"\n"
        "[planning]\ncorner = \"speed-step\"\nlookahead_moves = 32\narc_tolerance = \"0.01 mm\"\n" +
            axis("x", belt) + axis("y", belt) + axis("z", screw) + axis("e", filament),
        "roomy.toml", {STEPPER_SIM_CONFIGS});
    for (const auto& diagnostic : machine.diagnostics())
        ADD_FAILURE() << planner::to_line(diagnostic);
    return std::move(machine).value();
}

TEST(RealChecks, EveryProgramGetsAVerdictAndLosesNoStepInTheBooks) {
    const char* const folder =
        std::getenv("STEPPER_SIM_PROGRAMS");  // NOLINT(concurrency-mt-unsafe)
    if (folder == nullptr) GTEST_SKIP() << "STEPPER_SIM_PROGRAMS names no folder of real programs";
    const machine::Machine machine = roomy_machine();
    const run::MotorModels models = run::motor_models(machine);
    int checked = 0;
    for (const auto& entry : std::filesystem::directory_iterator(folder)) {
        if (!entry.is_regular_file()) continue;
        const std::string name = entry.path().filename().string();
        // A few windows suffice: what is tested here is that real files come through, not their machines.
        const auto result = run::run_program(machine, models, entry.path(), {.most_windows = 3});
        ++checked;
        if (!result) {
            // One of them scales every coordinate by parameters that nothing sets: it has no motion, and that is said.
            EXPECT_EQ(result.diagnostics().front().id, "program/nothing-moves")
                << planner::to_line(result.diagnostics().front());
            continue;
        }
        EXPECT_GT(result.value().duration_s, 0.0) << name;
        for (std::size_t m = 0; m < machine.axes.size(); ++m) {
            const double end_steps = result.value().axes[m].end_m * machine.axes[m].steps_per_m();
            EXPECT_EQ(result.value().motors[m].timing.net_steps, std::llround(end_steps))
                << name << " motor " << m;
        }
        const std::vector<run::ProgramResult> programs{result.value()};
        for (const check::Finding& finding :
             check::run_checks({machine, models, programs, run::kDefaultMargin})) {
            EXPECT_FALSE(finding.message.empty()) << name;
            EXPECT_TRUE(std::isfinite(finding.value) && std::isfinite(finding.limit))
                << name << ": " << finding.message;
        }
    }
    EXPECT_GE(checked, 13);
}

}  // namespace
