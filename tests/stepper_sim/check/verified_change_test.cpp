// The change to make first is checked again on a copy: what is shown cures, what does not is not shown, and no two findings disagree.
#include "stepper_sim/check/verified_change.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>

#include "stepper_sim/check/consequence.hpp"
#include "stepper_sim/check/report.hpp"
#include "stepper_sim/run/run_sources.hpp"
#include "stepper_sim/run/slip_cure.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;
using planner::from_si;

constexpr std::string_view kSquare = "G21 G90\nG0 X10 Y10 Z1\nG1 X60 F6000\nY60\nX10\nY10\nM2\n";

struct Judged {
    machine::Machine machine;
    std::vector<run::ProgramSource> programs;
    run::RunOptions options;
    std::vector<run::ProgramResult> results;
    check::Report report;
};

Judged judged(const machine::Machine& machine, std::vector<run::ProgramSource> programs,
              bool dynamics = true) {
    Judged made{machine, std::move(programs), {}, {}, {}};
    made.options.dynamics = dynamics;
    const run::MotorModels models = run::motor_models(machine);
    auto results = run::run_sources(machine, models,
                                    run::sources_of(machine, models, made.programs, made.options),
                                    made.options);
    for (const planner::Diagnostic& diagnostic : results.diagnostics())
        ADD_FAILURE() << planner::to_line(diagnostic);
    made.results = std::move(results).value();
    made.report = check::make_report({machine, models, made.results, run::kDefaultMargin},
                                     {made.programs, made.options});
    return made;
}

Judged judged_text(const machine::Machine& machine, std::string_view program,
                   bool dynamics = false) {
    static std::vector<std::unique_ptr<TextFile>> files;  // as long as their sources
    files.push_back(std::make_unique<TextFile>(program));
    return judged(machine, {run::ProgramSource(files.back()->path())}, dynamics);
}

/// The same check once more, by its own way: with the change on the machine.
check::Report with_change(const Judged& before) {
    machine::Machine machine = before.machine;
    for (const check::SettingChange& setting : before.report.change_first.change.settings)
        machine::apply(setting.to, machine);
    return judged(machine, before.programs, before.options.dynamics).report;
}

std::string lines_of(const Judged& made) {
    return check::words::lines(made.report.change_first.change);
}

std::size_t objections(const check::Findings& findings, const check::Finding& of) {
    return static_cast<std::size_t>(
        std::count_if(findings.begin(), findings.end(), [&](const check::Finding& finding) {
            return finding.grade != check::Grade::note && finding.check == of.check &&
                   finding.motor == of.motor;
        }));
}

/// What the report shows really is gone with the change made, and its words of what is left are true.
void expect_cured(const Judged& before) {
    const check::ChangeFirst& first = before.report.change_first;
    ASSERT_EQ(first.cure, check::Cure::cures) << first.answers.message;
    const check::Report after = with_change(before);
    EXPECT_GT(objections(before.report.findings, first.answers), 0U);
    EXPECT_EQ(objections(after.findings, first.answers), 0U) << lines_of(before);
    EXPECT_LE(after.verdict, before.report.verdict);
    EXPECT_EQ(after.verdict, check::verdict_of(first.left));
}

check::Finding made_up(std::string_view check, check::Grade grade, char motor = 'X',
                       double value = 2.0) {
    check::Finding finding;
    finding.check = check;
    finding.grade = grade;
    finding.motor = motor;
    finding.value = value;
    finding.limit = 1.0;
    return finding;
}

TEST(Cures, OnlyWhereTheCheckNoLongerObjectsForThatMotor) {
    const check::Finding torque = made_up("torque", check::Grade::fault);
    const check::Findings before{torque};
    EXPECT_TRUE(check::cures(torque, before, {}));
    EXPECT_TRUE(check::cures(torque, before, {made_up("torque", check::Grade::note)}));
    EXPECT_FALSE(check::cures(torque, before, {made_up("torque", check::Grade::risk)}));
}

