// What is said of simulated windows: made by hand, so that each word and grade has one cause.
#include <gtest/gtest.h>

#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

run::SlipWindow window(run::SlipVerdict verdict, double likelihood = -1.0, std::uint64_t line = 5) {
    run::SlipWindow slip;
    slip.answer.verdict = verdict;
    slip.answer.slips = verdict == run::SlipVerdict::passes ? 0 : 1;
    slip.answer.runs = 5;
    slip.likelihood = likelihood;
    slip.natural_hz = 30.0;
    slip.at = {line, 0.5, 0.01};
    return slip;
}

constexpr auto kPasses = run::SlipVerdict::passes, kPossible = run::SlipVerdict::possible,
               kLikely = run::SlipVerdict::likely;

/// The findings where motor X has these windows, all of its suspicious ones unless said otherwise.
check::Findings found(const std::vector<run::SlipWindow>& windows,
                      const std::optional<run::SlipCure>& cure = {}, std::uint64_t left_out = 0,
                      const machine::Machine& machine = machine_from()) {
    const run::MotorModels models = run::motor_models(machine);
    std::vector<run::ProgramResult> programs(1);
    run::SlipResult& slips = programs[0].slips;
    slips.run = true;
    slips.windows = windows;
    slips.motors[0].simulated = windows.size();
    slips.motors[0].suspicious = windows.size() + left_out;
    slips.motors[0].cure = cure;
    slips.motors[0].cure_sought = cure.has_value();
    check::Findings findings = check::run_checks({machine, models, programs, run::kDefaultMargin});
    std::erase_if(findings, [](const check::Finding& f) { return f.check != "lost-steps"; });
    return findings;
}

bool says(const check::Finding& finding, std::string_view words) {
    return finding.message.find(words) != std::string::npos;
}

TEST(SlipFindings, OnlyWhatSlipsWhateverTheTorqueIsAFault) {
    EXPECT_EQ(found({window(kLikely)}).front().grade, check::Grade::fault);
    EXPECT_EQ(found({window(kPossible)}).front().grade, check::Grade::risk);
    EXPECT_EQ(found({window(kPasses)}).front().grade, check::Grade::note);
}

TEST(SlipFindings, WhereASlipNeedsAVariantItIsNamed) {
    run::SlipWindow slip = window(kPossible);
    slip.answer.slips_at = {dynamics::BandEdge::low, 0.8, 0.7, 1.2, 1.0};
    EXPECT_TRUE(
        says(found({slip}).front(),
             "at the low torque figure less the margin, friction 30 % less, stiffness 20 % more"));
}

TEST(SlipFindings, ASwingPastThePeakOfTheTorqueIsARiskThoughNothingSlips) {
    run::SlipWindow slip = window(kPossible);
    slip.answer.slips = 0;
    slip.answer.past_peak = true;
    slip.answer.peak_angle_rad = 2.0;
    const check::Findings findings = found({slip});
    EXPECT_EQ(findings.front().grade, check::Grade::risk);
    EXPECT_TRUE(says(findings.front(), "115 deg in the worst case"))
        << findings.front().message;  // 2 rad
}

TEST(SlipFindings, WhereOnlyLatePulsesSlipTheControllerIsToBlame) {
    run::SlipWindow slip = window(kPossible);
    slip.answer.only_late = true;
    EXPECT_TRUE(says(found({slip}).front(), "sends pulses late"));
}

TEST(SlipFindings, TheWorstVerdictIsToldThenTheLikeliestAndTheOthersAreCounted) {
    const check::Findings findings =
        found({window(kPossible, 0.9, 1), window(kLikely, 0.3, 2), window(kLikely, 0.6, 3),
               window(kLikely, 0.4, 4), window(kPasses, -1.0, 5)});
    EXPECT_EQ(findings.front().line, 3U);
    EXPECT_EQ(findings.front().likelihood, 0.6);
    EXPECT_TRUE(says(findings.front(), "60 % of draws")) << findings.front().message;
    EXPECT_TRUE(says(findings.front(), "4 windows do not hold")) << findings.front().message;
}

TEST(SlipFindings, TheNearestMissOfWhatHoldsIsTold) {
    std::vector<run::SlipWindow> windows{window(kPasses, -1.0, 1), window(kPasses, -1.0, 2),
                                         window(kPasses, -1.0, 3)};
    windows[0].answer.low_angle_rad = 0.5;
    windows[1].answer.low_angle_rad = 2.0;
    windows[2].answer.low_angle_rad = 1.0;
    const check::Findings findings = found(windows);
    ASSERT_EQ(findings.size(), 1U);
    EXPECT_EQ(findings[0].line, 2U);
    EXPECT_TRUE(says(findings[0], "swings to 115 deg of load angle with the low torque figure"))
        << findings[0].message;  // 2 rad
    EXPECT_TRUE(says(findings[0], "3 of 3 suspicious windows")) << findings[0].message;
}

