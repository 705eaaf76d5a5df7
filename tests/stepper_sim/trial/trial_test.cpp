// Trials: inside travel, slow first, readable by the tool's own reader, around a limit that the model confirms.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "bench/trial_answers.hpp"
#include "stepper_sim/run/stages.hpp"
#include "stepper_sim/trial/trial_loudness.hpp"
#include "stepper_sim/trial/trial_program.hpp"
#include "stepper_sim/trial/trial_text.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kRounding_Hz = 1e-9;     // of logarithms and a parabola through three
constexpr double kTaperAndWayBack = 0.1;  // of all strokes: the taper, and the halves at both ends

trial::Trial designed(const machine::Machine& machine, int slot, trial::TrialQuestion question) {
    const run::MotorModels models = run::motor_models(machine);
    auto trial = trial::design_trial(machine, models, slot, question);
    for (const planner::Diagnostic& d : trial.diagnostics())
        ADD_FAILURE() << planner::to_line(d);
    return std::move(trial).value();
}

struct Planned {
    std::vector<planner::MotorMove> moves;
    std::vector<planner::Diagnostic> errors;
};

Planned planned(const machine::Machine& machine, const std::string& program) {
    Planned out;
    auto stages = std::make_unique<run::Stages>(machine, "trial.ngc");
    const auto take = [&](std::span<const planner::MotorMove> part) {
        out.moves.insert(out.moves.end(), part.begin(), part.end());
    };
    take(stages->read(program));
    while (stages->has_more())
        take(stages->more());
    take(stages->finish());
    while (stages->has_more())
        take(stages->more());
    out.errors = stages->reader.errors();
    return out;
}

double top_speed(const planner::MotorMove& move) {
    double top = 0.0;
    for (int i = 0; i < move.profile.count; ++i)
        top = std::max(top, move.profile.phases[static_cast<std::size_t>(i)].start_speed_m_s);
    return top;
}

/// What every trial program must keep, whatever the machine.
void expect_safe(const machine::Machine& machine, const trial::Trial& trial) {
    const std::string program = trial::trial_program(machine, trial);
    const Planned plan = planned(trial::set_to(machine, trial, trial.rungs.back()), program);
    RC_ASSERT(plan.errors.empty());
    RC_ASSERT(!plan.moves.empty());
    double fastest = 0.0;
    for (const planner::MotorMove& move : plan.moves) {
        fastest = std::max(fastest, top_speed(move));
        for (std::size_t i = 0; i < machine.axes.size(); ++i) {
            if (trial.rig.way[i] == 0.0) continue;
            RC_ASSERT(move.tool_end_m[i] >= machine.axes[i].travel_min->value());
            RC_ASSERT(move.tool_end_m[i] <= machine.axes[i].travel_max->value());
        }
    }
    RC_ASSERT(top_speed(plan.moves.front()) < 0.5 * fastest);
    RC_ASSERT(std::is_sorted(trial.rungs.begin(), trial.rungs.end()));
    RC_ASSERT(trial.rungs.size() >= 2U);
    RC_ASSERT(trial.rungs.front() < trial.rungs.back());
}

RC_GTEST_PROP(TrialProgram, StaysInsideTravelStartsSlowAndIsReadable, ()) {
    trial_answers::Random random(*rc::gen::inRange<std::uint64_t>(0, 1U << 30U));
    const auto machine = trial_answers::draw_machine(random, kConfigs);
    RC_PRE(machine.has_value());
    const run::MotorModels models = run::motor_models(*machine);
    const auto question =
        static_cast<trial::TrialQuestion>(*rc::gen::inRange(0, trial::kTrialQuestions));
    const auto trial = trial::design_trial(*machine, models, 0, question);
    RC_ASSERT(static_cast<bool>(trial));
    expect_safe(*machine, trial.value());
}

TEST(TrialProgram, EveryRungEndsOnTheReferenceMark) {
    const machine::Machine machine = machine_from();
    const trial::Trial trial = designed(machine, 1, trial::TrialQuestion::acceleration);
    const Planned plan = planned(machine, trial::trial_program(machine, trial));
    std::size_t on_mark = 0;
    for (const planner::MotorMove& move : plan.moves)
        if (std::fabs(move.tool_end_m[1] - trial.reference_m[1]) < 1e-9) ++on_mark;
    EXPECT_GE(on_mark, trial.rungs.size());
}