TEST(Cures, NotWhereAnotherFindingComesOrGetsWorse) {
    const check::Finding torque = made_up("torque", check::Grade::fault);
    const check::Findings before{torque, made_up("torque", check::Grade::risk, 'Y', 1.5),
                                 made_up("lost-steps", check::Grade::risk, 'Y')};
    const auto after = [&](const check::Finding& left) {
        return check::cures(torque, before, {left});
    };
    EXPECT_TRUE(after(made_up("torque", check::Grade::risk, 'Y', 1.5)));
    EXPECT_FALSE(after(made_up("torque", check::Grade::risk, 'Y', 1.6)));
    EXPECT_FALSE(after(made_up("torque", check::Grade::fault, 'Y', 1.5)));
    EXPECT_FALSE(after(made_up("torque", check::Grade::risk, 'Z', 1.5)));
    EXPECT_FALSE(after(made_up("speed-step", check::Grade::fault, 'X')));
    EXPECT_TRUE(after(made_up("lost-steps", check::Grade::risk, 'Y', 9.0)))
        << "how far a rotor slipped says nothing";
    EXPECT_FALSE(after(made_up("lost-steps", check::Grade::fault, 'Y')));
}

// A pulse that is too short is worse the shorter it is.
TEST(Cures, FartherFromALimitIsWorseOnItsOtherSideToo) {
    const check::Finding torque = made_up("torque", check::Grade::fault);
    const check::Findings before{torque, made_up("pulse-timing", check::Grade::fault, 'Y', 0.5)};
    EXPECT_FALSE(
        check::cures(torque, before, {made_up("pulse-timing", check::Grade::fault, 'Y', 0.4)}));
    EXPECT_TRUE(
        check::cures(torque, before, {made_up("pulse-timing", check::Grade::fault, 'Y', 0.6)}));
}

TEST(ChangeFirst, OfASlipIsCheckedAgainAndIsClear) {
    const Judged made = judged(shipped("tray-printer-hurried"),
                               {run::ProgramSource(kConfigs / "programs" / "wedge-marker.gcode")});
    EXPECT_EQ(made.report.change_first.answers.check, "lost-steps");
    EXPECT_TRUE(made.report.change_first.left.empty());
    expect_cured(made);
}

TEST(ChangeFirst, WithoutAProgramItIsCheckedOnTheWorstCaseMovesOfTheChangedSettings) {
    const Judged made = judged(shipped("tray-printer-hurried"), {});
    ASSERT_TRUE(made.report.worst_case);
    expect_cured(made);
}

// Of this machine's extruder no lower acceleration keeps the worst moves from slipping; what is proposed first for torque fails too.
TEST(ChangeFirst, WhatDoesNotCureIsNotShownAnywhereAndTheNextIsTried) {
    const Judged made = judged(shipped("insert-printer"), {});
    expect_cured(made);
    const check::ChangeFirst& first = made.report.change_first;
    ASSERT_FALSE(first.refuted.empty());
    for (const check::Finding& finding : made.report.findings) {
        const check::Change* shown = check::shown_change(finding, first);
        if (shown == nullptr) continue;
        for (const check::Refuted& refuted : first.refuted)
            EXPECT_FALSE(refuted.check == finding.check && refuted.motor == finding.motor &&
                         refuted.change.settings == shown->settings)
                << finding.message;
    }
}

TEST(ChangeFirst, WhereNothingCuresNothingIsProposed) {
    machine::Machine machine = machine_from();
    machine.axes[2].load.mass = from_si<planner::Mass>(100.0);
    const Judged made = judged_text(machine, kSquare);
    const check::ChangeFirst& first = made.report.change_first;
    EXPECT_TRUE(first.cure == check::Cure::none_known || first.cure == check::Cure::none_cures);
    EXPECT_TRUE(first.change.settings.empty());
}

TEST(ChangeFirst, OfAClearMachineThereIsNone) {
    EXPECT_EQ(judged(shipped("label-plotter"), {}).report.change_first.cure,
              check::Cure::not_needed);
}

TEST(ChangeFirst, OfAProgramTooLongToRunAgainIsNotChecked) {
    const machine::Machine machine = machine_from(changed("mass = \"0.5 kg\"", "mass = \"60 kg\""));
    Judged made = judged_text(machine, kSquare);
    ASSERT_EQ(made.report.change_first.cure, check::Cure::cures);
    const auto cure_of = [&](std::uint64_t moves) {
        made.results[0].planned_moves = moves;
        const run::MotorModels models = run::motor_models(machine);
        return check::make_report({machine, models, made.results, run::kDefaultMargin},
                                  {made.programs, made.options})
            .change_first;
    };
    EXPECT_EQ(cure_of(run::kMostCureMoves).cure, check::Cure::cures);
    const check::ChangeFirst longer = cure_of(run::kMostCureMoves + 1);
    EXPECT_EQ(longer.cure, check::Cure::not_checked);
    EXPECT_EQ(longer.tried, 0);
    EXPECT_FALSE(longer.change.settings.empty());
}

