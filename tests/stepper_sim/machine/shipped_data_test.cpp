// The data that is shipped in configs/: every file must be readable, and say where its values come
// from.
#include <gtest/gtest.h>

#include <filesystem>

#include "stepper_sim/machine/catalogue.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "tests/stepper_sim/machine/machine_texts.hpp"

namespace stepper_sim::machine::test {
namespace {

const std::filesystem::path kConfigs = STEPPER_SIM_CONFIGS;

template <class Part>
void expect_all_read(const std::vector<CatalogueEntry<Part>>& entries) {
    EXPECT_FALSE(entries.empty());
    for (const CatalogueEntry<Part>& entry : entries) {
        ASSERT_TRUE(entry.part) << lines_of(entry.part).front();
        EXPECT_FALSE(entry.part.value().source.document.empty()) << entry.name << " has no source";
    }
}

TEST(ShippedData, EveryPartIsReadAndNamesItsSource) {
    const Catalogue catalogue = read_catalogue(kConfigs);
    expect_all_read(catalogue.motors);
    expect_all_read(catalogue.drivers);
    expect_all_read(catalogue.controllers);
}

TEST(ShippedData, EveryMachineIsReadWithItsParts) {
    int machines = 0;
    for (const auto& entry : std::filesystem::directory_iterator(kConfigs / "machines")) {
        const auto machine = read_machine(entry.path(), {});
        EXPECT_TRUE(machine) << lines_of(machine).front();
        ++machines;
    }
    EXPECT_GT(machines, 0);
}

// The file with every key (README, the machine file): a key that the reader does not know would be an error.
TEST(ShippedData, TheFileWithEveryKeyIsReadAndHasTheRareOnesToo) {
    const std::filesystem::path file = kConfigs / "every-key.toml";
    const auto read = read_machine(file, {kConfigs});
    ASSERT_TRUE(read) << lines_of(read).front();
    const Machine& machine = read.value();
    EXPECT_TRUE(machine.planning.path_acceleration);
    EXPECT_TRUE(machine.axes.front().running_factor);
    EXPECT_TRUE(machine.axes.front().running_factor_at);
    EXPECT_TRUE(machine.axes.front().drive.belt_span);
    EXPECT_FALSE(machine.axes.front().modes.empty());
    EXPECT_FALSE(machine.program.words.empty());
}

}  // namespace
}  // namespace stepper_sim::machine::test