TEST(TrialProgram, UsesTheMachinesWordForAccelerationWhereThereIsOne) {
    const std::string text =
        changed("[axes.x]", "[program.words]\nset_acceleration = \"M7306 S\"\n[axes.x]");
    const machine::Machine mapped = machine_from(text);
    const trial::Trial trial = designed(mapped, 1, trial::TrialQuestion::acceleration);
    EXPECT_NE(trial::trial_program(mapped, trial).find("M7306 S"), std::string::npos);
    EXPECT_EQ(trial::rung_preparation(mapped, trial, trial.rungs[0]), "");
    const machine::Machine plain = machine_from();
    EXPECT_EQ(trial::trial_program(plain, trial).find("M7306"), std::string::npos);
    EXPECT_NE(trial::trial_program(plain, trial).find("Set max acceleration of Y"),
              std::string::npos);
}

// A controller that ignores the word would run the first rung at the last one's acceleration.
TEST(TrialProgram, TriesTheWordBeforeAnythingIsRaised) {
    const machine::Machine machine = machine_from(
        changed("[axes.x]", "[program.words]\nset_acceleration = \"M7306 S\"\n[axes.x]"));
    const trial::Trial trial = designed(machine, 1, trial::TrialQuestion::acceleration);
    const std::string program = trial::trial_program(machine, trial);
    const std::size_t tried = program.find("Now the word M7306 is tried");
    const std::size_t raised = program.find("Set max acceleration of Y");
    ASSERT_NE(tried, std::string::npos) << program.substr(0, 2000);
    ASSERT_NE(raised, std::string::npos);
    EXPECT_LT(program.find("Rehearsal done"), tried);
    EXPECT_LT(tried, raised);
    EXPECT_LT(raised, program.find("Rung 1 of"));
    const double now_mm_s2 = 1e3 * machine.axes[1].settings.max_acceleration.value();
    std::vector<double> set;
    const std::string word = "M7306 S";
    for (std::size_t at = program.find(word); at < raised; at = program.find(word, at + 1))
        set.push_back(std::stod(program.substr(at + word.size())));
    ASSERT_EQ(set.size(), 3U);  // rehearsal and two runs
    for (const double value : set)
        EXPECT_LE(value, now_mm_s2);
    constexpr double kPrinted = 0.01;
    EXPECT_NEAR(set[2], 0.25 * set[1], kPrinted);
    EXPECT_NE(trial::trial_markdown(machine, trial, "y.gcode", "y.toml")
                  .find("Leave max acceleration of Y"),
              std::string::npos);
}

TEST(TrialProgram, IsRefusedWhileTheMachineFileHasTheWordOfTheExamples) {
    const machine::Machine machine = machine_from(
        changed("[axes.x]", "[program.words]\nset_acceleration = \"M7408 S\"\n[axes.x]"));
    const auto trial = trial::design_trial(machine, run::motor_models(machine), 1,
                                           trial::TrialQuestion::acceleration);
    ASSERT_FALSE(trial);
    EXPECT_EQ(trial.diagnostics().front().id, "trial/example-word");
}

TEST(TrialProgram, RehearsesAtNoMoreThanTheFirstRungsAcceleration) {
    const std::string word = "[program.words]\nset_acceleration = \"M7306 S\"\n[axes.x]";
    machine::Machine machine = machine_from(changed("[axes.x]", word));
    const trial::Trial trial = designed(machine, 1, trial::TrialQuestion::acceleration);
    const auto rehearses_at_mm_s2 = [&](double set_m_s2) {
        machine.axes[1].settings.max_acceleration =
            planner::from_si<planner::Acceleration>(set_m_s2);
        const std::string program = trial::trial_program(machine, trial);
        const std::string said = "M7306 S";
        const std::size_t at = program.find(said);
        EXPECT_LT(at, program.find("\nG1 ")) << program.substr(0, 2000);
        return std::stod(program.substr(at + said.size()));
    };
    const double first_m_s2 = trial.rungs.front();
    constexpr double kPrinted = 0.01;  // two digits
    EXPECT_NEAR(rehearses_at_mm_s2(2.0 * first_m_s2), 1e3 * first_m_s2, kPrinted);
    EXPECT_NEAR(rehearses_at_mm_s2(0.5 * first_m_s2), 500.0 * first_m_s2, kPrinted);
}

