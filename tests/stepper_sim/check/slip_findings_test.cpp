// What is said of simulated windows: made by hand, so that each word and grade has one cause.
#include <gtest/gtest.h>

#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

SlipWindow window(SlipVerdict verdict, double likelihood = -1.0, std::uint64_t line = 5) {
    SlipWindow slip;
    slip.answer.verdict = verdict;
    slip.answer.slips = verdict == SlipVerdict::passes ? 0 : 1;
    slip.answer.runs = 5;
    slip.likelihood = likelihood;
    slip.natural_hz = 30.0;
    slip.at = {line, 0.5, 0.01};
    return slip;
}

constexpr auto kPasses = SlipVerdict::passes, kPossible = SlipVerdict::possible,
               kLikely = SlipVerdict::likely;

/// The findings where motor X has these windows, all of its suspicious ones unless said otherwise.
Findings found(const std::vector<SlipWindow>& windows, const std::optional<SlipCure>& cure = {},
               std::uint64_t left_out = 0, const Machine& machine = machine_from()) {
    const MotorModels models = motor_models(machine);
    std::vector<ProgramResult> programs(1);
    SlipResult& slips = programs[0].slips;
    slips.run = true;
    slips.windows = windows;
    slips.motors[0].simulated = windows.size();
    slips.motors[0].suspicious = windows.size() + left_out;
    slips.motors[0].cure = cure;
    slips.motors[0].cure_sought = cure.has_value();
    Findings findings = run_checks({machine, models, programs, kDefaultMargin});
    std::erase_if(findings, [](const Finding& f) { return f.check != "lost-steps"; });
    return findings;
}

bool says(const Finding& finding, std::string_view words) {
    return finding.message.find(words) != std::string::npos;
}

TEST(SlipFindings, OnlyWhatSlipsWhateverTheTorqueIsAFault) {
    EXPECT_EQ(found({window(kLikely)}).front().grade, Grade::fault);
    EXPECT_EQ(found({window(kPossible)}).front().grade, Grade::risk);
    EXPECT_EQ(found({window(kPasses)}).front().grade, Grade::note);
}

TEST(SlipFindings, WhereASlipNeedsAVariantItIsNamed) {
    SlipWindow slip = window(kPossible);
    slip.answer.slips_at = {BandEdge::low, 0.8, 0.7, 1.2, 1.0};
    EXPECT_TRUE(
        says(found({slip}).front(),
             "at the low torque figure less the margin, friction 30 % less, stiffness 20 % more"));
}

TEST(SlipFindings, ASwingPastThePeakOfTheTorqueIsARiskThoughNothingSlips) {
    SlipWindow slip = window(kPossible);
    slip.answer.slips = 0;
    slip.answer.past_peak = true;
    slip.answer.peak_angle_rad = 2.0;
    const Findings findings = found({slip});
    EXPECT_EQ(findings.front().grade, Grade::risk);
    EXPECT_TRUE(says(findings.front(), "115 deg in the worst case"))
        << findings.front().message;  // 2 rad
}

TEST(SlipFindings, WhereOnlyLatePulsesSlipTheControllerIsToBlame) {
    SlipWindow slip = window(kPossible);
    slip.answer.only_late = true;
    EXPECT_TRUE(says(found({slip}).front(), "sends pulses late"));
}

TEST(SlipFindings, TheWorstVerdictIsToldThenTheLikeliestAndTheOthersAreCounted) {
    const Findings findings =
        found({window(kPossible, 0.9, 1), window(kLikely, 0.3, 2), window(kLikely, 0.6, 3),
               window(kLikely, 0.4, 4), window(kPasses, -1.0, 5)});
    EXPECT_EQ(findings.front().line, 3U);
    EXPECT_EQ(findings.front().likelihood, 0.6);
    EXPECT_TRUE(says(findings.front(), "60 % of draws")) << findings.front().message;
    EXPECT_TRUE(says(findings.front(), "4 windows do not hold")) << findings.front().message;
}

TEST(SlipFindings, TheNearestMissOfWhatHoldsIsTold) {
    std::vector<SlipWindow> windows{window(kPasses, -1.0, 1), window(kPasses, -1.0, 2),
                                    window(kPasses, -1.0, 3)};
    windows[0].answer.low_angle_rad = 0.5;
    windows[1].answer.low_angle_rad = 2.0;
    windows[2].answer.low_angle_rad = 1.0;
    const Findings findings = found(windows);
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_EQ(findings[0].line, 2U);
    EXPECT_TRUE(says(findings[0], "swings to 115 deg of load angle with the low torque figure"))
        << findings[0].message;  // 2 rad
    EXPECT_TRUE(says(findings[0], "3 of 3 suspicious windows")) << findings[0].message;
}

