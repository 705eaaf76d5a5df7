// The largest share of a setting that stops the slips, and the question it asks at every share: whether all windows hold.
#include "stepper_sim/run/slip_cure.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "stepper_sim/run/plan_file.hpp"
#include "stepper_sim/run/slip_confirm.hpp"
#include "stepper_sim/run/slip_screen.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr int kWindows = 1000;
constexpr int kBed = 1;  // slot of the axis that slips
// Six halvings of the logarithm from 1 to 0.1 (slip_cure.cpp).
const double kGrain = std::pow(10.0, 1.0 / 64.0);

machine::Machine hurried() {
    return shipped("tray-printer-hurried");
}

/// Strokes of a millimetre that meet the bed's own frequency.
const TextFile& strokes() {
    static const TextFile file([] {
        std::string text = "G21 G90\nG1 X50 Y50 F6000\nF12000\n";
        for (int i = 0; i < 12; ++i)
            text += "Y51\nY50\n";
        return text;
    }());
    return file;
}

std::optional<run::SlipCure> cure_of(const machine::Machine& machine, machine::SettingKey setting) {
    return run::find_cure(machine, run::motor_models(machine), strokes().path(), kBed, setting,
                          {kWindows, run::kDefaultMargin, false});
}

bool bed_slips(const machine::Machine& machine) {
    const auto result = run::run_program(machine, run::motor_models(machine), strokes().path(),
                                         {.most_windows = kWindows});
    EXPECT_TRUE(result);
    const auto& windows = result.value().slips.windows;
    return std::any_of(windows.begin(), windows.end(), [](const run::SlipWindow& slip) {
        return (slip.motor == kBed || slip.beside == kBed) && !slip.answer.holds();
    });
}

machine::Machine lowered(machine::SettingKey setting, double scale) {
    machine::Machine machine = hurried();
    machine::AxisSettings& settings = machine.axes[kBed].settings;
    if (setting == machine::SettingKey::max_speed)
        settings.max_speed *= scale;
    else
        settings.max_acceleration *= scale;
    return machine;
}

TEST(SlipCure, HoldsAndOneGrainMoreSlipsWhicheverSettingIsLowered) {
    ASSERT_TRUE(bed_slips(hurried()));
    for (const machine::SettingKey setting :
         {machine::SettingKey::max_acceleration, machine::SettingKey::max_speed}) {
        const auto cure = cure_of(hurried(), setting);
        ASSERT_TRUE(cure);
        EXPECT_EQ(cure->setting, setting);
        EXPECT_LT(cure->scale, 1.0);
        EXPECT_FALSE(bed_slips(lowered(setting, cure->scale)));
        EXPECT_TRUE(bed_slips(lowered(setting, cure->scale * kGrain)));
    }
}

// There both motors move with both axes: either axis alone would not slow the motor down enough.
TEST(SlipCure, OnCrossedBeltsBothAxesAreLowered) {
    machine::Machine machine = hurried();
    machine.kinematics = planner::Kinematics::crossed_belt;
    for (int i = 0; i < 10 && !bed_slips(machine); ++i)
        machine.axes[0].current.value = machine.axes[1].current.value *= 0.8;
    ASSERT_TRUE(bed_slips(machine));
    const auto cure = cure_of(machine, machine::SettingKey::max_acceleration);
    ASSERT_TRUE(cure);
    ASSERT_LT(cure->scale, 1.0);
    const auto slips_at = [&](double scale) {
        machine::Machine lowered = machine;
        for (std::size_t i = 0; i < 2; ++i)
            lowered.axes[i].settings.max_acceleration *= scale;
        return bed_slips(lowered);
    };
    EXPECT_FALSE(slips_at(cure->scale));
    EXPECT_TRUE(slips_at(cure->scale * kGrain));
}

