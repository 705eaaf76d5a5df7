// Corners whose ringing and dwell a hand can work out.
#include "stepper_sim/limits/corner_quality.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <sstream>

#include "stepper_sim/report/corners_text.hpp"
#include "stepper_sim/report/layout.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kStep_m_s = 5e-3, kAcceleration_m_s2 = 1.5;  // of the sample's X and Y

limits::CornerQuality quality_of(const machine::Machine& machine, std::string_view text) {
    const TextFile program(text);
    const std::vector<run::ProgramSource> programs{run::ProgramSource(program.path())};
    auto quality = limits::corner_quality(machine, programs);
    for (const planner::Diagnostic& diagnostic : quality.diagnostics())
        ADD_FAILURE() << planner::to_line(diagnostic);
    return std::move(quality).value();
}

limits::AxisCorners seen_by(char letter, const limits::CornerQuality& quality) {
    for (const limits::AxisCorners& axis : quality.axes)
        if (axis.letter == letter) return axis;
    ADD_FAILURE() << "no corner of " << letter;
    return {};
}

/// Of X: rotor and mass as one on the magnetic spring of the low torque figure.
double natural_rate_rad_s(const machine::Machine& machine) {
    const machine::Axis& axis = machine.axes[0];
    const double radius_m = axis.drive.travel_per_turn().value() / (2.0 * std::numbers::pi);
    const double inertia_kg_m2 =
        axis.motor.rotor_inertia->value() + axis.load.mass.value() * radius_m * radius_m;
    constexpr double kTeeth = 50.0;  // 1.8 degrees
    return std::sqrt(kTeeth * run::motor_models(machine).available[0].low_Nm(0.0) / inertia_kg_m2);
}

// X stops where Y starts, at a speed below every speed step tried from 1.0 on, after 20 s in which the start's swing dies away.
constexpr std::string_view kSlowTurn = "G21 G90\nG1 X100 F300\nY100\n";
constexpr double kSlow_m_s = 5e-3;
// Bearings damp the swing by 0.3 %; lag and amplitude move by about twice the square.
constexpr double kLightDamping = 1e-4;

// Free vibration from an initial speed, W. T. Thomson, Theory of Vibration with Applications, ch. 2 (MEMORY): amplitude v/w.
TEST(CornerQuality, ASharpTurnRingsByItsJumpOverTheNaturalRate) {
    machine::Machine machine = machine_from();
    for (machine::Axis& axis : machine.axes)  // rigid, to the tolerance
        if (axis.stiffness) *axis.stiffness *= 1e4;
    const limits::CornerQuality quality = quality_of(machine, kSlowTurn);
    const limits::AxisCorners axis = seen_by('X', quality);
    for (std::size_t i = 0; i < limits::kCornerScales.size(); ++i) {
        if (limits::kCornerScales[i] < 1.0) continue;
        const limits::Corner& corner = axis.most_ringing[i].corner;
        EXPECT_EQ(corner.line, 3U);
        EXPECT_NEAR(corner.jump_m_s / kSlow_m_s, 1.0, kLightDamping);
        EXPECT_NEAR(corner.ringing_m * natural_rate_rad_s(machine) / kSlow_m_s, 1.0, kLightDamping);
        EXPECT_EQ(corner.dwell_s, 0.0);
    }
    // And that is what is printed.
    const std::string text = report::corners_text(quality, {"turn.nc"});
    const std::size_t table = text.find("X: the corner that rings most");
    ASSERT_NE(table, std::string::npos) << text;
    const std::string row = text.substr(text.find("\n5 mm/s", table) + 1, report::kTextWidth);
    EXPECT_NE(row.find(report::ringing_text(kSlow_m_s / natural_rate_rad_s(machine))),
              std::string::npos)
        << row;
    EXPECT_NE(row.find(" now"), std::string::npos) << row;
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);)
        EXPECT_LE(report::columns(line), report::kTextWidth) << line;
}

