// Properties of the whole pipeline, on random programs and on everything that is shipped.
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kRounding_s = 1e-12;  // of a few seconds

std::string zigzag(int seed, int moves, double longest_mm, double feed_mm_min) {
    std::mt19937 random(static_cast<unsigned>(seed));
    std::uniform_real_distribution<double> length(-longest_mm, longest_mm);
    std::string text = "G21 G90\nG0 X100 Y100 Z10\nG91\nG1 F" + std::to_string(feed_mm_min) + "\n";
    double x = 100.0, y = 100.0;
    for (int i = 0; i < moves; ++i) {
        double dx = length(random), dy = length(random);
        if (x + dx < 0.0 || x + dx > 200.0) dx = -dx;
        if (y + dy < 0.0 || y + dy > 200.0) dy = -dy;
        x += dx;
        y += dy;
        text += "X" + std::to_string(dx) + " Y" + std::to_string(dy) + "\n";
    }
    return text;
}

TEST(RunProgram, NetStepsAreTheRoundedEndPositionOnEveryShippedMachineAndProgram) {
    int runs = 0;
    for (const auto& machine_file : std::filesystem::directory_iterator(kConfigs / "machines")) {
        auto machine = machine::read_machine(machine_file.path(), {kConfigs});
        ASSERT_TRUE(machine) << planner::to_line(machine.diagnostics().front());
        const run::MotorModels models = run::motor_models(machine.value());
        for (const auto& program_file :
             std::filesystem::directory_iterator(kConfigs / "programs")) {
            if (program_file.path().extension() == ".py") continue;
            const auto result =
                run::run_program(machine.value(), models, program_file.path(), {.dynamics = false});
            if (!result) {
                // Some machines lack an axis that a program moves: that is said, and nothing else.
                for (const planner::Diagnostic& diagnostic : result.diagnostics())
                    EXPECT_EQ(diagnostic.id, "program/missing-axis")
                        << planner::to_line(diagnostic);
                continue;
            }
            ++runs;
            const auto& axes = machine.value().program.axes;
            planner::AxisArray end{}, start = machine.value().program.start_m;
            for (std::size_t i = 0; i < machine.value().axes.size(); ++i)
                end[i] = result.value().axes[i].end_m;
            const auto motor_end = planner::to_motors(machine.value().kinematics, axes, end);
            const auto motor_start = planner::to_motors(machine.value().kinematics, axes, start);
            for (std::size_t m = 0; m < machine.value().axes.size(); ++m) {
                const double steps_per_m = machine.value().axes[m].steps_per_m();
                const auto expected = std::llround(motor_end[m] * steps_per_m) -
                                      std::llround(motor_start[m] * steps_per_m);
                EXPECT_EQ(result.value().motors[m].timing.net_steps, expected)
                    << machine_file.path() << program_file.path() << m;
            }
        }
    }
    EXPECT_GE(runs, 15);
}

TEST(RunProgram, PlannedSpeedsAndAccelerationsStayWithinTheSettings) {
    const machine::Machine machine = machine_from();
    constexpr double kRounding = 1.0 + 1e-9;  // of speeds computed from squares
    for (int seed = 1; seed <= 20; ++seed) {
        const run::ProgramResult result = run_text(machine, zigzag(seed, 200, 20.0, 20000.0));
        for (std::size_t i = 0; i < machine.axes.size(); ++i) {
            EXPECT_LE(result.axes[i].peak_speed_m_s,
                      machine.axes[i].settings.max_speed.value() * kRounding);
            EXPECT_LE(result.axes[i].peak_acceleration_m_s2,
                      machine.axes[i].settings.max_acceleration.value() * kRounding);
        }
    }
}

