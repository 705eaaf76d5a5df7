// What files and folders on a command line are taken for.
#include "stepper_sim/machine/input_files.hpp"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <algorithm>

#include "tests/stepper_sim/samples.hpp"
#include "tests/stepper_sim/temp_folder.hpp"

namespace {

using namespace stepper_sim;
using samples::TempFolder;
namespace fs = std::filesystem;

machine::InputFiles found(const std::vector<std::string>& given) {
    auto files = machine::input_files(given);
    for (const planner::Diagnostic& diagnostic : files.diagnostics())
        ADD_FAILURE() << planner::to_line(diagnostic);
    return std::move(files).value();
}

std::vector<std::string> names(const std::vector<std::string>& files) {
    std::vector<std::string> names;
    for (const std::string& file : files)
        names.push_back(fs::path(file).filename().string());
    return names;
}

using Names = std::vector<std::string>;

TEST(InputFiles, TheFirstFileIsAMachineWhateverItsName) {
    const machine::InputFiles files = found({"bench.conf", "b.nc", "a.txt"});
    EXPECT_EQ(files.machines, Names{"bench.conf"});
    EXPECT_EQ(files.programs, (Names{"b.nc", "a.txt"}));
    EXPECT_TRUE(files.one_machine());
}

TEST(InputFiles, EveryOtherTomlFileIsAMachine) {
    const machine::InputFiles files = found({"a.toml", "b.nc", "c.TOML", "a.toml", "./b.nc"});
    EXPECT_EQ(files.machines, (Names{"a.toml", "c.TOML"}));
    EXPECT_EQ(files.programs, Names{"b.nc"});  // once
    EXPECT_FALSE(files.one_machine());
}

TEST(InputFiles, AFolderIsSortedAndNothingInItIsLeftOutSilently) {
    const TempFolder folder;
    folder.write("z.toml", std::string(samples::kBench));
    folder.write("deep/er/a.toml", std::string(samples::kBench));
    folder.write("broken.toml", "name = ");
    folder.write("motor.toml", "name = \"m\"\n[source]\n");
    folder.write("b.NC", "");
    folder.write("deep/c.gcode", "");
    folder.write("notes.md", "");
    folder.write("noending", "");
    folder.write("almost.gcod", "");
    folder.write(".git/config", "");
    fs::create_directory_symlink(folder.path(), folder.path() / "loop");
    ASSERT_EQ(mkfifo((folder.path() / "pipe.gcode").c_str(), 0600), 0);
    const machine::InputFiles files = found({folder.path().string()});
    EXPECT_EQ(names(files.machines), (Names{"broken.toml", "a.toml", "z.toml"}));
    EXPECT_EQ(names(files.programs), (Names{"b.NC", "c.gcode"}));
    Names left_out;
    for (const machine::LeftOut& file : files.left_out) {
        left_out.push_back(fs::path(file.file).filename().string());
        EXPECT_FALSE(file.why.empty());
    }
    EXPECT_EQ(left_out, (Names{".git", "almost.gcod", "loop", "motor.toml", "noending", "notes.md",
                               "pipe.gcode"}));
    EXPECT_TRUE(files.errors.empty());
    EXPECT_FALSE(files.one_machine());
}

TEST(InputFiles, AProgramAfterAFolderIsAProgram) {
    const TempFolder folder;
    folder.write("a.toml", std::string(samples::kBench));
    const machine::InputFiles files = found({folder.path().string(), "b.nc"});
    EXPECT_EQ(names(files.machines), Names{"a.toml"});
    EXPECT_EQ(files.programs, Names{"b.nc"});
}

TEST(InputFiles, AFolderWithNothingToCheckIsAnError) {
    const TempFolder folder;
    const auto files = machine::input_files(Names{folder.path().string()});
    ASSERT_FALSE(files);
    EXPECT_EQ(files.diagnostics().front().id, "files/empty-folder");
    const samples::TextFile machine(samples::kBench);
    const machine::InputFiles kept = found({machine.name(), folder.path().string()});
    ASSERT_EQ(kept.errors.size(), 1U);
    EXPECT_EQ(kept.errors.front().id, "files/empty-folder");
    EXPECT_EQ(kept.machines.size(), 1U);
}

TEST(InputFiles, ProgramsAloneAreNoMachine) {
    const TempFolder folder;
    folder.write("a.nc", "G0 X1\n");
    const auto files = machine::input_files(Names{folder.path().string()});
    ASSERT_FALSE(files);
    EXPECT_EQ(files.diagnostics().front().id, "files/no-machine");
}

TEST(InputFiles, AFolderThatCannotBeReadIsAnErrorAndHidesNothing) {
    if (geteuid() == 0) GTEST_SKIP() << "root reads everything";
    const TempFolder folder;
    folder.write("a.toml", std::string(samples::kBench));
    folder.write("closed/b.nc", "");
    fs::permissions(folder.path() / "closed", fs::perms::none);
    const machine::InputFiles files = found({folder.path().string()});
    fs::permissions(folder.path() / "closed", fs::perms::owner_all);
    EXPECT_EQ(files.machines.size(), 1U);
    ASSERT_EQ(files.errors.size(), 1U);
    EXPECT_EQ(files.errors.front().id, "files/unreadable-folder");
}

}  // namespace
