// Positions counted by an independent decoder from our value change dumps: the stepper_motor
// decoder of libsigrokdecode (READ: its pd.py), run by sigrok-cli.
// It counts up when the direction line is high at a rise, and prints the position after a step only
// when the next one comes: n pulses give n - 1 positions.
#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <memory>
#include <string>

#include "planner/kinematics/motor_moves.hpp"
#include "planner/lookahead/lookahead.hpp"
#include "planner/path/path_builder.hpp"
#include "planner/program/program_reader.hpp"
#include "stepper_sim/capture/capture.hpp"
#include "stepper_sim/capture/vcd.hpp"
#include "stepper_sim/controller/pulse_run.hpp"
#include "stepper_sim/machine/read_machine.hpp"

namespace stepper_sim {
namespace {

namespace fs = std::filesystem;

const fs::path kConfigs(STEPPER_SIM_CONFIGS);

struct Pair {
    const char* machine;
    const char* program;
};

constexpr Pair kPairs[] = {
    {"tray-printer", "tray-insert"},
    {"tray-printer", "wedge-marker"},
    {"insert-printer", "tray-insert"},
    {"insert-printer", "wedge-marker"},
    {"tag-router", "oak-tag-mm"},
    {"tag-router", "oak-tag-inch"},
    {"tag-router", "drill-tags"},
    {"label-plotter", "seed-labels"},
    {"tray-printer-hurried", "wedge-marker"},
};

// The decoder's cost follows the samples, not the edges: half a second at 100 ns is 5 million.
constexpr std::int64_t kUnit_hz = 10'000'000;
constexpr double kSection_s = 0.5;

std::vector<planner::MotorMove> motor_moves(const machine::Machine& machine,
                                            const fs::path& program) {
    std::ifstream stream(program, std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(stream), {}};
    planner::ProgramReader reader(machine.program, program.string());
    std::vector<planner::Command> commands;
    reader.read(text, commands);
    reader.finish(commands);
    std::vector<planner::Move> moves;
    planner::PathBuilder(machine.program, machine.planning.arc_tolerance).push(commands, moves);
    std::vector<planner::PlannedMove> planned;
    planner::LookAhead look_ahead(machine::plan_limits(machine));
    look_ahead.push(moves, planned);
    look_ahead.finish(planned);
    std::vector<planner::MotorMove> result;
    planner::MotorMover(machine.kinematics, machine.program.axes).push(planned, result);
    return result;
}

double end_s(const planner::MotorMove& move) {
    return move.start.seconds() + move.profile.duration_s;
}

/// The moves from `first` on that end within kSection_s, at least one, moved to the time's origin.
std::vector<planner::MotorMove> section(const std::vector<planner::MotorMove>& moves,
                                        std::size_t first) {
    std::vector<planner::MotorMove> part;
    const planner::ProgramTime origin = moves[first].start;
    for (std::size_t i = first; i < moves.size(); ++i) {
        if (i > first && end_s(moves[i]) > origin.seconds() + kSection_s) break;
        part.push_back(moves[i]);
        part.back().start.whole_s -= origin.whole_s;
    }
    return part;
}

using Positions = std::map<std::size_t, std::vector<std::int64_t>>;  // by motor slot

Positions our_positions(const std::vector<controller::Edge>& edges) {
    Positions positions;
    std::array<std::int64_t, planner::kMaxAxes> at{};
    for (const controller::Edge& edge : edges) {
        if (edge.kind != controller::EdgeKind::step_rise) continue;
        at[edge.motor] += edge.direction;
        positions[edge.motor].push_back(at[edge.motor]);
    }
    for (auto& [motor, list] : positions)
        list.pop_back();  // the decoder never prints the last
    return positions;
}

Positions decoder_positions(const fs::path& vcd, const std::string& letters) {
    std::string command = "sigrok-cli -I vcd -i '" + vcd.string() + "'";
    for (const char letter : letters) {
        command += " -P stepper_motor:step=" + capture::step_line_name(letter) +
                   ":dir=" + capture::direction_line_name(letter) + ":unit=steps";
    }
    command += " -A stepper_motor=position";
    Positions positions;
    const std::unique_ptr<FILE, int (*)(FILE*)> pipe(popen(command.c_str(), "r"), pclose);
    std::array<char, 256> line{};
    while (pipe && std::fgets(line.data(), line.size(), pipe.get()) != nullptr) {
        unsigned decoder = 0;
        long long position = 0;
        if (std::sscanf(line.data(), "stepper_motor-%u: %lld steps", &decoder, &position) == 2) {
            positions[decoder - 1].push_back(position);
        }
    }
    return positions;
}

void expect_same_positions(const machine::Machine& machine,
                           const std::vector<planner::MotorMove>& moves) {
    const fs::path vcd = fs::path(::testing::TempDir()) /
                         ("stepper_sim_section_" + std::to_string(getpid()) + ".vcd");
    const std::string& letters = machine.program.axes.letters();
    controller::EdgeList list;
    controller::PulseRun pulses(machine, &list);
    pulses.push(moves);
    pulses.finish();
    {
        std::ofstream out(vcd);
        capture::VcdWriter writer(out, letters, pulses.tick_hz(), kUnit_hz);
        writer.take(list.edges);
    }
    const Positions ours = our_positions(list.edges);
    Positions theirs = decoder_positions(vcd, letters);
    for (const auto& [motor, positions] : ours) {
        EXPECT_EQ(positions, theirs[motor]) << "motor " << letters[motor];
        EXPECT_EQ(static_cast<std::int64_t>(positions.size()) + 1,
                  pulses.motor(static_cast<int>(motor)).steps);
    }
    fs::remove(vcd);
}

TEST(SigrokDecoder, CountsOurPositionsFromSectionsOfEveryShippedProgram) {
    if (std::system("sigrok-cli --version >/dev/null 2>&1") != 0) {
        GTEST_SKIP() << "sigrok-cli is not installed";
    }
    for (const auto& [name, program] : kPairs) {
        SCOPED_TRACE(std::string(name) + " with " + program);
        const auto machine = machine::read_machine(
            kConfigs / "machines" / (std::string(name) + ".toml"), {kConfigs});
        ASSERT_TRUE(machine);
        const auto moves =
            motor_moves(machine.value(), kConfigs / "programs" / (std::string(program) + ".gcode"));
        ASSERT_FALSE(moves.empty());
        for (const std::size_t first : {std::size_t{0}, moves.size() / 2}) {
            expect_same_positions(machine.value(), section(moves, first));
        }
    }
}

/// The fastest step the decoder tells for each motor, in whole steps per second as it prints them.
std::map<std::size_t, double> decoder_speeds(const fs::path& vcd, const std::string& letters) {
    std::string command = "sigrok-cli -I vcd -i '" + vcd.string() + "'";
    for (const char letter : letters) {
        command += " -P stepper_motor:step=" + capture::step_line_name(letter) +
                   ":dir=" + capture::direction_line_name(letter) + ":unit=steps";
    }
    command += " -A stepper_motor=speed";
    std::map<std::size_t, double> speeds;
    const std::unique_ptr<FILE, int (*)(FILE*)> pipe(popen(command.c_str(), "r"), pclose);
    std::array<char, 256> line{};
    while (pipe && std::fgets(line.data(), line.size(), pipe.get()) != nullptr) {
        unsigned decoder = 0;
        double speed = 0.0;
        if (std::sscanf(line.data(), "stepper_motor-%u: %lf", &decoder, &speed) == 2)
            speeds[decoder - 1] = std::max(speeds[decoder - 1], speed);
    }
    return speeds;
}

TEST(SigrokDecoder, AgreesWithCaptureOnPositionsAndSpeeds) {
    if (std::system("sigrok-cli --version >/dev/null 2>&1") != 0) {
        GTEST_SKIP() << "sigrok-cli is not installed";
    }
    for (const auto& [name, program] : {kPairs[0], kPairs[3], kPairs[7]}) {
        SCOPED_TRACE(std::string(name) + " with " + program);
        const auto machine = machine::read_machine(
            kConfigs / "machines" / (std::string(name) + ".toml"), {kConfigs});
        ASSERT_TRUE(machine);
        const auto moves =
            motor_moves(machine.value(), kConfigs / "programs" / (std::string(program) + ".gcode"));
        const std::string& letters = machine.value().program.axes.letters();
        controller::EdgeList list;
        controller::PulseRun pulses(machine.value(), &list);
        pulses.push(section(moves, moves.size() / 2));
        pulses.finish();
        const fs::path vcd = fs::path(::testing::TempDir()) /
                             ("stepper_sim_capture_" + std::to_string(getpid()) + ".vcd");
        {
            std::ofstream out(vcd);
            capture::VcdWriter(out, letters, pulses.tick_hz(), kUnit_hz).take(list.edges);
        }
        std::ifstream in(vcd);
        const auto report = capture::run_capture(machine.value(), in, vcd.string(), {});
        ASSERT_TRUE(report);
        Positions positions = decoder_positions(vcd, letters);
        auto speeds = decoder_speeds(vcd, letters);
        std::size_t compared = 0;
        for (const capture::CapturedMotor& motor : report.value().motors) {
            const auto& theirs = positions[motor.slot];
            if (theirs.empty()) continue;
            // The decoder never prints the last step.
            EXPECT_EQ(motor.lines.pulses(), static_cast<std::int64_t>(theirs.size()) + 1);
            EXPECT_LE(std::abs(motor.lines.net() - theirs.back()), 1);
            const double fastest_hz =
                capture::kPicoseconds_per_s / static_cast<double>(motor.lines.interval.value_ps);
            EXPECT_NEAR(speeds[motor.slot], fastest_hz, 1.0) << "it prints whole steps per second";
            ++compared;
        }
        EXPECT_GT(compared, 0U);
        fs::remove(vcd);
    }
}

}  // namespace
}  // namespace stepper_sim
