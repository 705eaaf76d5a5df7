// Captures of our own pulses: a whole one is clear; each fault put in is found, and only it.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "stepper_sim/capture/edge_csv.hpp"
#include "stepper_sim/capture/trace_lines.hpp"
#include "tests/stepper_sim/capture/capture_samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kFarBelowAStep_s = 1e-6;  // which takes tens of microseconds at the fastest
constexpr double kDriftKnownTo =
    1e-6;  // from resolutions of 10 ns over some seconds, and the ticks
// Whole pulses over 10 ms and more: one step in a hundred or so, and of the difference of two such.
constexpr double kStepInAHundred_m_s = 0.001, kTwoWindows_m_s2 = 0.05;

/// Strokes of X with reversals, then X and Y together, then Z; ramps, cruises and rests.
std::string strokes(int count) {
    std::string text = "G21 G90\nG0 X5 Y5\n";
    for (int i = 0; i < count; ++i) {
        text += "G1 X180 F" + std::to_string(6000 + 10 * (i % 17)) + "\n";
        text += "X20 Y" + std::to_string(10 + i % 30) + "\n";
        if (i % 8 == 3) text += "G4 P0.05\nG1 Z" + std::to_string(1 + i % 3) + " F300\n";
    }
    return text + "M2\n";
}

/// A program of about a million pulses (fewer where the build is slow), planned and emitted once.
struct Long {
    machine::Machine machine = capture_machine();
#ifdef STEPPER_SIM_SLOW_BUILD
    static constexpr int kStrokes = 4;
#else
    static constexpr int kStrokes = 40;
#endif
    static constexpr double kFastest_m_s = (6000.0 + 10.0 * std::min(kStrokes - 1, 16)) / 60e3;
    TextFile program{strokes(kStrokes)};
    std::vector<controller::Edge> edges = edges_of(machine, program.path());

    static const Long& it() {
        static const Long once;
        return once;
    }
    capture::CaptureReport capture(const std::vector<controller::Edge>& spoilt) const {
        return capture_of(machine, vcd_of(machine, spoilt), program.path());
    }
    double seconds(std::size_t edge) const {
        return static_cast<double>(edges[edge].tick) /
               static_cast<double>(controller::tick_hz_of(machine.controller));
    }
    std::int64_t ticks(double time_s) const {
        return std::llround(time_s *
                            static_cast<double>(controller::tick_hz_of(machine.controller)));
    }
    /// A pulse in the middle of the program and of a stroke, by its place among the edges.
    std::size_t middle() const {
        return rise_at(edges, 0, pulses(0) / 2 + 1234);
    }
    std::size_t pulses(int motor) const {
        return static_cast<std::size_t>(
            std::count_if(edges.begin(), edges.end(), [&](const controller::Edge& edge) {
                return edge.motor == motor && edge.kind == controller::EdgeKind::step_rise;
            }));
    }
};

/// The trace's own clock: our value change dumps round to it.
constexpr double kResolution_s = 10e-9;

/// The only finding, of this kind and motor.
void expect_only(const capture::CaptureReport& report, std::string_view check, char motor) {
    ASSERT_EQ(report.findings.size(), 1U) << messages(report.findings);
    EXPECT_EQ(report.findings[0].check, check) << messages(report.findings);
    EXPECT_EQ(report.findings[0].motor, motor);
}

TEST(Capture, WholeProgramIsClearPulseByPulse) {
    const Long& all = Long::it();
    const capture::CaptureReport report = all.capture(all.edges);
    EXPECT_EQ(report.verdict, check::Verdict::clear) << messages(report.findings);
    EXPECT_TRUE(report.findings.empty()) << messages(report.findings);
    EXPECT_TRUE(report.aligned);
    for (const capture::CapturedMotor& motor : report.motors) {
        ASSERT_TRUE(motor.match);
        EXPECT_EQ(static_cast<std::size_t>(motor.lines.pulses()),
                  all.pulses(static_cast<int>(motor.slot)));
        EXPECT_EQ(motor.match->matched, motor.lines.pulses());
        EXPECT_EQ(motor.match->planned_net, motor.lines.net());
        // Edges are rounded to the trace's clock, and the clock's own estimate to a little less.
        EXPECT_LE(motor.match->deviation.longest_ps(), 2 * kResolution_s * 1e12);
    }
}

