// What is said of a capture: reports made by hand, so that each finding has one cause.
#include <gtest/gtest.h>

#include <array>
#include <functional>

#include "tests/stepper_sim/capture/capture_samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;
using planner::from_si;

constexpr std::int64_t kUs = 1'000'000;  // picoseconds

/// The bench with limits that all differ: 1 us high, 2 low, 3 set-up, 4 hold.
machine::Machine machine() {
    machine::Machine machine = capture_machine();
    machine::DriverPart& driver = machine.axes[0].driver;
    driver.step_high_min = from_si<planner::Time>(1e-6);
    driver.step_low_min = from_si<planner::Time>(2e-6);
    driver.setup_min = from_si<planner::Time>(3e-6);
    driver.hold_min = from_si<planner::Time>(4e-6);
    return machine;
}

/// A capture of motor X in which nothing is wrong, then changed and judged.
capture::CaptureReport judged(const std::function<void(capture::CaptureReport&)>& change) {
    capture::CaptureReport report;
    report.compared = report.aligned = true;
    report.end_s = 10.0;
    capture::CapturedMotor& motor = report.motors.emplace_back();
    motor.lines.up = 100;
    motor.lines.step_known = true;
    motor.lines.low_ps = 1000 * kUs;
    motor.match.emplace();
    motor.match->matched = motor.match->planned = 100;
    change(report);
    capture::judge_capture(machine(), report);
    return report;
}

check::Findings found(
    const std::function<void(capture::MotorCapture&, capture::MotorMatch&)>& change) {
    return judged([&](capture::CaptureReport& report) {
               change(report.motors[0].lines, *report.motors[0].match);
           })
        .findings;
}

capture::Shortest short_one(std::int64_t value_ps, std::int64_t count = 1) {
    return {value_ps, 7 * kUs, count, 5 * kUs};
}

capture::Differences differences(std::int64_t count, std::uint64_t line = 12) {
    capture::Differences some;
    for (std::int64_t i = 0; i < count; ++i)
        some.add({(2 + i) * kUs, line});
    return some;
}

bool says(const check::Finding& finding, std::string_view words) {
    return finding.message.find(words) != std::string::npos;
}

TEST(CaptureFindings, NothingWrongIsClear) {
    const capture::CaptureReport report = judged([](capture::CaptureReport&) {});
    EXPECT_TRUE(report.findings.empty()) << messages(report.findings);
    EXPECT_EQ(report.verdict, check::Verdict::clear);
}

TEST(CaptureFindings, EachShortTimeIsAFaultAgainstItsOwnLimit) {
    const std::array<std::pair<capture::Shortest capture::MotorCapture::*, double>, 4> times{
        {{&capture::MotorCapture::high, 1e-6},
         {&capture::MotorCapture::low, 2e-6},
         {&capture::MotorCapture::setup, 3e-6},
         {&capture::MotorCapture::hold, 4e-6}}};
    for (const auto& row : times) {
        const auto time = row.first;
        const check::Findings findings =
            found([&](capture::MotorCapture& lines, capture::MotorMatch&) {
                lines.*time = short_one(kUs / 2);
            });
        ASSERT_EQ(findings.size(), 1U) << messages(findings);
        EXPECT_EQ(findings[0].check, "pulse-timing");
        EXPECT_EQ(findings[0].grade, check::Grade::fault);
        EXPECT_DOUBLE_EQ(findings[0].value, 0.5e-6);
        EXPECT_DOUBLE_EQ(findings[0].limit, row.second);
        EXPECT_DOUBLE_EQ(*findings[0].time_s, 7e-6);
    }
}

// 80 steps/mm: a step that goes the wrong way is two of position.
TEST(CaptureFindings, AStepThatMayGoTheWrongWayLosesTwo) {
    const check::Findings findings = found([](capture::MotorCapture& lines, capture::MotorMatch&) {
        lines.setup = short_one(kUs, 4);
        lines.wrong_way = 4;
    });
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_TRUE(says(findings[0], "8 steps of position, 0.1 mm")) << findings[0].message;
    EXPECT_TRUE(says(findings[0], "4 times")) << findings[0].message;
}

TEST(CaptureFindings, AShortIntervalIsToldUnlessAShortHighOrLowTellsIt) {
    const check::Findings alone = found([](capture::MotorCapture& lines, capture::MotorMatch&) {
        lines.interval = short_one(2 * kUs);
    });
    ASSERT_EQ(alone.size(), 1U);
    EXPECT_EQ(alone[0].check, "step-rate");
    EXPECT_EQ(alone[0].grade, check::Grade::fault);
    EXPECT_DOUBLE_EQ(alone[0].value, 500e3);
    const check::Findings with_low = found([](capture::MotorCapture& lines, capture::MotorMatch&) {
        lines.interval = short_one(2 * kUs);
        lines.low = short_one(kUs);
    });
    ASSERT_EQ(with_low.size(), 1U) << messages(with_low);
    EXPECT_EQ(with_low[0].check, "pulse-timing");
}

TEST(CaptureFindings, UnknownLevelsAreARisk) {
    const check::Findings findings =
        found([](capture::MotorCapture& lines, capture::MotorMatch&) { lines.unknown_spans = 1; });
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_EQ(findings[0].check, "unknown-level");
    EXPECT_EQ(findings[0].grade, check::Grade::risk);
}