// The same for a measured mode beside it, whose damping shortens its rate by sqrt(1 - z^2).
TEST(CornerQuality, AMeasuredModeRingsByTheSameRule) {
    const machine::Machine plain = machine_from();
    const machine::Machine shaken = machine_from(
        changed("friction = \"2 N\" }",
                "friction = \"2 N\" }\nmodes = [ { frequency = \"48 Hz\", damping = 0.04 } ]"));
    const std::size_t now = 3;
    ASSERT_EQ(limits::kCornerScales[now], 1.0);
    const double added_m =
        seen_by('X', quality_of(shaken, kSlowTurn)).most_ringing[now].corner.ringing_m -
        seen_by('X', quality_of(plain, kSlowTurn)).most_ringing[now].corner.ringing_m;
    const double rate_rad_s = 2.0 * std::numbers::pi * 48.0 * std::sqrt(1.0 - 0.04 * 0.04);
    EXPECT_NEAR(added_m * rate_rad_s / kSlow_m_s, 1.0, kLightDamping);
}

// From v down to c and up again with a, against v throughout: (v - c)^2 / (a v); from and to rest v / (2 a) each.
TEST(CornerQuality, DwellIsTheTimeLostBySlowingDown) {
    const limits::CornerQuality quality =
        quality_of(machine_from(), "G21 G90\nG1 X50 F4800\nY50\n");
    constexpr double kSpeed_m_s = 0.08, kRounding_s = 1e-9;
    for (const char letter : {'X', 'Y'}) {
        const limits::AxisCorners axis = seen_by(letter, quality);
        EXPECT_NEAR(axis.working_speed_m_s, kSpeed_m_s, kRounding_s);
        for (std::size_t i = 0; i < limits::kCornerScales.size(); ++i) {
            const limits::Corner& corner = axis.most_ringing[i].corner;
            const double corner_m_s = std::min(kSpeed_m_s, limits::kCornerScales[i] * kStep_m_s);
            const double slower_m_s = kSpeed_m_s - corner_m_s;
            const double dwell_s = slower_m_s * slower_m_s / (kAcceleration_m_s2 * kSpeed_m_s);
            EXPECT_NEAR(corner.dwell_s, dwell_s, kRounding_s) << letter << i;
            EXPECT_NEAR(corner.jump_m_s, corner_m_s, kRounding_s) << letter << i;
            EXPECT_NEAR(quality.duration_s[i],
                        0.1 / kSpeed_m_s + dwell_s + kSpeed_m_s / kAcceleration_m_s2, kRounding_s);
            // Usual is 16 to 24 mm/s here.
            EXPECT_EQ(axis.usual(i), limits::kCornerScales[i] == 4.0) << i;
            EXPECT_EQ(quality.longest_dwell[i].corner.dwell_s, corner.dwell_s);
        }
    }
}

TEST(CornerQuality, NothingAboveWhatHoldsIsCalledUsual) {
    limits::CornerQuality quality;
    limits::AxisCorners& axis = quality.axes.emplace_back();
    axis.letter = 'X';
    axis.present = 0.008;
    axis.working_speed_m_s = 0.12;  // 24 to 36 mm/s: four times the present step
    constexpr std::size_t kNow = 3, kFour = 6;
    ASSERT_EQ(limits::kCornerScales[kFour], 4.0);
    const auto told = [&](double just_holds, double with_margin) {
        limits::Limits limits;
        limits::AxisLimits& of_x = limits.axes.emplace_back();
        of_x.step.emplace().just_holds = just_holds;
        of_x.step->with_margin = with_margin;
        limits::tell_what_holds(quality, limits);
        return report::corners_text(quality, {"part.nc"});
    };
    EXPECT_TRUE(axis.usual(kFour)) << "where nobody sought limits";
    EXPECT_NE(told(0.05, 0.04).find("  usual\n"), std::string::npos);
    EXPECT_TRUE(axis.usual(kFour));
    told(0.033, 0.026);
    EXPECT_FALSE(axis.usual(kFour)) << "without its margin";
    EXPECT_FALSE(axis.too_high(kFour));
    const std::string text = told(0.007, 0.0056);
    EXPECT_EQ(text.find("  usual\n"), std::string::npos) << text;
    EXPECT_TRUE(axis.too_high(kFour) && axis.too_high(kNow));
    EXPECT_FALSE(axis.too_high(kNow - 1));
    EXPECT_NE(text.find("now, too high"), std::string::npos) << text;
    EXPECT_NE(report::corners_reading(quality).find("too high here: 5.6 mm/s"), std::string::npos);
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);)
        EXPECT_LE(report::columns(line), report::kTextWidth) << line;
}