TEST(Capture, OnePulseDroppedIsOneMissingPulseAtItsTime) {
    const Long& all = Long::it();
    std::vector<controller::Edge> spoilt = all.edges;
    const std::size_t at = all.middle();
    erase_pulse(spoilt, at);
    const capture::CaptureReport report = all.capture(spoilt);
    expect_only(report, "missing-pulses", 'X');
    EXPECT_EQ(report.findings[0].value, 1.0);
    EXPECT_EQ(report.findings[0].line, all.edges[at].line);
    EXPECT_NEAR(*report.findings[0].time_s, all.seconds(at), 2 * kResolution_s);
}

TEST(Capture, PulsesDroppedHereAndThereAreCountedEach) {
    const Long& all = Long::it();
    std::vector<controller::Edge> spoilt = all.edges;
    const std::size_t pulses = all.pulses(0);
    for (std::size_t k = 9; k >= 1; --k)  // from the end, so that places stay valid
        erase_pulse(spoilt, rise_at(spoilt, 0, k * pulses / 10));
    const capture::CaptureReport report = all.capture(spoilt);
    expect_only(report, "missing-pulses", 'X');
    EXPECT_EQ(report.findings[0].value, 9.0);
}

TEST(Capture, OnePulseAddedIsOneExtraPulseAtItsTime) {
    const Long& all = Long::it();
    std::vector<controller::Edge> spoilt = all.edges;
    const std::size_t at = all.middle();
    const std::size_t next = rise_at(spoilt, 0, all.pulses(0) / 2 + 1235);
    controller::Edge rise = spoilt[at], fall = spoilt[at];
    rise.tick = (spoilt[at].tick + spoilt[next].tick) / 2;
    fall.tick = rise.tick + all.ticks(2e-6);
    fall.kind = controller::EdgeKind::step_fall;
    const auto place = std::lower_bound(
        spoilt.begin(), spoilt.end(), rise.tick,
        [](const controller::Edge& edge, std::int64_t tick) { return edge.tick < tick; });
    const auto after = spoilt.insert(place, rise);
    const auto place_fall = std::lower_bound(
        after, spoilt.end(), fall.tick,
        [](const controller::Edge& edge, std::int64_t tick) { return edge.tick < tick; });
    spoilt.insert(place_fall, fall);
    const capture::CaptureReport report = all.capture(spoilt);
    expect_only(report, "extra-pulses", 'X');
    EXPECT_EQ(report.findings[0].value, 1.0);
    EXPECT_NEAR(*report.findings[0].time_s,
                static_cast<double>(rise.tick) /
                    static_cast<double>(controller::tick_hz_of(all.machine.controller)),
                2 * kResolution_s);
}

TEST(Capture, ANarrowPulseIsFoundWithItsWidth) {
    machine::Machine machine = Long::it().machine;  // the driver needs at least 1 us
    machine.axes[0].driver.step_high_min = planner::from_si<planner::Time>(1e-6);
    const Long& all = Long::it();
    std::vector<controller::Edge> spoilt = all.edges;
    const std::size_t at = all.middle();
    const std::size_t fall = fall_of(spoilt, at);
    const double narrow_s = 100e-9;
    spoilt[fall].tick = spoilt[at].tick + all.ticks(narrow_s);
    std::rotate(spoilt.begin() + static_cast<std::ptrdiff_t>(at) + 1,
                spoilt.begin() + static_cast<std::ptrdiff_t>(fall),
                spoilt.begin() + static_cast<std::ptrdiff_t>(fall) + 1);
    const capture::CaptureReport report =
        capture_of(machine, vcd_of(machine, spoilt), all.program.path());
    expect_only(report, "pulse-timing", 'X');
    EXPECT_NEAR(report.findings[0].value, narrow_s, kResolution_s);
    EXPECT_EQ(report.findings[0].limit, 1e-6);
    EXPECT_NEAR(*report.findings[0].time_s, all.seconds(at), narrow_s + 2 * kResolution_s);
    EXPECT_EQ(report.motors[0].lines.swallowed, 1);
    EXPECT_EQ(report.motors[0].lines.position_at_risk(), 1);
}