// Without dynamics nobody looks at slips, whatever is changed: each try is run, none cures.
TEST(ChangeFirst, TriesAreBoundedAndProgressRisesToOne) {
    const machine::Machine machine = machine_from();
    const Judged made = judged_text(machine, kSquare);
    const run::MotorModels models = run::motor_models(machine);
    check::Findings before = made.report.findings;
    ASSERT_EQ(before.front().check, "lost-steps");
    for (int i = 1; i <= 3 * check::kMostRechecks; ++i)
        before.front().changes.push_back(
            {{{{'X', machine::SettingKey::max_speed, 0.15 - 1e-6 * i}, 0.15}}});
    double last = 0.0;
    const check::ChangeFirst found =
        check::verified_change({machine, models, made.results, run::kDefaultMargin}, before,
                               {made.programs, made.options}, [&](double share) {
                                   EXPECT_GE(share, last);
                                   EXPECT_LE(share, 1.0);
                                   last = share;
                               });
    EXPECT_EQ(found.cure, check::Cure::none_cures);
    EXPECT_EQ(found.tried, check::kMostRechecks);
    EXPECT_EQ(last, 1.0);
}

TEST(Consequence, EveryCheckHasARankAndAReason) {
    std::set<std::string_view> ranked;
    for (const check::ConsequenceRow& row : check::consequence_table()) {
        EXPECT_TRUE(ranked.insert(row.check).second) << row.check;
        EXPECT_FALSE(row.reason.empty());
    }
    for (const check::CheckRow& row : check::check_table())
        EXPECT_TRUE(ranked.contains(row.name)) << row.name;
    EXPECT_EQ(ranked.size(), check::check_table().size());
}

TEST(Consequence, FaultsStandBeforeRisksAndSlipsBeforeTimingBeforeFigures) {
    check::Findings findings{
        made_up("steps-per-mm", check::Grade::risk), made_up("processor-load", check::Grade::risk),
        made_up("torque", check::Grade::risk),       made_up("lost-steps", check::Grade::risk),
        made_up("lost-steps", check::Grade::note),   made_up("steps-per-mm", check::Grade::fault)};
    check::sort_by_consequence(findings);
    std::string order;
    for (const check::Finding& finding : findings)
        order += finding.check + " ";
    EXPECT_EQ(order, "steps-per-mm lost-steps torque processor-load steps-per-mm lost-steps ");
}

// 0.27 % of steps per mm stood above a slip once.
TEST(Consequence, ASlipStandsBeforeAnOddFigure) {
    machine::Machine machine = shipped("tray-printer-hurried");
    machine.axes[0].settings.steps_per_mm *= 1.0027;
    const Judged made = judged(machine, {});
    ASSERT_GE(made.report.findings.size(), 2U);
    EXPECT_EQ(made.report.findings.front().check, "lost-steps");
    EXPECT_EQ(made.report.change_first.answers.check, "lost-steps");
    EXPECT_TRUE(std::any_of(made.report.findings.begin(), made.report.findings.end(),
                            [](const check::Finding& f) { return f.check == "steps-per-mm"; }));
}

/// A bench whose X goes faster than a slow controller serves.
machine::Machine overloaded(int microsteps) {
    machine::Machine machine = machine_from(changed("cortex-m4-168mhz-line", "avr-16mhz-line"));
    machine::Axis& axis = machine.axes[0];
    axis.settings.steps_per_mm *= static_cast<double>(microsteps) / axis.microsteps;
    axis.microsteps = microsteps;
    axis.settings.max_speed = from_si<planner::Speed>(0.3);
    axis.settings.max_acceleration = from_si<planner::Acceleration>(3.0);
    return machine;
}