TEST(SlipFindings, WindowsLeftOutAreARiskUnlessTheMotorSlipsAnyway) {
    const check::Findings holding = found({window(kPasses)}, {}, 3);
    ASSERT_EQ(holding.size(), 1U);
    EXPECT_EQ(holding[0].grade, check::Grade::risk);
    EXPECT_TRUE(says(holding[0], "1 of 4 suspicious windows")) << holding[0].message;
    const check::Findings slipping = found({window(kLikely)}, {}, 3);
    ASSERT_EQ(slipping.size(), 2U);
    EXPECT_EQ(slipping[1].grade, check::Grade::note);
}

TEST(SlipFindings, AWindowCutOffIsARiskUnlessTheMotorSlipsAnyway) {
    run::SlipWindow cut = window(kPasses);
    cut.window.cut_off = true;
    const check::Findings holding = found({cut, window(kPasses)});
    ASSERT_EQ(holding.size(), 1U);
    EXPECT_EQ(holding[0].grade, check::Grade::risk);
    EXPECT_TRUE(says(holding[0], "1 of them only for the first 10 s")) << holding[0].message;
    EXPECT_EQ(found({cut, window(kLikely)}).back().grade, check::Grade::note);
}

TEST(SlipFindings, TheDirectionIsThatOfTheCommandAtThePeak) {
    run::SlipWindow slip = window(kLikely);
    slip.window.ratio_rate_rad_s = -1.0;
    EXPECT_TRUE(says(found({slip}).front(), "moving -"));
    slip.window.ratio_rate_rad_s = 1.0;
    EXPECT_TRUE(says(found({slip}).front(), "moving +"));
}

// The bench: 1500 mm/s^2, 150 mm/s and steps of 5 mm/s.
TEST(SlipFindings, ProposeTheScaledSettingOfEveryAxisTheMotorMoves) {
    const auto change = [](machine::SettingKey setting,
                           const machine::Machine& machine = machine_from()) {
        return proposed_lines(
            found({window(kLikely)}, run::SlipCure{setting, 0.5}, 0, machine).front());
    };
    EXPECT_EQ(change(machine::SettingKey::max_acceleration),
              "axes.x.settings.max_acceleration = \"750 mm/s^2\"");
    EXPECT_EQ(change(machine::SettingKey::max_speed), "axes.x.settings.max_speed = \"75 mm/s\"");
    EXPECT_EQ(change(machine::SettingKey::max_speed,
                     machine_from(changed("\"cartesian\"", "\"crossed-belt\""))),
              "axes.x.settings.max_speed = \"75 mm/s\", axes.y.settings.max_speed = \"75 mm/s\"");
}

TEST(SlipFindings, WhereNoCureWasSoughtTheSettingToLowerIsNamed) {
    run::SlipWindow slip = window(kLikely);
    EXPECT_TRUE(says(found({slip}).front(), "lower axes.x.settings.max_acceleration"));
    slip.base_share = 1.1;
    EXPECT_TRUE(says(found({slip}).front(), "lower axes.x.settings.max_speed"));
}

TEST(SlipWindow, ReversalsNearTheNaturalFrequencyAreResonanceIfThereAreMany) {
    const auto reason = [](double share_of_natural, std::uint64_t reversals) {
        run::SlipWindow slip = window(kLikely);
        slip.reversal_rate_hz = share_of_natural * slip.natural_hz;
        slip.reversals = reversals;
        return slip.reason();
    };
    EXPECT_EQ(reason(1.0, 4), run::SlipReason::resonance);
    EXPECT_EQ(reason(1.0, 3), run::SlipReason::swing);
    EXPECT_EQ(reason(0.6, 10), run::SlipReason::resonance);
    EXPECT_EQ(reason(0.5, 10), run::SlipReason::swing);
    EXPECT_EQ(reason(1.25, 10), run::SlipReason::resonance);
    EXPECT_EQ(reason(1.35, 10), run::SlipReason::swing);
}

TEST(SlipWindow, OtherReasonsFollowTheSpeed) {
    run::SlipWindow slip = window(kLikely);
    slip.base_share = 0.9;
    EXPECT_EQ(slip.reason(), run::SlipReason::swing);
    slip.base_share = 1.1;
    EXPECT_EQ(slip.reason(), run::SlipReason::torque);
    slip.window.long_fast_stretch = true;
    EXPECT_EQ(slip.reason(), run::SlipReason::instability);
}

}  // namespace