TEST(Capture, ADirectionEdgeInsideTheSetUpTimeIsFoundAndCountedAsPositionLost) {
    const Long& all = Long::it();
    machine::Machine machine = all.machine;
    const double needed_s = 200e-9, late_s = 50e-9;
    machine.axes[0].driver.setup_min = planner::from_si<planner::Time>(needed_s);
    std::vector<controller::Edge> spoilt = all.edges;
    std::size_t turn = spoilt.size() / 2;
    while (spoilt[turn].kind != controller::EdgeKind::direction || spoilt[turn].motor != 0)
        ++turn;
    std::size_t rise = turn;
    while (spoilt[rise].kind != controller::EdgeKind::step_rise || spoilt[rise].motor != 0)
        ++rise;
    spoilt[turn].tick = spoilt[rise].tick - all.ticks(needed_s - late_s);
    std::rotate(spoilt.begin() + static_cast<std::ptrdiff_t>(turn),
                spoilt.begin() + static_cast<std::ptrdiff_t>(turn) + 1,
                spoilt.begin() + static_cast<std::ptrdiff_t>(rise));
    const capture::CaptureReport report =
        capture_of(machine, vcd_of(machine, spoilt), all.program.path());
    expect_only(report, "pulse-timing", 'X');
    EXPECT_NEAR(report.findings[0].value, needed_s - late_s, 2 * kResolution_s);  // and the tick
    EXPECT_EQ(report.findings[0].limit, needed_s);
    EXPECT_EQ(report.motors[0].lines.wrong_way, 1);
    EXPECT_EQ(report.motors[0].lines.position_at_risk(), 2);
}

TEST(Capture, AnInterruptStormMakesPulsesLateNotMissingAndExtra) {
    const Long& all = Long::it();
    std::vector<controller::Edge> spoilt = all.edges;
    const std::size_t at = all.middle();
    const std::int64_t storm_end = spoilt[at].tick + all.ticks(2e-3);
    std::int64_t next = storm_end;
    std::size_t held = 0;
    for (std::size_t i = at; i < spoilt.size() && spoilt[i].tick < next; ++i) {
        held += spoilt[i].kind == controller::EdgeKind::step_rise && spoilt[i].motor == 0 ? 1U : 0U;
        spoilt[i].tick = next;
        next += all.ticks(5e-6);  // catches up well within what the driver takes
    }
    const capture::CaptureReport report = all.capture(spoilt);
    ASSERT_FALSE(report.findings.empty());
    for (const check::Finding& finding : report.findings)
        EXPECT_EQ(finding.check, "late-pulses") << messages(report.findings);
    const capture::MotorMatch& match = *report.motors[0].match;
    EXPECT_EQ(match.missing.count, 0);
    EXPECT_EQ(match.extra.count, 0);
    EXPECT_LE(match.late.count, static_cast<std::int64_t>(held));
    // The last ones before the sequence is caught up are within what counts as in place.
    EXPECT_GE(match.late.count, static_cast<std::int64_t>(held) - 4);
    EXPECT_NEAR(static_cast<double>(match.latest_ps), 2e9, 2 * kResolution_s * 1e12);
}

TEST(Capture, OneThatStartsLateSaysWhereAndHowManyStepsWereMissed) {
    const Long& all = Long::it();
    const std::size_t at = all.middle();
    controller::EdgeList list;
    capture::EdgeWindow(list, all.edges[at].tick, INT64_MAX).take(all.edges);
    for (controller::Edge& edge : list.edges)
        edge.tick -= all.edges[at].tick - 100;  // the analyser's clock starts with it
    const auto missed = std::count_if(
        all.edges.begin(), all.edges.begin() + static_cast<std::ptrdiff_t>(at),
        [](const controller::Edge& edge) { return edge.kind == controller::EdgeKind::step_rise; });
    const capture::CaptureReport report = all.capture(list.edges);
    expect_only(report, "starts-late", 0);
    EXPECT_EQ(report.findings[0].value, static_cast<double>(missed));
    EXPECT_NEAR(report.program_at_begin_s, all.seconds(at), kFarBelowAStep_s);
    EXPECT_EQ(report.verdict, check::Verdict::thin);
}

TEST(Capture, StepLineInTheWrongPolarityIsSaidAndNothingElse) {
    const Long& all = Long::it();
    machine::Machine machine = all.machine;
    for (machine::Axis& axis : machine.axes)
        axis.step_line.inverted = true;
    const capture::CaptureReport report =
        capture_of(machine, vcd_of(machine, all.edges), all.program.path());
    ASSERT_EQ(report.findings.size(), 3U) << messages(report.findings);
    for (const check::Finding& finding : report.findings)
        EXPECT_EQ(finding.check, "polarity") << messages(report.findings);
}

TEST(Capture, DirectionLineInTheWrongPolarityIsSaidAndNothingElse) {
    const Long& all = Long::it();
    for (const std::size_t slot : {0U, 1U}) {
        machine::Machine machine = all.machine;
        machine.axes[slot].direction_line.inverted = true;
        const capture::CaptureReport report =
            capture_of(machine, vcd_of(machine, all.edges), all.program.path());
        expect_only(report, "polarity", machine.axes[slot].letter);
    }
}