TEST(ChangeFirst, LatePulsesOfAnOverloadedControllerAreCuredByFewerMicrosteps) {
    const Judged made = judged_text(overloaded(64), "G21 G90\nG1 X150 F18000\nX0\nM2\n");
    EXPECT_TRUE(any_with(made.report.findings, check::Grade::fault)) << made.report.findings.size();
    ASSERT_TRUE(std::any_of(made.results.begin(), made.results.end(),
                            [](const auto& r) { return r.controller.late_pulses > 0; }));
    const auto& settings = made.report.change_first.change.settings;
    ASSERT_EQ(settings.size(), 2U);
    EXPECT_EQ(settings[0].to.key, machine::SettingKey::microsteps);
    EXPECT_LT(settings[0].to.value, 64.0);
    EXPECT_EQ(settings[1].to.key, machine::SettingKey::steps_per_mm);
    EXPECT_DOUBLE_EQ(settings[1].to.value / settings[1].now, settings[0].to.value / 64.0);
    EXPECT_TRUE(made.report.change_first.left.empty() ||
                made.report.change_first.left.front().check != "processor-load");
    expect_cured(made);
}

// 16 are coarse enough: then it is slower.
TEST(ChangeFirst, LatePulsesWithFewMicrostepsAreCuredBySpeed) {
    machine::Machine machine = overloaded(16);
    machine.axes[0].settings.max_speed = from_si<planner::Speed>(0.6);
    machine.axes[0].settings.max_acceleration = from_si<planner::Acceleration>(6.0);
    const Judged made = judged_text(machine, "G21 G90\nG1 X150 F36000\nX0\nM2\n");
    EXPECT_EQ(made.report.change_first.change.settings.at(0).to.key,
              machine::SettingKey::max_speed);
    expect_cured(made);
}

TEST(ChangeFirst, MicrostepsThatTheDriverLacksBecomeTheNextFewerThatItHas) {
    machine::Machine machine = machine_from();
    machine.axes[0].driver.microsteps = {1, 2, 4, 8, 32};
    const Judged made = judged_text(machine, kSquare);
    EXPECT_EQ(lines_of(made), "axes.x.microsteps = 8, axes.x.settings.steps_per_mm = 40");
    expect_cured(made);
}

TEST(ChangeFirst, PulsesTooShortForADriverAreMadeLonger) {
    machine::Machine machine = machine_from();
    machine.axes[1].driver.step_high_min = from_si<planner::Time>(5e-6);
    const Judged made = judged_text(machine, kSquare);
    EXPECT_EQ(lines_of(made), "controller.pulse_high = \"5 us\"");
    expect_cured(made);
}

TEST(ChangeFirst, WhereNothingSlowerHelpsMoreCurrentWithinTheRatingsDoes) {
    machine::Machine machine = machine_from();
    machine::Axis& axis = machine.axes[0];
    axis.current = {from_si<planner::Current>(0.3), machine::CurrentBasis::rms};
    for (double friction_N = 2.0; friction_N < 60.0; friction_N += 1.0) {
        axis.load.friction = from_si<planner::Force>(friction_N);
        check::Findings found = findings_of("torque", machine);
        std::erase_if(found, [](const check::Finding& f) { return f.motor != 'X'; });
        if (!found.empty() && found[0].message.find("no slower setting helps") != std::string::npos)
            break;
    }
    const Judged made = judged_text(machine, kSquare);
    ASSERT_EQ(made.report.change_first.change.settings.size(), 1U);
    EXPECT_EQ(made.report.change_first.change.settings[0].to.key, machine::SettingKey::current);
    EXPECT_LE(made.report.change_first.change.settings[0].to.value,
              axis.motor.rated_current.rms().value());
    expect_cured(made);
}

// Either belt axis alone would leave half the speed of the diagonal.
TEST(ChangeFirst, OnCrossedBeltsBothAxesOfADiagonalAreSlowed) {
    std::string text = changed("\"cartesian\"", "\"crossed-belt\"");
    text = changed("mass = \"0.5 kg\"", "mass = \"30 kg\"", text);
    const Judged made = judged_text(machine_from(text), kSquare);
    const auto& settings = made.report.change_first.change.settings;
    ASSERT_EQ(settings.size(), 2U) << lines_of(made);
    EXPECT_EQ(settings[0].to.axis, 'X');
    EXPECT_EQ(settings[1].to.axis, 'Y');
    expect_cured(made);
}

using Asked = std::map<std::pair<char, machine::SettingKey>, std::pair<int, std::string>>;