TEST(SlipFindings, WindowsLeftOutAreARiskUnlessTheMotorSlipsAnyway) {
    const Findings holding = found({window(kPasses)}, {}, 3);
    ASSERT_EQ(holding.size(), 1U);
    EXPECT_EQ(holding[0].grade, Grade::risk);
    EXPECT_TRUE(says(holding[0], "1 of 4 suspicious windows")) << holding[0].message;
    const Findings slipping = found({window(kLikely)}, {}, 3);
    ASSERT_EQ(slipping.size(), 2U);
    EXPECT_EQ(slipping[1].grade, Grade::note);
}

TEST(SlipFindings, AWindowCutOffIsARiskUnlessTheMotorSlipsAnyway) {
    SlipWindow cut = window(kPasses);
    cut.window.cut_off = true;
    const Findings holding = found({cut, window(kPasses)});
    ASSERT_EQ(holding.size(), 1U);
    EXPECT_EQ(holding[0].grade, Grade::risk);
    EXPECT_TRUE(says(holding[0], "1 of them only for the first 10 s")) << holding[0].message;
    EXPECT_EQ(found({cut, window(kLikely)}).back().grade, Grade::note);
}

TEST(SlipFindings, TheDirectionIsThatOfTheCommandAtThePeak) {
    SlipWindow slip = window(kLikely);
    slip.window.ratio_rate_rad_s = -1.0;
    EXPECT_TRUE(says(found({slip}).front(), "moving -"));
    slip.window.ratio_rate_rad_s = 1.0;
    EXPECT_TRUE(says(found({slip}).front(), "moving +"));
}

// The bench: 1500 mm/s^2, 150 mm/s and steps of 5 mm/s.
TEST(SlipFindings, ProposeTheScaledSettingOfEveryAxisTheMotorMoves) {
    const auto change = [](SettingKey setting, const Machine& machine = machine_from()) {
        return proposed_lines(found({window(kLikely)}, SlipCure{setting, 0.5}, 0, machine).front());
    };
    EXPECT_EQ(change(SettingKey::max_acceleration),
              "axes.x.settings.max_acceleration = \"750 mm/s^2\"");
    EXPECT_EQ(change(SettingKey::max_speed), "axes.x.settings.max_speed = \"75 mm/s\"");
    EXPECT_EQ(
        change(SettingKey::max_speed, machine_from(changed("\"cartesian\"", "\"crossed-belt\""))),
        "axes.x.settings.max_speed = \"75 mm/s\", axes.y.settings.max_speed = \"75 mm/s\"");
}

TEST(SlipFindings, WhereNoCureWasSoughtTheSettingToLowerIsNamed) {
    SlipWindow slip = window(kLikely);
    EXPECT_TRUE(says(found({slip}).front(), "lower axes.x.settings.max_acceleration"));
    slip.base_share = 1.1;
    EXPECT_TRUE(says(found({slip}).front(), "lower axes.x.settings.max_speed"));
}

TEST(SlipWindow, ReversalsNearTheNaturalFrequencyAreResonanceIfThereAreMany) {
    const auto reason = [](double share_of_natural, std::uint64_t reversals) {
        SlipWindow slip = window(kLikely);
        slip.reversal_rate_hz = share_of_natural * slip.natural_hz;
        slip.reversals = reversals;
        return slip.reason();
    };
    EXPECT_EQ(reason(1.0, 4), SlipReason::resonance);
    EXPECT_EQ(reason(1.0, 3), SlipReason::swing);
    EXPECT_EQ(reason(0.6, 10), SlipReason::resonance);
    EXPECT_EQ(reason(0.5, 10), SlipReason::swing);
    EXPECT_EQ(reason(1.25, 10), SlipReason::resonance);
    EXPECT_EQ(reason(1.35, 10), SlipReason::swing);
}

TEST(SlipWindow, OtherReasonsFollowTheSpeed) {
    SlipWindow slip = window(kLikely);
    slip.base_share = 0.9;
    EXPECT_EQ(slip.reason(), SlipReason::swing);
    slip.base_share = 1.1;
    EXPECT_EQ(slip.reason(), SlipReason::torque);
    slip.window.long_fast_stretch = true;
    EXPECT_EQ(slip.reason(), SlipReason::instability);
}

}  // namespace