TEST(RunProgram, HalvingALimitNeverShortensAProgram) {
    const std::pair<std::string_view, std::string_view> halves[] = {
        {"max_speed = \"150 mm/s\"", "max_speed = \"75 mm/s\""},
        {"max_acceleration = \"1500 mm/s^2\"", "max_acceleration = \"750 mm/s^2\""},
        {"speed_step = \"5 mm/s\"", "speed_step = \"2.5 mm/s\""}};
    const machine::Machine whole = machine_from();
    for (int seed = 1; seed <= 10; ++seed) {
        const std::string program = zigzag(seed, 150, 10.0, 9000.0);
        const double duration_s = run_text(whole, program).duration_s;
        for (const auto& [from, to] : halves)
            EXPECT_GE(run_text(machine_from(changed(from, to)), program).duration_s, duration_s)
                << to;
    }
}

TEST(RunProgram, DoublingOnlyTheFeedOfShortMovesChangesLittleWhenAccelerationBinds) {
    // 1 mm moves at 1500 mm/s^2 peak below sqrt(a L) = 39 mm/s: a feed of 60 mm/s is out of reach already.
    const machine::Machine machine = machine_from();
    std::string program = "G21 G91\nG1 F3600\n";
    for (int i = 0; i < 200; ++i)
        program += i % 2 == 0 ? "X1\n" : "X-1\n";
    const double once_s = run_text(machine, program).duration_s;
    program.replace(program.find("F3600"), 5, "F7200");
    const double twice_s = run_text(machine, program).duration_s;
    EXPECT_LE(twice_s, once_s);
    EXPECT_GT(twice_s, 0.95 * once_s);
}

TEST(RunProgram, AWiderWindowIsNeverSlower) {
    const std::string program = zigzag(3, 400, 1.0, 9000.0);
    double last_s = std::numeric_limits<double>::infinity();
    for (const char* window : {"1", "2", "4", "16", "64", "0"}) {
        const double duration_s =
            run_text(machine_from(changed("lookahead_moves = 16",
                                          std::string("lookahead_moves = ") + window)),
                     program)
                .duration_s;
        EXPECT_LE(duration_s, last_s * (1.0 + 1e-12)) << window;
        last_s = duration_s;
    }
}

TEST(RunProgram, InchAndMillimetreProgramsAreTheSameMotion) {
    const machine::Machine machine = machine_from();
    const run::ProgramResult mm = run_text(machine, "G21 G90\nG1 X50.8 Y25.4 F2540\nX0\n");
    const run::ProgramResult inch = run_text(machine, "G20 G90\nG1 X2 Y1 F100\nX0\n");
    EXPECT_NEAR(mm.duration_s, inch.duration_s, kRounding_s);
    EXPECT_EQ(mm.motors[0].timing.steps, inch.motors[0].timing.steps);
}

TEST(RunProgram, ReportsErrorsInsteadOfAPartialResult) {
    const machine::Machine machine = machine_from();
    for (const std::string_view text : {"G1 X1e400 F100\n", "G1 Xnan F100\n", "G1 X--5 F100\n",
                                        "G2 X1 Y1 R0.1\n", "G0 G1 X5\n", "G1 A5 F100\n"})
        EXPECT_FALSE(try_program(machine, std::string("G21 G90\nG1 X5 F100\n") + std::string(text)))
            << text;
}

TEST(RunProgram, RefusesWhatIsNotAProgram) {
    const machine::Machine machine = machine_from();
    const run::MotorModels models = run::motor_models(machine);
    const auto id_of = [&](const std::filesystem::path& path) {
        const auto result = run::run_program(machine, models, path);
        return result ? std::string("accepted") : result.diagnostics().front().id;
    };
    EXPECT_EQ(id_of("/nonexistent/program.ngc"), "program/unreadable");
    EXPECT_EQ(id_of(std::filesystem::temp_directory_path()), "program/unreadable");
    EXPECT_EQ(id_of(TextFile("").path()), "program/empty");
    EXPECT_EQ(id_of(TextFile("(nothing here)\nG21\n").path()), "program/nothing-moves");
}

}  // namespace