TEST(Capture, ADriftingClockIsMeasuredNotAFault) {
    const Long& all = Long::it();
    const double drift = 300e-6;  // a poor crystal's worst; a ceramic resonator is ten times that
    std::vector<controller::Edge> spoilt = all.edges;
    for (controller::Edge& edge : spoilt)
        edge.tick += std::llround(static_cast<double>(edge.tick) * drift) + 12345;
    const capture::CaptureReport report = all.capture(spoilt);
    EXPECT_TRUE(report.findings.empty()) << messages(report.findings);
    EXPECT_NEAR(report.drift, drift, kDriftKnownTo);
}

TEST(Capture, AnotherProgramIsSaidToFitNowhere) {
    const Long& all = Long::it();
    const TextFile other("G21 G90\nG1 X3 Y90 F1111\nX40 Y20 F2500\nX1 Y1 F777\nM2\n");
    const capture::CaptureReport report =
        capture_of(all.machine, vcd_of(all.machine, all.edges), other.path());
    expect_only(report, "plan", 0);
}

TEST(Capture, WithoutAProgramMeasuresSpeedAndAccelerationOfTheAxes) {
    const Long& all = Long::it();
    const capture::CaptureReport report = capture_of(all.machine, vcd_of(all.machine, all.edges));
    EXPECT_TRUE(report.findings.empty()) << messages(report.findings);
    const capture::CapturedMotor& x = report.motors[0];
    // Whole pulses over 10 ms and more: one step in a hundred or so.
    EXPECT_NEAR(x.lines.rate_hz.value / x.steps_per_m, Long::kFastest_m_s, kStepInAHundred_m_s);
    EXPECT_NEAR(x.lines.acceleration_hz_s.value / x.steps_per_m, 1.5, kTwoWindows_m_s2);
}

TEST(Capture, UnknownLevelsAreReportedAndNeverAnEdge) {
    const machine::Machine machine = capture_machine();
    std::string trace =
        "$timescale 1 us $end\n$var wire 1 ! x_step $end\n$var wire 1 \" x_dir $end\n";
    for (const char* name : {"y_step", "y_dir", "z_step", "z_dir"})
        trace += std::string("$var wire 1 # ") + name + " $end\n";
    trace +=
        "$enddefinitions $end\n#0\n0!\n1\"\n0#\n#100\n1!\n#110\n0!\n#200\nx!\n#300\n1!\n#310\n0!\n";
    const capture::CaptureReport report = capture_of(machine, trace);
    expect_only(report, "unknown-level", 'X');
    EXPECT_EQ(report.motors[0].lines.pulses(), 1);
    EXPECT_EQ(report.motors[0].lines.unknown_spans, 1);
}

TEST(Capture, AStepLineThatNeverHasALevelIsNotClear) {
    const capture::CaptureReport report =
        capture_of(capture_machine(),
                   "time_s,x_step,x_dir,y_step,y_dir,z_step,z_dir\n"
                   "0,0,1,x,x,,\n1,1,1,x,x,,\n2,0,1,x,1,,1\n");
    EXPECT_EQ(report.verdict, check::Verdict::thin);
    ASSERT_EQ(report.findings.size(), 2U) << messages(report.findings);
    EXPECT_EQ(report.findings[0].motor, 'Y');
    EXPECT_EQ(report.findings[1].motor, 'Z');
}

TEST(Capture, CsvAndVcdOfTheSamePulsesTellTheSame) {
    const machine::Machine machine = capture_machine();
    const TextFile program(strokes(1));
    const auto edges = edges_of(machine, program.path());
    std::ostringstream csv;
    capture::EdgeCsvWriter writer(csv, machine.program.axes.letters(),
                                  controller::tick_hz_of(machine.controller));
    writer.take(edges);
    writer.finish();
    const capture::CaptureReport one = capture_of(machine, csv.str(), program.path());
    const capture::CaptureReport two = capture_of(machine, vcd_of(machine, edges), program.path());
    EXPECT_TRUE(one.findings.empty()) << messages(one.findings);
    for (std::size_t m = 0; m < one.motors.size(); ++m) {
        EXPECT_EQ(one.motors[m].lines.pulses(), two.motors[m].lines.pulses());
        EXPECT_EQ(one.motors[m].lines.net(), two.motors[m].lines.net());
    }
}

}  // namespace