TEST(TrialText, TheSheetSaysWithWhatMassRungsAreRunAndWhatItsGuessDoesNotCover) {
    const machine::Machine machine = machine_from();
    const trial::Trial trial = designed(machine, 1, trial::TrialQuestion::acceleration);
    const std::string reading = trial::trial_markdown(machine, trial, "y.gcode", "y.toml");
    const std::string mass = "Run the rungs with the mass that the machine file states";
    EXPECT_NE(reading.find(mass), std::string::npos) << reading;
    EXPECT_NE(trial::trial_sheet_toml(machine, trial).find(mass), std::string::npos);
    EXPECT_NE(reading.find("what holds on every move is what `limits` says"), std::string::npos);
    const std::string sweep = trial::trial_markdown(
        machine, designed(machine, 1, trial::TrialQuestion::resonance), "y.gcode", "y.toml");
    EXPECT_EQ(sweep.find("`limits`"), std::string::npos);
}

TEST(TrialProgram, WithoutAKnownWorkOffsetCountsFromTheMark) {
    const machine::Machine machine =
        machine_from(changed("[axes.x]", "[program]\nwork_offset = \"unknown\"\n[axes.x]"));
    const trial::Trial trial = designed(machine, 0, trial::TrialQuestion::acceleration);
    EXPECT_NE(trial::trial_program(machine, trial).find("G1 X0.0000"), std::string::npos);
}

TEST(TrialProgram, AsksToSupportAWeightThatTheDriveLetsDown) {
    const machine::Machine locking = machine_from();
    const machine::Machine falling = machine_from(changed("efficiency = 0.5", "efficiency = 0.8"));
    const auto asks = [](const machine::Machine& machine, int slot) {
        const trial::Trial trial = designed(machine, slot, trial::TrialQuestion::acceleration);
        const bool sheet =
            trial::trial_markdown(machine, trial, "z.ngc", "z.toml").find("Support Z") !=
            std::string::npos;
        EXPECT_EQ(trial::trial_program(machine, trial).find("Support Z") != std::string::npos,
                  sheet);
        return sheet;
    };
    EXPECT_TRUE(asks(falling, 2));
    EXPECT_FALSE(asks(falling, 0));
    EXPECT_FALSE(asks(locking, 2));
}

TEST(TrialProgram, LinesAreAsciiAndShort) {
    const machine::Machine machine =
        machine_from(changed("\"bench\"", "\"b\u00e4nch (two) \"", std::string(kBench)));
    const std::string program =
        trial::trial_program(machine, designed(machine, 0, trial::TrialQuestion::resonance));
    std::size_t length = 0;
    constexpr std::size_t kStandardLine = 256;  // RS274/NGC 3.3.1 (NISTIR 6556)
    for (const char c : program) {
        length = c == '\n' ? 0 : length + 1;
        ASSERT_LE(length, kStandardLine);
        ASSERT_TRUE(c == '\n' || (c >= ' ' && c <= '~'));
    }
}

TEST(Trial, RungsRiseByATenthFromHalfThePrediction) {
    const trial::Trial trial = designed(machine_from(changed("9000 N/mm", "30 N/mm")), 0,
                                        trial::TrialQuestion::acceleration);
    constexpr double kFourDigits = 2e-3;  // rungs are rounded down to four digits
    EXPECT_NEAR(trial.rungs[0] / trial.predicted.value, 0.5, kFourDigits);
    for (std::size_t i = 1; i < trial.rungs.size(); ++i)
        EXPECT_NEAR(trial.rungs[i] / trial.rungs[i - 1], trial::kRungRatio, kFourDigits);
    ASSERT_TRUE(trial.trouble.has_value());
    EXPECT_GE(trial.rungs[*trial.trouble], trial.predicted.value);
    EXPECT_LT(trial.rungs[*trial.trouble - 1], trial.predicted.value);
}

