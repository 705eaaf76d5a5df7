#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <sstream>

#include "stepper_sim/capture/edge_csv.hpp"
#include "stepper_sim/capture/vcd.hpp"
#include "tests/stepper_sim/controller/example.hpp"

namespace stepper_sim::capture {
namespace {

/// Two motors at 2 MHz: X steps up, turns, steps down; Y steps with the first of X.
const std::vector<controller::Edge> kEdges = {{20, 3, 0, controller::EdgeKind::step_rise, 1},
                                              {20, 3, 1, controller::EdgeKind::step_rise, 1},
                                              {24, 3, 0, controller::EdgeKind::step_fall, 1},
                                              {24, 3, 1, controller::EdgeKind::step_fall, 1},
                                              {98, 4, 0, controller::EdgeKind::direction, -1},
                                              {100, 4, 0, controller::EdgeKind::step_rise, -1},
                                              {104, 4, 0, controller::EdgeKind::step_fall, -1}};

TEST(Vcd, WritesHeaderInitialValuesAndChanges) {
    std::ostringstream out;
    VcdWriter writer(out, "XY", 2'000'000);
    writer.take(kEdges);
    EXPECT_EQ(out.str(),
              "$comment step and direction lines; a direction line is high counting up $end\n"
              "$timescale 100 ns $end\n"
              "$scope module stepper_sim $end\n"
              "$var wire 1 ! x_step $end\n"
              "$var wire 1 \" y_step $end\n"
              "$var wire 1 # x_dir $end\n"
              "$var wire 1 $ y_dir $end\n"
              "$upscope $end\n"
              "$enddefinitions $end\n"
              "#0\n$dumpvars\n0!\n0\"\n1#\n1$\n$end\n"
              "#100\n1!\n1\"\n"
              "#120\n0!\n0\"\n"
              "#490\n0#\n"
              "#500\n1!\n"
              "#520\n0!\n");
}

TEST(Vcd, ShowsTheTimescaleOfItsUnits) {
    const auto timescale_of = [](std::int64_t tick_hz, std::int64_t unit_hz) {
        std::ostringstream out;
        const VcdWriter writer(out, "X", tick_hz, unit_hz);
        const std::string text = out.str();
        const std::size_t from = text.find("$timescale ") + 11;
        return text.substr(from, text.find(" $end", from) - from);
    };
    EXPECT_EQ(timescale_of(1, 1), "1 s");
    EXPECT_EQ(timescale_of(10, 10), "100 ms");
    EXPECT_EQ(timescale_of(1000, 1'000'000), "1 us");
    EXPECT_EQ(timescale_of(1000, 100'000'000), "10 ns");
    EXPECT_EQ(timescale_of(1000, 1'000'000'000'000), "1 ps");
}

TEST(TraceUnits, AreExactWherePossibleAndKeepTicksApart) {
    EXPECT_EQ(decimal_unit_hz(2'000'000), 10'000'000);    // 500 ns: 5 of 100 ns
    EXPECT_EQ(decimal_unit_hz(1'000'000), 1'000'000);     // 1 us
    EXPECT_EQ(decimal_unit_hz(16'000'000), 100'000'000);  // 62.5 ns needs 100 ps: 10 ns
    EXPECT_EQ(decimal_unit_hz(72'000'000), 100'000'000);  // 13.9 ns: 10 ns
    EXPECT_EQ(decimal_unit_hz(controller::kIdealTick_hz), 1'000'000'000);  // never finer than 1 ns
}

RC_GTEST_PROP(TraceUnits, RoundToTheNearestUnitHoursIntoAProgram, ()) {
    const std::int64_t tick_hz = *rc::gen::element<std::int64_t>(
        2'000'000, 16'000'000, 72'000'000, 168'000'000, controller::kIdealTick_hz);
    const std::int64_t unit_hz = decimal_unit_hz(tick_hz);
    const std::int64_t seconds = *rc::gen::inRange<std::int64_t>(0, 100'000);
    const std::int64_t rest = *rc::gen::inRange<std::int64_t>(0, tick_hz);
    const std::int64_t units = UnitClock(tick_hz, unit_hz).units(seconds * tick_hz + rest);
    const double part =
        static_cast<double>(rest) / static_cast<double>(tick_hz) * static_cast<double>(unit_hz);
    const double slack = 0.5 + 1e-6;  // half a unit, and the rounding of `part`
    RC_ASSERT(std::abs(static_cast<double>(units - seconds * unit_hz) - part) <= slack);
}

TEST(EdgeCsv, WritesARowForEveryMomentOfChange) {
    std::ostringstream out;
    EdgeCsvWriter writer(out, "XY", 2'000'000);
    writer.take(std::span(kEdges).first(3));  // cut within one moment's edges: no difference
    writer.take(std::span(kEdges).subspan(3));
    writer.finish();
    EXPECT_EQ(out.str(),
              "time_s,x_step,y_step,x_dir,y_dir,line\n"
              "0.000000000,0,0,1,1,0\n"
              "0.000010000,1,1,1,1,3\n"
              "0.000012000,0,0,1,1,3\n"
              "0.000049000,0,0,0,1,4\n"
              "0.000050000,1,0,0,1,4\n"
              "0.000052000,0,0,0,1,4\n");
}

TEST(EdgeWindow, KeepsWholePulsesAndTheDirectionsItOpensWith) {
    controller::EdgeList list;
    EdgeWindow window(list, 99, 102);
    window.take(std::span(kEdges).first(5));
    window.take(std::span(kEdges).subspan(5));
    ASSERT_EQ(list.edges.size(), 3U);
    EXPECT_EQ(list.edges[0].kind, controller::EdgeKind::direction);
    EXPECT_EQ(list.edges[0].tick, 99);
    EXPECT_EQ(list.edges[0].direction, -1);
    EXPECT_EQ(list.edges[1].tick, 100);
    EXPECT_EQ(list.edges[2].tick, 104);  // the pulse began inside
}

TEST(EdgeWindow, LeavesOutPulsesThatBeganBeforeIt) {
    controller::EdgeList list;
    EdgeWindow window(list, 22, 99);
    window.take(kEdges);
    ASSERT_EQ(list.edges.size(), 1U);
    EXPECT_EQ(list.edges[0].kind, controller::EdgeKind::direction);
}

RC_GTEST_PROP(EdgeWindow, WindowsSideBySideHoldEveryPulseOnce, ()) {
    const auto moves = testing::random_program(*rc::gen::arbitrary<std::uint32_t>(), 20);
    controller::EdgeList all;
    controller::PulseRun pulses(testing::example_machine(machine::ControllerStyle::line), &all);
    pulses.push(moves);
    pulses.finish();
    RC_PRE(!all.edges.empty());
    const std::int64_t middle =
        *rc::gen::inRange<std::int64_t>(all.edges.front().tick, all.edges.back().tick + 1);
    controller::EdgeList first, second;
    EdgeWindow(first, 0, middle).take(all.edges);
    EdgeWindow(second, middle, INT64_MAX).take(all.edges);
    const auto rises = [](const controller::EdgeList& list) {
        return std::count_if(list.edges.begin(), list.edges.end(),
                             [](const controller::Edge& edge) {
                                 return edge.kind == controller::EdgeKind::step_rise;
                             });
    };
    RC_ASSERT(rises(first) + rises(second) == rises(all));
}

}  // namespace
}  // namespace stepper_sim::capture
