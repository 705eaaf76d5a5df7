// The pulse core on a simulated 8-bit part: step_part.cpp, compiled with avr-g++ and run cycle by
// cycle in simavr (its ATmega328P, 16 MHz), against the host's `line` style.
// Source: the simulator's instruction timing. It charges no interrupt response time; silicon takes
// at least 4 cycles (ATmega328PB data sheet DS40001906C, 9.7.1, READ).
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "simulated_part.hpp"
#include "stepper_sim/controller/ceiling.hpp"
#include "stepper_sim/controller/processor_cost.hpp"
#include "stepper_sim/machine/read_parts.hpp"
#include "tests/stepper_sim/controller/example.hpp"

namespace stepper_sim {
namespace {

using planner::AxisArray;
using testing::PartEvent;
using testing::PartMove;
using testing::PinChange;

constexpr int kPartMotors = 4;
constexpr int kReturn_cycles = 4;    // of the return, which simavr's "running" signal leaves out
constexpr int kResponse_cycles = 4;  // on silicon, see above
constexpr std::int64_t kCyclesPerTick = 8;

machine::ControllerPart part_controller() {
    const auto part = machine::read_controller(std::string(STEPPER_SIM_CONFIGS) +
                                               "/controllers/avr-16mhz-line.toml");
    EXPECT_TRUE(part) << "the catalogue has the part measured here";
    return part ? part.value() : machine::ControllerPart{};
}

/// The catalogue has what avr-gcc 5.4 makes of the interrupt; 14.2 makes quicker code of the same source.
machine::ControllerPart compiled_controller() {
    machine::ControllerPart part = part_controller();
    if (STEP_PART_COMPILER == 14) {
        part.event_cycles -= 14;
        part.motor_cycles -= 2;
    }
    return part;
}

machine::Machine part_machine(double steps_per_mm = 80.0) {
    machine::Machine machine;
    machine.axes = {testing::example_axis('X', steps_per_mm),
                    testing::example_axis('Y', steps_per_mm),
                    testing::example_axis('Z', steps_per_mm * 5.0),
                    testing::example_axis('E', steps_per_mm * 1.2)};
    machine.program.axes = planner::AxisSet("XYZE");
    machine.controller = part_controller();
    return machine;
}

/// What the host's `line` style hands to the part.
struct Feed {
    std::vector<PartMove> moves;
    std::vector<PartEvent> events;
};

Feed feed_of(const machine::Machine& machine, const std::vector<planner::MotorMove>& moves) {
    Feed feed;
    const auto style = controller::make_style(machine);
    std::vector<controller::StepEvent> events(256);
    std::uint8_t directions = 0x0F;
    for (const planner::MotorMove& move : moves) {
        const controller::MoveSteps& steps = style->begin(move);
        if (steps.moving == 0) continue;
        PartMove part_move;
        for (std::size_t m = 0; m < kPartMotors; ++m) {
            const std::int64_t count = steps.steps[m];
            part_move.steps[m] = static_cast<std::uint16_t>(std::abs(count));
            const auto bit = static_cast<std::uint8_t>(1U << m);
            if (count > 0) directions = static_cast<std::uint8_t>(directions | bit);
            if (count < 0) directions = static_cast<std::uint8_t>(directions & ~bit);
        }
        part_move.directions = directions;
        feed.moves.push_back(part_move);
        bool first = true;
        while (const std::size_t count = style->events(events)) {
            for (std::size_t i = 0; i < count; ++i) {
                feed.events.push_back({events[i].tick, first});
                first = false;
            }
        }
    }
    return feed;
}

/// The host's edges as pin changes; its first rise is cycle 0.
std::vector<PinChange> expected_pins(const std::vector<controller::Edge>& edges) {
    std::vector<PinChange> pins;
    const auto rise = std::find_if(edges.begin(), edges.end(), [](const controller::Edge& e) {
        return e.kind == controller::EdgeKind::step_rise;
    });
    for (const controller::Edge& edge : edges) {
        const bool turn = edge.kind == controller::EdgeKind::direction;
        pins.push_back({static_cast<std::uint64_t>((edge.tick - rise->tick) * kCyclesPerTick),
                        static_cast<std::uint8_t>(edge.motor + (turn ? kPartMotors : 0)),
                        turn ? edge.direction > 0 : edge.kind == controller::EdgeKind::step_rise});
    }
    return pins;
}

std::vector<PinChange> in_order(std::vector<PinChange> pins) {
    const auto rise = std::find_if(pins.begin(), pins.end(), [](const PinChange& p) {
        return p.pin < kPartMotors && p.level;
    });
    const std::uint64_t origin = rise == pins.end() ? 0 : rise->cycle;
    for (PinChange& pin : pins)
        pin.cycle -= origin;
    std::stable_sort(pins.begin(), pins.end(), [](const PinChange& a, const PinChange& b) {
        const auto x = static_cast<std::int64_t>(a.cycle), y = static_cast<std::int64_t>(b.cycle);
        return x != y ? x < y : a.pin < b.pin;
    });
    return pins;
}

/// Every pin change of the part at the very cycle of the host's tick, from its first rise on.
void expect_same_pins(const machine::Machine& machine,
                      const std::vector<planner::MotorMove>& moves) {
    controller::EdgeList list;
    controller::PulseRun pulses(machine, &list);
    pulses.push(moves);
    pulses.finish();
    ASSERT_EQ(pulses.controller().late_pulses, 0U) << "the program must be within the ceiling";

    const Feed feed = feed_of(machine, moves);
    const testing::PartRun run = testing::run_part(STEP_PART_ELF, feed.moves, feed.events);
    ASSERT_TRUE(run.complete);
    const auto host = in_order(expected_pins(list.edges)), part = in_order(run.pins);
    ASSERT_EQ(host.size(), part.size());
    for (std::size_t i = 0; i < host.size(); ++i) {
        ASSERT_EQ(host[i].cycle, part[i].cycle) << "change " << i;
        ASSERT_EQ(host[i].pin, part[i].pin) << "change " << i;
        ASSERT_EQ(host[i].level, part[i].level) << "change " << i;
    }
}

planner::PlanLimits part_limits() {
    planner::PlanLimits limits = testing::example_limits();
    limits.axis_count = kPartMotors;
    limits.max_speed_m_s = {0.2, 0.2, 0.05, 0.1};
    limits.max_acceleration_m_s2 = {3.0, 2.0, 0.5, 4.0};
    limits.speed_step_m_s = {0.01, 0.008, 0.001, 0.005};
    return limits;
}

TEST(SimulatedPart, RampsLeaveThePinsAtTheHostsTicks) {
    const std::vector<AxisArray> points_m{{}, {0.02}, {0.0201}, {0.05}, {0.0501, 0.01}};
    expect_same_pins(part_machine(), testing::plan(points_m, 0.2, part_limits()));
}

TEST(SimulatedPart, ReversalsLeaveThePinsAtTheHostsTicks) {
    std::vector<AxisArray> points_m{{}};
    for (int i = 1; i <= 60; ++i) {
        const double size_m = 0.0002 * (1 + i % 7);
        points_m.push_back({i % 2 == 0 ? 0.0 : size_m, 1e-4 * i * (i % 3 - 1)});
    }
    expect_same_pins(part_machine(), testing::plan(points_m, 0.1, part_limits()));
}

TEST(SimulatedPart, FourMotorsLeaveThePinsAtTheHostsTicks) {
    std::vector<AxisArray> points_m{{}};
    for (int i = 1; i <= 40; ++i) {
        const double turn = 0.7 * i;
        points_m.push_back({0.003 * std::sin(turn), 0.002 * std::cos(1.3 * turn),
                            0.0004 * std::sin(0.4 * turn), 0.0002 * i - 0.001 * (i % 4)});
    }
    expect_same_pins(part_machine(), testing::plan(points_m, 0.06, part_limits()));
}

TEST(SimulatedPart, MicrostepsFrom1To256LeaveThePinsAtTheHostsTicks) {
    for (int microsteps = 1; microsteps <= 256; microsteps *= 2) {
        // 200 full steps and 40 mm a turn; Z is left out, the ceiling holds for the others.
        const machine::Machine machine = part_machine(200.0 / 40.0 * microsteps);
        const std::vector<AxisArray> points_m{{}, {0.004, 0.001}, {0.001, 0.002}, {0.0, 0.0}};
        SCOPED_TRACE(microsteps);
        expect_same_pins(machine, testing::plan(points_m, 0.02, part_limits()));
    }
}

TEST(SimulatedPart, TenMinutesLeaveThePinsAtTheHostsTicks) {
    std::vector<AxisArray> points_m{{}};
    for (int i = 1; i <= 60; ++i) {
        points_m.push_back({i % 2 == 0 ? 0.0 : 0.008, 0.006 * (i % 3)});
    }
    const auto moves = testing::plan(points_m, 0.001, part_limits());
    const double end_s = moves.back().start.seconds() + moves.back().profile.duration_s;
    EXPECT_GT(end_s, 600.0);
    expect_same_pins(part_machine(), moves);
}

/// A long move in which `motors` motors step at every event, `spacing_ticks` apart on average.
testing::PartRun steady_run(int motors, double spacing_ticks) {
    constexpr int kEvents = 3000;
    PartMove move;
    for (int m = 0; m < motors; ++m)
        move.steps[m] = kEvents;
    move.directions = 0x0F;
    std::vector<PartEvent> events;
    for (int k = 0; k < kEvents; ++k) {
        events.push_back({static_cast<std::int64_t>(std::floor(k * spacing_ticks)), k == 0});
    }
    return testing::run_part(STEP_PART_ELF, {move}, events);
}

TEST(SimulatedPart, MeasuredCyclesAreTheOnesInTheCatalogue) {
    const machine::ControllerPart controller = compiled_controller();
    for (int motors = 1; motors <= kPartMotors; ++motors) {
        EXPECT_LE(controller::interrupt_cycles(controller, 1, motors),
                  controller::interrupt_cycles(part_controller(), 1, motors));
        const testing::PartRun run = steady_run(motors, 500.0);
        // Without the priming interrupt, that of the first event, and those at the end.
        const auto longest =
            *std::max_element(run.handler_cycles.begin() + 3, run.handler_cycles.end() - 3);
        EXPECT_EQ(longest + kReturn_cycles + kResponse_cycles,
                  controller::interrupt_cycles(controller, 1, motors))
            << motors << " motors";
    }
}

TEST(SimulatedPart, PulseSetUpAndHoldAreTheOnesInTheCatalogue) {
    const machine::ControllerPart controller = part_controller();
    const machine::Machine machine = part_machine();
    const std::vector<AxisArray> points_m{{}, {0.001}, {0.0}, {0.001}};
    const auto moves = testing::plan(points_m, 0.05, part_limits());
    const Feed feed = feed_of(machine, moves);
    const testing::PartRun run = testing::run_part(STEP_PART_ELF, feed.moves, feed.events);
    std::uint64_t rise = 0, turn = 0;
    std::uint64_t shortest_hold = UINT64_MAX;
    const auto cycles = [](planner::Time time) {
        return static_cast<std::uint64_t>(std::lround(time.value() * 16e6));
    };
    for (const PinChange& pin : run.pins) {
        if (pin.pin == kPartMotors) {
            if (rise != 0) shortest_hold = std::min(shortest_hold, pin.cycle - rise);
            turn = pin.cycle;
        } else if (pin.pin == 0 && pin.level) {
            rise = pin.cycle;
            if (turn != 0) {
                EXPECT_EQ(rise - turn, cycles(controller.direction_setup));
            }
            turn = 0;
        } else if (pin.pin == 0) {
            EXPECT_EQ(pin.cycle - rise, cycles(controller.pulse_high));
        }
    }
    EXPECT_GE(shortest_hold, cycles(controller.direction_hold));
}

TEST(SimulatedPart, LosesCompareMatchesWithinThreePercentOfThePredictedCeiling) {
    machine::ControllerPart controller = compiled_controller();
    controller.processor_share = 1.0;
    controller.interrupt_cycles -= kResponse_cycles;  // which the simulator does not charge
    for (int motors = 1; motors <= kPartMotors; ++motors) {
        const double predicted_hz = controller::controller_ceiling_hz(controller, motors);
        const double tick_hz = static_cast<double>(controller.tick_hz);
        double holds_hz = 0.8 * predicted_hz, loses_hz = 1.2 * predicted_hz;
        ASSERT_TRUE(steady_run(motors, tick_hz / holds_hz).complete);
        ASSERT_FALSE(steady_run(motors, tick_hz / loses_hz).complete);
        while (loses_hz / holds_hz > 1.002) {
            const double middle_hz = 0.5 * (holds_hz + loses_hz);
            (steady_run(motors, tick_hz / middle_hz).complete ? holds_hz : loses_hz) = middle_hz;
        }
        RecordProperty("predicted_hz_" + std::to_string(motors), std::to_string(predicted_hz));
        RecordProperty("measured_hz_" + std::to_string(motors), std::to_string(holds_hz));
        std::printf("%d motors: predicted %.0f Hz, loses compare matches above %.0f Hz\n", motors,
                    predicted_hz, holds_hz);
        EXPECT_NEAR(holds_hz / predicted_hz, 1.0, 0.03) << motors << " motors";
    }
}

}  // namespace
}  // namespace stepper_sim