/// Two findings that ask one setting to go up and down; empty: they agree.
std::string contradiction(const check::Findings& findings) {
    Asked asked;
    for (const check::Finding& finding : findings)
        for (const check::Change& change : finding.changes)
            for (const check::SettingChange& setting : change.settings) {
                const int way = setting.to.value > setting.now ? 1 : -1;
                const auto [it, first] = asked.try_emplace({setting.to.axis, setting.to.key}, way,
                                                           machine::line_text(setting.to));
                if (!first && it->second.first != way)
                    return it->second.second + " against " + machine::line_text(setting.to);
            }
    const auto says = [&](char motor, std::string_view what) {
        return std::any_of(findings.begin(), findings.end(), [&](const check::Finding& finding) {
            return finding.motor == motor && finding.message.find(what) != std::string::npos;
        });
    };
    for (const check::Finding& finding : findings)
        if (says(finding.motor, "no slower setting helps") && finding.lower)
            return "no slower setting helps, but lower one";
    for (const check::Finding& finding : findings)
        for (const check::Change& change : finding.changes)
            for (const check::SettingChange& setting : change.settings)
                if (setting.to.key == machine::SettingKey::current &&
                    setting.to.value < setting.now && says(finding.motor, "more current"))
                    return "more current, but less";
    return {};
}

TEST(NoTwoFindings, OfAnyShippedMachineAndProgramContradictEachOther) {
    std::size_t pairs = 0;
    for (const auto& machine_file : std::filesystem::directory_iterator(kConfigs / "machines"))
        for (const auto& program : std::filesystem::directory_iterator(kConfigs / "programs")) {
            if (program.path().extension() != ".gcode") continue;
            const machine::Machine machine = shipped(machine_file.path().stem().string());
            const run::MotorModels models = run::motor_models(machine);
#ifdef STEPPER_SIM_SLOW_BUILD
            const run::RunOptions options{.dynamics = false};
#else
            const run::RunOptions options{.most_windows = 20};  // the riskiest: those that slip
#endif
            const auto result = run::run_program(machine, models, program.path(), options);
            if (!result) continue;  // the machine lacks an axis of the program
            ++pairs;
            const std::vector<run::ProgramResult> results{result.value()};
            EXPECT_EQ(
                contradiction(check::run_checks({machine, models, results, run::kDefaultMargin})),
                "")
                << machine_file.path() << " " << program.path();
        }
    EXPECT_GE(pairs, 20U);
}

// Steps per mm that fit more microsteps, on a controller that is overloaded already: the figures come first, then the speed.
TEST(NoTwoFindings, AskForMoreAndForFewerMicrosteps) {
    machine::Machine machine = overloaded(64);
    machine.axes[0].settings.steps_per_mm *= 2.0;
    const Judged made = judged_text(machine, "G21 G90\nG1 X150 F18000\nX0\nM2\n");
    const auto has = [&](std::string_view check) {
        return std::any_of(made.report.findings.begin(), made.report.findings.end(),
                           [&](const check::Finding& f) { return f.check == check; });
    };
    ASSERT_TRUE(has("steps-per-mm") && has("step-rate") && has("processor-load"));
    EXPECT_EQ(contradiction(made.report.findings), "");
}

TEST(NoTwoFindings, AskForMoreAndForLessCurrent) {
    machine::Machine machine = machine_from();
    machine.axes[2].load.mass = from_si<planner::Mass>(100.0);
    machine.axes[2].current = {from_si<planner::Current>(1.8), machine::CurrentBasis::rms};
    const Judged made = judged_text(machine, kSquare);
    ASSERT_TRUE(any_with(made.report.findings, check::Grade::fault, 'Z'));
    EXPECT_EQ(contradiction(made.report.findings), "");
}

TEST(NoTwoFindings, ContradictEachOtherWhereEverythingIsWrongAtOnce) {
    machine::Machine machine = overloaded(64);
    machine.axes[0].load.mass = from_si<planner::Mass>(40.0);
    machine.axes[0].settings.speed_step = from_si<planner::Speed>(0.2);
    machine.axes[0].driver.step_high_min = from_si<planner::Time>(5e-6);
    machine.axes[0].driver.step_low_min = from_si<planner::Time>(20e-6);
    machine.axes[1].settings.steps_per_mm *= 1.1;
    machine.axes[1].microsteps = 17;
    const Judged made = judged_text(machine, "G21 G90\nG1 X150 F18000\nX0\nM2\n", true);
    EXPECT_GE(made.report.findings.size(), 5U);
    EXPECT_EQ(contradiction(made.report.findings), "");
}

}  // namespace