TEST(CaptureFindings, EachDifferenceFromThePlanIsAFaultOfItsOwnName) {
    const std::array<std::pair<capture::Differences capture::MotorMatch::*, std::string_view>, 4>
        kinds{{{&capture::MotorMatch::missing, "missing-pulses"},
               {&capture::MotorMatch::extra, "extra-pulses"},
               {&capture::MotorMatch::late, "late-pulses"},
               {&capture::MotorMatch::wrong_direction, "wrong-direction"}}};
    for (const auto& row : kinds) {
        const auto kind = row.first;
        const check::Findings findings =
            found([&](capture::MotorCapture&, capture::MotorMatch& match) {
                match.*kind = differences(8);
            });
        ASSERT_EQ(findings.size(), 1U) << messages(findings);
        EXPECT_EQ(findings[0].check, row.second);
        EXPECT_EQ(findings[0].grade, check::Grade::fault);
        EXPECT_EQ(findings[0].value, 8.0);
        EXPECT_EQ(findings[0].line, 12U);
        EXPECT_TRUE(says(findings[0], "and 5 more")) << findings[0].message;
        if (kind != &capture::MotorMatch::late) {  // 80 steps/mm
            EXPECT_TRUE(says(findings[0], "8 steps, 0.1 mm")) << findings[0].message;
        }
    }
}

TEST(CaptureFindings, TheWorstOfLatePulsesIsLateOrEarly) {
    const auto message = [](std::int64_t latest_ps) {
        return found([&](capture::MotorCapture&, capture::MotorMatch& match) {
                   match.late = differences(1);
                   match.latest_ps = latest_ps;
               })
            .front()
            .message;
    };
    EXPECT_NE(message(300 * kUs).find("the worst late by 300 us"), std::string::npos)
        << message(300 * kUs);
    EXPECT_NE(message(-300 * kUs).find("the worst early by 300 us"), std::string::npos)
        << message(-300 * kUs);
}

TEST(CaptureFindings, DirectionsOfWhichNineInTenDifferAreAPolarity) {
    const auto check = [](std::int64_t wrong) {
        return found([&](capture::MotorCapture&, capture::MotorMatch& match) {
                   match.wrong_direction = differences(wrong);
               })
            .front()
            .check;
    };
    EXPECT_EQ(check(90), "wrong-direction");
    EXPECT_EQ(check(91), "polarity");
}

TEST(CaptureFindings, OnceLostNothingElseIsToldOfTheMatch) {
    const capture::CaptureReport report = judged([](capture::CaptureReport& capture) {
        capture::MotorMatch& match = *capture.motors[0].match;
        match.missing = differences(1000);
        match.before = match.after = 5;
        match.lost = capture::Differences::Place{9 * kUs, 44};
    });
    ASSERT_EQ(report.findings.size(), 1U) << messages(report.findings);
    EXPECT_EQ(report.findings[0].check, "plan");
    EXPECT_EQ(report.findings[0].grade, check::Grade::fault);
    EXPECT_EQ(report.findings[0].line, 44U);
    EXPECT_EQ(report.verdict, check::Verdict::fault);
}

TEST(CaptureFindings, AnUpsideDownStepLineIsAllThatIsSaidOfItsMotor) {
    const capture::CaptureReport report = judged([](capture::CaptureReport& capture) {
        capture.motors[0].lines.high_ps = 4000 * kUs;
        capture.motors[0].lines.high = short_one(kUs / 2);
        capture.motors[0].match->missing = differences(3);
        capture.aligned = false;
    });
    ASSERT_EQ(report.findings.size(), 1U) << messages(report.findings);
    EXPECT_EQ(report.findings[0].check, "polarity");
    EXPECT_EQ(report.findings[0].value, 0.8);
    EXPECT_FALSE(report.motors[0].match);
}

TEST(CaptureFindings, ATraceThatBeginsOrEndsInsideTheProgramIsARisk) {
    const capture::CaptureReport late = judged([](capture::CaptureReport& capture) {
        capture.motors[0].match->before = 7;
        capture.motors[0].match->before_net = -3;
    });
    ASSERT_EQ(late.findings.size(), 1U);
    EXPECT_EQ(late.findings[0].check, "starts-late");
    EXPECT_EQ(late.findings[0].value, 7.0);
    EXPECT_TRUE(says(late.findings[0], "net -3")) << late.findings[0].message;
    EXPECT_EQ(late.verdict, check::Verdict::thin);
    const capture::CaptureReport early =
        judged([](capture::CaptureReport& capture) { capture.motors[0].match->after = 9; });
    ASSERT_EQ(early.findings.size(), 1U);
    EXPECT_EQ(early.findings[0].check, "ends-early");
    EXPECT_EQ(early.findings[0].value, 9.0);
    EXPECT_EQ(early.findings[0].time_s, 10.0);
    EXPECT_EQ(early.verdict, check::Verdict::thin);
}

TEST(CaptureFindings, NoPulsesAtAllAndAProgramThatFitsNowhereAreFaults) {
    const capture::CaptureReport silent =
        judged([](capture::CaptureReport& capture) { capture.motors[0].lines.up = 0; });
    ASSERT_EQ(silent.findings.size(), 1U);
    EXPECT_EQ(silent.findings[0].check, "no-pulses");
    EXPECT_EQ(silent.verdict, check::Verdict::fault);
    const capture::CaptureReport other = judged([](capture::CaptureReport& capture) {
        capture.aligned = false;
        capture.motors[0].match.reset();
    });
    ASSERT_EQ(other.findings.size(), 1U);
    EXPECT_EQ(other.findings[0].check, "plan");
    EXPECT_EQ(other.verdict, check::Verdict::fault);
}

TEST(CaptureFindings, FaultsStandBeforeRisks) {
    const check::Findings findings =
        found([](capture::MotorCapture& lines, capture::MotorMatch& match) {
            lines.unknown_spans = 1;
            match.missing = differences(1);
        });
    ASSERT_EQ(findings.size(), 2U);
    EXPECT_EQ(findings[0].check, "missing-pulses");
}

}  // namespace
