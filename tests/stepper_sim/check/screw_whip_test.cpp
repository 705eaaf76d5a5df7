// The critical speed of a screw against published figures, and how the check grades it.
#include "stepper_sim/motor/screw_whip.hpp"

#include <gtest/gtest.h>

#include <numbers>

#include "stepper_sim/limits/limit_probe.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

double allowed_rpm(double root_mm, double length_mm, machine::ScrewEnds ends) {
    return motor::kAllowedOfCritical *
           motor::critical_rate_rad_s(planner::from_si<planner::Length>(1e-3 * root_mm),
                                      planner::from_si<planner::Length>(1e-3 * length_mm), ends) *
           30.0 / std::numbers::pi;
}

// A maker's selection example of ball screws for a carriage (from memory): ends fixed-supported, 1100 mm between them, roots of 12.5 and
// 17.5 mm: 1560 and 2180 rpm. Printed to three digits, and its constant 15.1 to three: 0.7 %.
TEST(ScrewWhip, AgreesWithAPublishedSelectionExample) {
    constexpr double kThreeDigits = 0.007;
    EXPECT_NEAR(allowed_rpm(12.5, 1100.0, machine::ScrewEnds::fixed_supported), 1560.0,
                kThreeDigits * 1560.0);
    EXPECT_NEAR(allowed_rpm(17.5, 1100.0, machine::ScrewEnds::fixed_supported), 2180.0,
                kThreeDigits * 2180.0);
}

// The makers' constants for d/L^2 10^7, from memory: 3.4, 9.7, 15.1, 21.9, of two to three digits.
TEST(ScrewWhip, AgreesWithTheConstantsOfAllFourMountings) {
    constexpr std::array kConstants{3.4, 9.7, 15.1, 21.9};
    for (std::size_t i = 0; i < kConstants.size(); ++i)
        EXPECT_NEAR(allowed_rpm(10.0, 1000.0, static_cast<machine::ScrewEnds>(i)),
                    kConstants[i] * 100.0, 0.015 * kConstants[i] * 100.0);
}

/// The bench with a screw of 8 mm lead on Z, root 6 mm, and Z's top speed in mm/s.
machine::Machine bench(const std::string& length, int top_mm_s) {
    return machine_from(changed(
        "screw_lead = \"8 mm\", efficiency = 0.5",
        "screw_lead = \"8 mm\", efficiency = 0.5, screw_root = \"6 mm\", screw_length = \"" +
            length + "\", screw_ends = \"supported\"",
        changed("max_speed = \"10 mm/s\"",
                "max_speed = \"" + std::to_string(top_mm_s) + " mm/s\"")));
}

// 9.66 6/600^2 10^7 = 1610 rpm are allowed, 215 mm/s; it whips at 268 mm/s. The travel of 110 mm must let it reach that.
TEST(ScrewWhip, GradesFromTheAllowedToTheCriticalSpeed) {
    const auto grade = [](int top_mm_s) -> std::optional<check::Grade> {
        machine::Machine machine = bench("600 mm", top_mm_s);
        machine.axes[2].settings.max_acceleration = planner::from_si<planner::Acceleration>(10.0);
        const check::Findings findings = findings_of("screw-whip", machine);
        return findings.empty() ? std::nullopt : std::optional(findings[0].grade);
    };
    EXPECT_EQ(grade(210), std::nullopt);
    EXPECT_EQ(grade(220), check::Grade::risk);
    EXPECT_EQ(grade(264), check::Grade::risk);
    EXPECT_EQ(grade(275), check::Grade::fault);
}

TEST(ScrewWhip, ProposesASpeedThatHolds) {
    machine::Machine machine = bench("600 mm", 250);
    machine.axes[2].settings.max_acceleration = planner::from_si<planner::Acceleration>(10.0);
    const check::Findings findings = findings_of("screw-whip", machine);
    ASSERT_EQ(findings.size(), 1U);
    machine::apply(check::shown_change(findings[0], {})->settings.front().to, machine);
    EXPECT_NEAR(machine.axes[2].settings.max_speed.value(), 0.215, 0.002);
    EXPECT_TRUE(findings_of("screw-whip", machine).empty());
}

TEST(ScrewWhip, IsACeilingOfTheLimits) {
    machine::Machine machine = bench("1500 mm", 60);
    const run::MotorModels models = run::motor_models(machine);
    const auto answer = limits::probe({machine, models, {}, 0.0});
    ASSERT_TRUE(answer);
    EXPECT_FALSE(answer.value().clear);
    EXPECT_EQ(run::to_word(answer.value().binds), "screw whip");
}

}  // namespace