TEST(Trial, RefusesAnAxisWithoutTravelAndStepsWhereCornersGoByDeviation) {
    const machine::Machine endless = machine_from(changed("travel = [\"0 mm\", \"200 mm\"]\n", ""));
    const auto trial =
        trial::design_trial(endless, run::motor_models(endless), 0, trial::TrialQuestion::speed);
    ASSERT_FALSE(trial);
    EXPECT_EQ(trial.diagnostics().front().id, "trial/no-travel");
    const machine::Machine rounding = machine_from(
        changed("corner = \"speed-step\"", "corner = \"deviation\"\ndeviation = \"0.02 mm\""));
    const auto step =
        trial::design_trial(rounding, run::motor_models(rounding), 0, trial::TrialQuestion::step);
    ASSERT_FALSE(step);
    EXPECT_EQ(step.diagnostics().front().id, "trial/corners-by-deviation");
}

TEST(TrialLoudness, HearsTheTopBetweenRungs) {
    // ln swing = -(ln f/f0)^2 has its top at f0.
    trial::Loudness heard;
    const double top_Hz = 31.0;
    for (double f = 20.0; f < 50.0; f *= 1.06) {
        heard.frequency_Hz.push_back(f);
        heard.swing_rad.push_back(std::exp(-std::pow(std::log(f / top_Hz), 2.0)));
    }
    ASSERT_TRUE(heard.heard_Hz());
    EXPECT_NEAR(*heard.heard_Hz(), top_Hz, kRounding_Hz);
    EXPECT_FALSE((trial::Loudness{{20.0, 21.0, 22.0}, {1.0, 0.5, 0.4}}).heard_Hz());
    EXPECT_FALSE((trial::Loudness{{20.0, 21.0, 22.0}, {0.3, 0.5, 0.6}}).heard_Hz());
}

TEST(Trial, ReversesHardEnoughForDryFriction) {
    // At the present acceleration friction of 6 N drowns the resonance of this axis.
    const machine::Machine machine =
        machine_from(changed("friction = \"2 N\" }\nstiffness = \"9000 N/mm\"",
                             "friction = \"6 N\" }\nstiffness = \"30 N/mm\""));
    const trial::Trial trial = designed(machine, 1, trial::TrialQuestion::resonance);
    EXPECT_GT(trial.motion.acceleration_m_s2, machine.axes[1].settings.max_acceleration.value());
    const run::MotorModels models = run::motor_models(machine);
    const dynamics::AxisDynamics axis = trial::trial_prior(machine, models, 1).nominal;
    const trial::Loudness heard = trial::loudness(trial.rig, axis, trial.motion, trial.rungs);
    ASSERT_TRUE(heard.heard_Hz());
    EXPECT_NEAR(*heard.heard_Hz(), trial.predicted.value, kRounding_Hz);
    EXPECT_GT(*heard.heard_Hz(), 0.8 * trial::resonance_Hz(axis));
    EXPECT_LT(*heard.heard_Hz(), 1.05 * trial::resonance_Hz(axis));
    EXPECT_NE(trial::trial_program(machine, trial).find("Set max acceleration of Y"),
              std::string::npos);
}

TEST(Trial, SweepsReversalsThroughTheResonance) {
    const trial::Trial trial =
        designed(machine_from(changed("friction = \"2 N\" }\nstiffness = \"9000 N/mm\"",
                                      "friction = \"2 N\" }\nstiffness = \"30 N/mm\"")),
                 1, trial::TrialQuestion::resonance);
    EXPECT_LT(trial.rungs.front(), 0.75 * trial.predicted.value);
    EXPECT_GT(trial.rungs.back(), 1.3 * trial.predicted.value);
}

TEST(TrialMotion, ZigZagsReverseAtTheAskedFrequency) {
    const machine::Machine machine = machine_from();
    const run::MotorModels models = run::motor_models(machine);
    const trial::TrialRig rig = trial::trial_rig(machine, models.loads, 1);
    const trial::RungMotion motion{trial::TrialQuestion::resonance, 0.05, 1.5, 0.005, 20.0};
    const std::vector<dynamics::RatePhase> phases = trial::rung_phases(rig, motion);
    double moving_s = 0.0;
    for (const dynamics::RatePhase& phase : phases)
        if (phase.start_rate_rad_s != 0.0 || phase.acceleration_rad_s2 != 0.0)
            moving_s += phase.duration_s;
    // 16 strokes of half a period, tapering about it, of which the first is from the middle; and the way back.
    EXPECT_NEAR(moving_s, 16.0 / 40.0, kTaperAndWayBack * 16.0 / 40.0);
}