TEST(SlipCure, AsksNothingOfTheOtherMotors) {
    const auto alone = cure_of(hurried(), machine::SettingKey::max_acceleration);
    machine::Machine machine = hurried();
    machine.axes[0].current.value *= 0.2;  // slips whatever the bed does
    const auto beside = cure_of(machine, machine::SettingKey::max_acceleration);
    ASSERT_TRUE(alone && beside);
    EXPECT_EQ(alone->scale, beside->scale);
}

TEST(SlipCure, ThereIsNoneWhereATenthOfTheSettingSlipsToo) {
    machine::Machine machine = hurried();
    machine.axes[kBed].current.value *= 0.1;
    EXPECT_FALSE(cure_of(machine, machine::SettingKey::max_acceleration));
}

run::HoldAnswer hold_answer(const std::filesystem::path& program, int spare,
                            const run::SearchHints& hints = {}) {
    const machine::Machine machine = hurried();
    const run::MotorModels models = run::motor_models(machine);
    run::SlipScreen screen(machine, models, 0.0);
    EXPECT_TRUE(run::plan_file(machine, program, [&](std::span<const planner::MotorMove> moves) {
        screen.push(moves);
        return true;
    }));
    std::vector<run::MotorScreen> screens = screen.finish();
    int found = 0;
    for (const run::MotorScreen& motor : screens)
        found += static_cast<int>(motor.worst.suspicious);
    EXPECT_GT(found, 0);
    const auto held = run::all_hold(machine, models, program, std::move(screens),
                                    {found + spare, 0.0, false, hints});
    EXPECT_TRUE(held);
    return held.value();
}

const std::filesystem::path kCalm = kConfigs / "programs" / "tray-insert.gcode";

TEST(AllHold, IsNoWhereNoWindowMayBeSimulated) {
    EXPECT_TRUE(hold_answer(kCalm, 0).holds);
    EXPECT_FALSE(hold_answer(kCalm, -1000000).holds);
    EXPECT_FALSE(hold_answer(kCalm, -1000000).slip);
    const run::HoldAnswer shaken = hold_answer(strokes().path(), 0);
    EXPECT_FALSE(shaken.holds);
    ASSERT_TRUE(shaken.slip);
    EXPECT_NE(shaken.slip->answer.verdict, run::SlipVerdict::passes);
}

// What is tried first, and what is known already, changes how long the answer takes, not what it is.
TEST(AllHold, HintsDoNotChangeTheAnswer) {
    const run::HoldAnswer shaken = hold_answer(strokes().path(), 0);
    ASSERT_TRUE(shaken.slip && shaken.slip->answer.harshest);
    run::WindowMemo memo;
    for (const std::optional<run::PlantRun>& suspect :
         {std::optional<run::PlantRun>(), shaken.slip->answer.harshest}) {
        for (int times = 0; times < 2; ++times) {
            const run::SearchHints hints{suspect, shaken.slip->motor, &memo};
            EXPECT_TRUE(hold_answer(kCalm, 0, hints).holds);
            const run::HoldAnswer again = hold_answer(strokes().path(), 0, hints);
            EXPECT_FALSE(again.holds);
            ASSERT_TRUE(again.slip);
            EXPECT_EQ(again.slip->window.begin_s, shaken.slip->window.begin_s);
        }
    }
}

// A suspect of a question with another margin, or of another motor, is no machine that this one may be.
TEST(AllHold, ASuspectFromElsewhereDoesNotCondemn) {
    run::PlantRun weak, stuck;
    weak.variant = {dynamics::BandEdge::low, 0.01, 1.3, 1.0, 1.0};
    stuck.variant = {dynamics::BandEdge::low, 1.0, 1000.0, 1.0, 1.0};
    constexpr int kNone = -1;
    for (std::size_t motor = 0; motor < hurried().axes.size(); ++motor)
        EXPECT_TRUE(hold_answer(kCalm, 0, {weak, static_cast<int>(motor), nullptr}).holds);
    EXPECT_TRUE(hold_answer(kCalm, 0, {stuck, kNone, nullptr}).holds);
    EXPECT_FALSE(hold_answer(kCalm, 0, {stuck, kBed, nullptr}).holds) << "it would condemn its own";
}

}  // namespace
