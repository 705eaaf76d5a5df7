// Every file in configs/ is read without an error and states where its values come from.
#include <gtest/gtest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "stepper_sim/machine/catalogue.hpp"
#include "stepper_sim/machine/read_machine.hpp"

namespace {

namespace fs = std::filesystem;

const fs::path kConfigs(STEPPER_SIM_CONFIGS);

std::string reasons(const std::vector<planner::Diagnostic>& diagnostics) {
    std::string text;
    for (const auto& diagnostic : diagnostics) {
        text += planner::to_line(diagnostic) + '\n';
    }
    return text;
}

template <class Part>
std::vector<Part> readable(const std::vector<stepper_sim::machine::CatalogueEntry<Part>>& entries) {
    std::vector<Part> parts;
    for (const auto& entry : entries) {
        EXPECT_TRUE(entry.part) << entry.name << ": " << reasons(entry.part.diagnostics());
        if (entry.part) {
            parts.push_back(entry.part.value());
        }
    }
    return parts;
}

template <class Part>
void expect_sources(const std::vector<Part>& parts) {
    for (const Part& part : parts) {
        EXPECT_FALSE(part.source.document.empty()) << part.name;
        // What was only recalled says which part of it was.
        EXPECT_TRUE(part.source.known == stepper_sim::machine::Known::read ||
                    !part.source.note.empty())
            << part.name;
    }
}

std::vector<fs::path> machine_files() {
    std::vector<fs::path> files;
    for (const auto& entry : fs::directory_iterator(kConfigs / "machines")) {
        if (entry.path().extension() == ".toml") {
            files.push_back(entry.path());
        }
    }
    return files;
}

}  // namespace

TEST(ShippedParts, AreReadAndStateTheirSources) {
    const auto catalogue = stepper_sim::machine::read_catalogue(kConfigs);
    const auto motors = readable(catalogue.motors);
    const auto drivers = readable(catalogue.drivers);
    const auto controllers = readable(catalogue.controllers);
    expect_sources(motors);
    expect_sources(drivers);
    expect_sources(controllers);
    // The promise of the catalogue: a newcomer finds a part close to theirs.
    EXPECT_GE(motors.size(), 24U);
    EXPECT_GE(drivers.size(), 15U);
    EXPECT_GE(controllers.size(), 6U);
}

TEST(ShippedParts, PublishedCurvesStateTheirSourceAndStayBelowHoldingTorque) {
    const auto catalogue = stepper_sim::machine::read_catalogue(kConfigs);
    int curves = 0;
    for (const auto& motor : readable(catalogue.motors)) {
        for (const auto& curve : motor.curves) {
            EXPECT_FALSE(curve.source.document.empty()) << motor.name;
            EXPECT_FALSE(curve.drive.empty()) << motor.name;
            // The figure of QSH4218-47-28-040 starts 1 % above the plate: reading error and
            // rounding.
            constexpr double kReadingError = 1.02;
            for (const auto& torque : curve.torques) {
                EXPECT_LE(torque.value(), kReadingError * motor.holding_torque.value())
                    << motor.name;
            }
            ++curves;
        }
    }
    EXPECT_GE(curves, 11);
}

TEST(ShippedMachines, AreReadWithTheirParts) {
    const auto files = machine_files();
    EXPECT_GE(files.size(), 4U);
    for (const auto& file : files) {
        const auto machine = stepper_sim::machine::read_machine(file, {kConfigs});
        EXPECT_TRUE(machine) << reasons(machine.diagnostics());
    }
}

// The shipped settings are meant to be copied, so their steps are those of the mechanics.
TEST(ShippedMachines, StepsPerMillimetreAgreeWithTheMechanics) {
    constexpr double kRounding = 1e-9;
    for (const auto& file : machine_files()) {
        const auto machine = stepper_sim::machine::read_machine(file, {kConfigs});
        ASSERT_TRUE(machine) << reasons(machine.diagnostics());
        for (const auto& axis : machine.value().axes) {
            const double mechanical = axis.mechanical_steps_per_m();
            EXPECT_NEAR(axis.steps_per_m(), mechanical, mechanical * kRounding)
                << file << ' ' << axis.letter;
        }
    }
}
