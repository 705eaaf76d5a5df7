// Many machines with many programs: each pair as if it were alone, whatever else is there.
#include "stepper_sim/check/check_pairs.hpp"

#include <gtest/gtest.h>
#include <oneapi/tbb/global_control.h>

#include "stepper_sim/report/json.hpp"
#include "stepper_sim/report/summary.hpp"
#include "tests/stepper_sim/samples.hpp"
#include "tests/stepper_sim/temp_folder.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;
using samples::TempFolder;

constexpr const char* kSquare = "G21 G90\nG0 X10 Y10 Z1\nG1 X60 F6000\nY60\nX10\nY10\nM2\n";
constexpr const char* kOutside = "G21 G90\nG1 X1000 F6000\n";
constexpr const char* kFourAxes = "G21 G90\nG1 X10 A5 F600\n";

/// Two machines, one that is broken and one that lacks a part; two programs, one of them outside the travel and one with an axis that
/// neither machine has.
struct Files {
    Files() {
        const std::string slow = changed("max_speed = \"150 mm/s\"", "max_speed = \"50 mm/s\"");
        machines = {folder.write("bench.toml", std::string(kBench)),
                    folder.write("broken.toml", "name = \"half"), folder.write("slow.toml", slow)};
        programs = {folder.write("four.nc", kFourAxes), folder.write("outside.nc", kOutside),
                    folder.write("square.nc", kSquare)};
    }
    check::PairsQuestion question() const {
        return {machines, programs, {kConfigs}, {}, run::kDefaultMargin};
    }

    TempFolder folder;
    std::vector<std::string> machines, programs;
};

TEST(CheckPairs, EveryMachineMeetsEveryProgramAndNoErrorHidesAnother) {
    const Files files;
    const auto pairs = check::check_pairs(files.question());
    ASSERT_EQ(pairs.size(), 7U);
    for (const std::size_t machine : {0U, 4U}) {
        EXPECT_FALSE(pairs[machine].report) << "an axis it does not have";
        ASSERT_FALSE(pairs[machine].errors.empty());
        EXPECT_EQ(pairs[machine].errors.front().place.line, 2U);
        ASSERT_TRUE(pairs[machine + 1].report);
        EXPECT_EQ(pairs[machine + 1].report->verdict, check::Verdict::fault) << "out of travel";
        ASSERT_TRUE(pairs[machine + 2].report);
        EXPECT_EQ(pairs[machine + 2].report->verdict, check::Verdict::clear);
    }
    EXPECT_EQ(pairs[3].machine, files.machines[1]);
    EXPECT_EQ(pairs[3].program, "");
    EXPECT_EQ(pairs[3].errors.front().id, "machine/not-toml");
    EXPECT_FALSE(check::worst_verdict(pairs));
    EXPECT_EQ(check::worst_verdict({&pairs[1], 2}), check::Verdict::fault);
    EXPECT_EQ(check::worst_verdict({&pairs[2], 1}), check::Verdict::clear);
}

TEST(CheckPairs, APairIsReportedAsIfItWereAlone) {
    const Files files;
    const auto pairs = check::check_pairs(files.question());
    const auto machine = machine::read_machine(files.machines[2], {kConfigs});
    ASSERT_TRUE(machine);
    const run::MotorModels models = run::motor_models(machine.value());
    const auto alone = run::run_program(machine.value(), models, files.programs[2]);
    ASSERT_TRUE(alone);
    const std::vector<run::ProgramResult> results{alone.value()};
    EXPECT_EQ(report::to_json(*pairs[6].report),
              report::to_json(check::make_report({machine.value(), models, results})));
}

TEST(CheckPairs, AnyNumberOfThreadsGivesTheSameSummary) {
    const Files files;
    const auto with_threads = [&](std::size_t threads) {
        const tbb::global_control limit(tbb::global_control::max_allowed_parallelism, threads);
        const auto pairs = check::check_pairs(files.question());
        return report::summary_json({pairs, {}}) + report::summary_text({pairs, {}});
    };
    const std::string one = with_threads(1);
    EXPECT_EQ(with_threads(2), one);
    EXPECT_EQ(with_threads(8), one);
}

TEST(CheckPairs, WithoutProgramsTheSettingsAreJudged) {
    const Files files;
    const auto pairs = check::check_pairs(
        {std::span(files.machines).first(1), {}, {kConfigs}, {}, run::kDefaultMargin});
    ASSERT_EQ(pairs.size(), 1U);
    ASSERT_TRUE(pairs[0].report);
    EXPECT_TRUE(pairs[0].report->worst_case);
}

}  // namespace
