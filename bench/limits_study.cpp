/// Question: does `check` agree with what `limits` proposes on every shipped machine and program, and does whatever holds on a machine
/// with a weaker part, just or with 20 % margin, hold on the stronger one?
/// Run: limits_study; prints two tables as markdown.
/// Included: every shipped machine with every shipped program it can read, and with none; every axis of them alone (X and Y of crossed
/// belts together) with a heavier load, less current, a lower supply and a weaker motor.
/// Excluded: machines of other people. "Above" is the next value that `limits` would try: values are found to 5 %.
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/limits/axis_group.hpp"
#include "stepper_sim/limits/highest.hpp"
#include "stepper_sim/limits/limits.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/run/run_program.hpp"
#include "stepper_sim/run/worst_moves.hpp"

namespace {

using namespace stepper_sim;
namespace fs = std::filesystem;

const fs::path kConfigs = STEPPER_SIM_CONFIGS;

struct Said {
    bool ran = true, clear = true;
    std::string why;
};

Said checked(const machine::Machine& machine, double margin,
             const std::vector<run::ProgramSource>& programs) {
    const run::MotorModels models = run::motor_models(machine);
    std::vector<run::ProgramResult> results;
    for (const run::ProgramSource& source : programs) {
        auto result = run::run_program(machine, models, source);
        if (!result) return {false, false, result.diagnostics().front().found};
        results.push_back(std::move(result).value());
    }
    Said said;
    for (const check::Finding& finding : check::run_checks({machine, models, results, margin})) {
        if (finding.grade == check::Grade::note) continue;
        said.clear = false;
        if (said.why.empty()) said.why = std::string(finding.check) + ": " + finding.message;
    }
    return said;
}

std::vector<fs::path> files(const char* folder, std::string_view extension) {
    std::vector<fs::path> found;
    for (const auto& entry : fs::directory_iterator(kConfigs / folder))
        if (entry.path().extension() == extension) found.push_back(entry.path());
    std::sort(found.begin(), found.end());
    return found;
}

/// The machine with the axes of one group only.
machine::Machine alone(machine::Machine machine, const limits::AxisGroup& group) {
    std::vector<machine::Axis> axes;
    std::string letters;
    for (const int slot : group.slots) {
        axes.push_back(machine.axes[static_cast<std::size_t>(slot)]);
        letters += axes.back().letter;
    }
    if (axes.size() < 2) {
        machine.kinematics = planner::Kinematics::cartesian;
        letters = axes.front().letter = 'X';
    }
    machine.axes = std::move(axes);
    machine.program.axes = planner::AxisSet(letters);
    return machine;
}

struct Weakening {
    const char* name;
    void (*apply)(machine::Axis&);
};

constexpr Weakening kWeakenings[]{
    {"mass x 1.5", [](machine::Axis& axis) { axis.load.mass *= 1.5; }},
    {"friction x 1.5", [](machine::Axis& axis) { axis.load.friction *= 1.5; }},
    {"current x 0.7", [](machine::Axis& axis) { axis.current.value *= 0.7; }},
    {"supply x 0.7", [](machine::Axis& axis) { axis.supply *= 0.7; }},
    {"running factor 0.6, not 0.8", [](machine::Axis& axis) { axis.running_factor = 0.6; }},
};

std::string figures(const limits::Limits& limits) {
    const limits::AxisLimits& axis = limits.axes.front();
    if (!axis.holds) return "nothing";
    char text[120];
    std::snprintf(text, sizeof text, "%.1f / %.0f / %.1f", axis.speed.just_holds * 1e3,
                  axis.acceleration.just_holds * 1e3,
                  axis.step ? axis.step->just_holds * 1e3 : 0.0);
    return text;
}

void weaker_parts(const std::string& only) {
    std::printf(
        "| axis | part | just holds, mm/s, mm/s^2, mm/s | on the stronger | that with margin |\n"
        "|---|---|---|---|---|\n");
    for (const fs::path& file : files("machines", ".toml")) {
        if (!only.empty() && file.stem() != only) continue;
        const machine::Machine machine = machine::read_machine(file, {kConfigs}).value();
        for (const limits::AxisGroup& group : limits::axis_groups(machine)) {
            machine::Machine strong = alone(machine, group);
            for (machine::Axis& axis : strong.axes)
                axis.running_factor = 0.8;
            const std::string name =
                file.stem().string() + " " +
                machine.axes[static_cast<std::size_t>(group.slots.front())].letter;
            const auto holds_on_stronger = [&](const machine::Machine& settings) {
                const Said said = checked(
                    settings, 0.0, run::worst_programs(settings, run::motor_models(settings)));
                return said.clear ? std::string("holds") : said.why;
            };
            std::printf("| %s | as it is | %s | | |\n", name.c_str(),
                        figures(limits::find_limits({strong, {}, 0.0}).value()).c_str());
            for (const Weakening& weakening : kWeakenings) {
                machine::Machine weak = strong;
                for (machine::Axis& axis : weak.axes)
                    weakening.apply(axis);
                const limits::Limits limits = limits::find_limits({weak, {}}).value();
                const bool any = limits.axes.front().holds;
                std::printf(
                    "| %s | %s | %s | %s | %s |\n", name.c_str(), weakening.name,
                    figures(limits).c_str(),
                    any ? holds_on_stronger(limits::just_holding(strong, limits)).c_str() : "",
                    any ? holds_on_stronger(limits::with_margin(strong, limits)).c_str() : "");
                std::fflush(stdout);
            }
        }
    }
}

/// Settings that can be raised past what just holds and are clear; those that nothing but travel, path cap or top speed bind are left out.
std::string still_clear_above(const machine::Machine& machine, const limits::Limits& limits,
                              const std::vector<run::ProgramSource>& programs) {
    std::string out;
    const machine::Machine just = limits::just_holding(machine, limits);
    for (const limits::AxisGroup& group : limits::axis_groups(machine)) {
        const limits::AxisLimits& axis = limits.axes[static_cast<std::size_t>(group.slots.front())];
        if (!axis.holds) continue;
        for (int setting = 0; setting < 3; ++setting) {
            if (setting == 2 && !axis.step) continue;
            const limits::SettingLimit& limit = setting == 0   ? axis.speed
                                                : setting == 1 ? axis.acceleration
                                                               : *axis.step;
            if (limit.binds == run::Binding::travel || limit.binds == run::Binding::path_cap ||
                limit.binds == run::Binding::top_speed)
                continue;
            machine::Machine raised = just;
            const auto raise = [](auto& value) {
                value =
                    std::decay_t<decltype(value)>::from_value(limits::next_setting(value.value()));
            };
            for (const int slot : group.slots) {
                machine::AxisSettings& settings =
                    raised.axes[static_cast<std::size_t>(slot)].settings;
                if (setting == 0) raise(settings.max_speed);
                if (setting == 1) raise(settings.max_acceleration);
                if (setting == 2) raise(settings.speed_step);
            }
            bool clear =
                checked(raised, 0.0, run::worst_programs(raised, run::motor_models(raised))).clear;
            if (clear && !programs.empty()) clear = checked(raised, 0.0, programs).clear;
            constexpr const char* kNames[]{"speed", "acceleration", "speed step"};
            if (clear)
                out += std::string(out.empty() ? "" : ", ") + axis.letter + ' ' + kNames[setting] +
                       " (" + std::string(run::to_word(limit.binds)) + ")";
        }
    }
    return out;
}

void pairs(const std::string& only) {
    std::printf("| machine | program | with margin | above what just holds |\n|---|---|---|---|\n");
    for (const fs::path& file : files("machines", ".toml")) {
        if (!only.empty() && file.stem() != only) continue;
        const machine::Machine machine = machine::read_machine(file, {kConfigs}).value();
        std::vector<fs::path> programs = files("programs", ".gcode");
        programs.insert(programs.begin(), fs::path());
        for (const fs::path& program : programs) {
            std::vector<run::ProgramSource> sources;
            if (!program.empty()) sources.emplace_back(program.string());
            const auto found = limits::find_limits({machine, sources});
            if (!found) {
                std::printf("| %s | %s | not run: %s | |\n", file.stem().c_str(),
                            program.stem().c_str(), found.diagnostics().front().found.c_str());
                continue;
            }
            const limits::Limits& limits = found.value();
            const machine::Machine proposed = limits::with_margin(machine, limits);
            Said said = checked(proposed, limits.margin,
                                run::worst_programs(proposed, run::motor_models(proposed)));
            if (said.clear && !sources.empty()) said = checked(proposed, limits.margin, sources);
            const std::string above = still_clear_above(machine, limits, sources);
            std::printf(
                "| %s | %s | %s | %s |\n", file.stem().c_str(), program.stem().c_str(),
                said.clear
                    ? (limits.clear ? "clear"
                                    : ("clear, but limits: " + limits.why_not_clear).c_str())
                    : (std::string(limits.clear ? "LIMITS SAYS CLEAR: " : "limits agrees: ") +
                       said.why)
                          .c_str(),
                above.c_str());
            std::fflush(stdout);
        }
    }
}

}  // namespace

int main(int argc, char** argv) {
    const std::string what = argc > 1 ? argv[1] : "both", only = argc > 2 ? argv[2] : "";
    if (what != "pairs") weaker_parts(only);
    if (what != "parts") pairs(only);
    return 0;
}