TEST(CornerQuality, WhereNothingHoldsNoStepIsUsual) {
    limits::CornerQuality quality;
    limits::AxisCorners& axis = quality.axes.emplace_back();
    axis.letter = 'X';
    axis.present = 0.008;
    axis.working_speed_m_s = 0.12;
    limits::Limits limits;
    limits.axes.emplace_back().holds = false;
    limits::tell_what_holds(quality, limits);
    for (std::size_t i = 0; i < limits::kCornerScales.size(); ++i)
        EXPECT_FALSE(axis.usual(i)) << i;
}

TEST(CornerQuality, MoreStepNeverTakesLongerOnRealPrograms) {
    const machine::Machine machine = [] {
        auto read = machine::read_machine(kConfigs / "machines" / "tray-printer.toml", {kConfigs});
        return std::move(read).value();
    }();
    const std::vector<run::ProgramSource> programs{
        run::ProgramSource(kConfigs / "programs" / "tray-insert.gcode"),
        run::ProgramSource(kConfigs / "programs" / "wedge-marker.gcode")};
    const auto quality = limits::corner_quality(machine, programs);
    ASSERT_TRUE(quality);
    constexpr double kPlanned_s = 1e-3;  // look-ahead of few moves settles a little differently
    for (std::size_t i = 1; i < limits::kCornerScales.size(); ++i)
        EXPECT_LE(quality.value().duration_s[i], quality.value().duration_s[i - 1] + kPlanned_s);
    ASSERT_FALSE(quality.value().axes.empty());
    constexpr double kLargestStep_m_s = 8.0 * 8e-3, kRounding_m_s = 1e-9;
    for (const limits::AxisCorners& axis : quality.value().axes)
        for (std::size_t i = 0; i < limits::kCornerScales.size(); ++i) {
            const limits::Corner& corner = axis.most_ringing[i].corner;
            EXPECT_GT(corner.line, 0U);
            EXPECT_LE(corner.jump_m_s, kLargestStep_m_s + kRounding_m_s);
            EXPECT_LE(corner.dwell_s, quality.value().longest_dwell[i].corner.dwell_s);
        }
}

// A right angle of long legs: the arc's radius is d c (1 + c)/s^2 with c = s = sqrt(1/2), and both axes give a = 1.5 m/s^2 along its
// bisector (planner/lookahead/corner.hpp).
TEST(CornerQuality, ByDeviationTheSpeedGrowsWithItsRoot) {
    const machine::Machine machine = machine_from(
        changed("corner = \"speed-step\"", "corner = \"deviation\"\ndeviation = \"0.02 mm\""));
    const limits::CornerQuality quality = quality_of(machine, "G21 G90\nG1 X50 F6000\nY50\n");
    EXPECT_EQ(quality.rule, planner::CornerRule::deviation);
    const limits::AxisCorners axis = seen_by('X', quality);
    const double half = std::sqrt(0.5);
    for (std::size_t i = 0; i < limits::kCornerScales.size(); ++i) {
        const limits::Corner& corner = axis.most_ringing[i].corner;
        const double radius_m = limits::kCornerScales[i] * 0.02e-3 * half * (1.0 + half) / 0.5;
        const double corner_m_s = std::sqrt(kAcceleration_m_s2 / half * radius_m);
        constexpr double kRounding = 1e-9;
        EXPECT_NEAR(axis.setting(i), limits::kCornerScales[i] * 0.02e-3, kRounding * 0.02e-3);
        EXPECT_NEAR(corner.jump_m_s / corner_m_s, 1.0, kRounding);
        if (i > 0) {
            EXPECT_LT(corner.dwell_s, axis.most_ringing[i - 1].corner.dwell_s);
        }
    }
    // Small jumps ring less than the slowing down before them.
    EXPECT_GT(axis.most_ringing.back().corner.ringing_m,
              axis.most_ringing.front().corner.ringing_m);
}

}  // namespace