TEST(TrialMotion, OnCrossedBeltsOneMotorIsTriedAlone) {
    const machine::Machine machine = machine_from(changed("\"cartesian\"", "\"crossed-belt\""));
    const run::MotorModels models = run::motor_models(machine);
    const trial::TrialRig x = trial::trial_rig(machine, models.loads, 0),
                          y = trial::trial_rig(machine, models.loads, 1);
    EXPECT_EQ(planner::to_motors(x.kinematics, x.axes, x.way)[1], 0.0);
    EXPECT_EQ(planner::to_motors(y.kinematics, y.axes, y.way)[0], 0.0);
    EXPECT_EQ(x.motor_per_axis, 2.0);
    EXPECT_EQ(y.motor_per_axis, 2.0);
}

class TrialLimit : public testing::Test {
  protected:
    machine::Machine machine_ = machine_from();
    run::MotorModels models_ = run::motor_models(machine_);
    trial::TrialRig rig_ = trial::trial_rig(machine_, models_.loads, 1);
    dynamics::AxisDynamics axis_ = trial::trial_prior(machine_, models_, 1).nominal;
    trial::RungMotion motion_{
        trial::TrialQuestion::acceleration, 0.15, 1.5, 0.005, 0.0, 0.06, 30.0, 60.0};
};

TEST_F(TrialLimit, HoldsBelowAndSlipsAbove) {
    const double limit = trial::find_loss(rig_, axis_, motion_, 1.0).value;
    constexpr double kRagged =
        0.05;  // single values nearer than this may slip below, or hold above
    const auto outcomes = trial::run_rungs(rig_, axis_,
                                           {trial::with_value(motion_, limit * (1.0 - kRagged)),
                                            trial::with_value(motion_, limit * (1.0 + kRagged))});
    EXPECT_FALSE(outcomes[0].slipped());
    EXPECT_TRUE(outcomes[1].slipped());
}

TEST_F(TrialLimit, DoesNotDependOnWhereTheSearchBegins) {
    const double limit = trial::find_loss(rig_, axis_, motion_, 1.0).value;
    for (const double guess : {0.05, 0.7, 0.87, 1.0, 1.15, 3.0, 40.0})
        EXPECT_EQ(trial::find_loss(rig_, axis_, motion_, guess * limit).value, limit) << guess;
}

// A machine of the trial study whose slips come in ragged bands: a search that trusted its guess found an edge 29 % higher.
TEST_F(TrialLimit, DoesNotDependOnWhereTheSearchBeginsWhereSlipsAreRagged) {
    constexpr int kDraw = 11;
    trial_answers::Random random(7);
    std::optional<machine::Machine> machine;
    for (int drawn = 0; drawn <= kDraw; ++drawn)
        machine = trial_answers::draw_machine(random, kConfigs);
    ASSERT_TRUE(machine);
    const run::MotorModels models = run::motor_models(*machine);
    const auto trial = trial::design_trial(*machine, models, 0, trial::TrialQuestion::acceleration);
    ASSERT_TRUE(trial);
    const dynamics::AxisDynamics axis = trial::trial_prior(*machine, models, 0).nominal;
    const double limit = trial.value().predicted.value;
    for (const double guess : {0.76, 0.98, 1.3})
        EXPECT_EQ(
            trial::find_loss(trial.value().rig, axis, trial.value().motion, guess * limit).value,
            limit)
            << guess;
}

TEST_F(TrialLimit, GrowsWithTheTorque) {
    dynamics::AxisDynamics stronger = axis_;
    stronger.torque_factor *= 1.2;
    EXPECT_GT(trial::find_loss(rig_, stronger, motion_, 10.0).value,
              1.1 * trial::find_loss(rig_, axis_, motion_, 10.0).value);
}

TEST_F(TrialLimit, SaysWhenNothingSlipsWithinTheStroke) {
    trial::RungMotion slow = motion_;
    slow.question = trial::TrialQuestion::speed;
    slow.acceleration_m_s2 = 0.1;
    slow.stroke_m = 0.01;
    EXPECT_FALSE(trial::find_loss(rig_, axis_, slow, 0.5).slips);
}

}  // namespace
