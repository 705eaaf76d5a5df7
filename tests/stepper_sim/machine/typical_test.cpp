// What is taken where nobody measured: classes of belts, screws and rails, and how a machine file says that it does not know.
#include "stepper_sim/machine/typical.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

machine::Drive drive_of(const std::string& table) {
    return machine_from(changed("drive = { belt_pitch = \"2 mm\", pulley_teeth = 20 }", table))
        .axes[0]
        .drive;
}

// 6 mm of a 2.5 mm pitch at 6000 to 7500 N per mm of width, pulleys 0.4 m apart: at the far end both sides are 0.4 m long, and near
// the motor one is 0.1 m and the other 0.7 m.
TEST(Typical, ABeltOfKnownSizesIsTwoSpringsSideBySide) {
    const machine::ClassBand band = machine::typical_stiffness(drive_of(
        R"(drive = { belt_pitch = "2.5 mm", pulley_teeth = 20, belt_type = "T2.5", belt_width = "6 mm", belt_span = "400 mm" })"));
    constexpr double kBrackets = 0.4;  // the header's guess
    EXPECT_NEAR(band.low, kBrackets * 6000.0 * 6.0 * (1.0 / 0.4 + 1.0 / 0.4), 1e-6 * band.low);
    EXPECT_NEAR(band.high, 7500.0 * 6.0 * (1.0 / 0.1 + 1.0 / 0.7), 1e-6 * band.high);
    EXPECT_NEAR(band.nominal, std::sqrt(band.low * band.high), 1e-9 * band.nominal);
}

// Pi/4 (10 mm)^2 206 GPa/0.5 m = 32.4 N/um, and four times that held at both ends.
TEST(Typical, AScrewHeldAtBothEndsIsFourTimesAsStiff) {
    const auto high = [](const std::string& ends) {
        return machine::typical_stiffness(
                   drive_of(
                       R"(drive = { screw_lead = "5 mm", efficiency = 0.9, screw_root = "10 mm", screw_length = "500 mm", screw_ends = ")" +
                       ends + "\" }"))
            .high;
    };
    EXPECT_NEAR(high("fixed-supported"), 32.4e6, 0.05e6);
    EXPECT_NEAR(high("fixed-fixed") / high("fixed-free"), 4.0, 1e-9);
}

// 10 kg weigh 98.07 N: 0.196 + 0.15 N to 0.294 + 5 N.
TEST(Typical, FrictionIsAShareOfTheWeightAndTheSeals) {
    const machine::ClassBand band =
        machine::typical_friction(planner::from_si<planner::Mass>(10.0), false);
    EXPECT_NEAR(band.low, 0.346, 0.001);
    EXPECT_NEAR(band.high, 5.294, 0.001);
}

TEST(Typical, GuessAndAbsenceSayTheSame) {
    const machine::Machine absent = machine_from(
        changed("load = { mass = \"0.3 kg\", friction = \"2 N\" }\nstiffness = \"9000 N/mm\"",
                "load = { mass = \"0.3 kg\" }"));
    const machine::Machine guess = machine_from(
        changed("load = { mass = \"0.3 kg\", friction = \"2 N\" }\nstiffness = \"9000 N/mm\"",
                "load = { mass = \"0.3 kg\", friction = \"guess\" }\nstiffness = "
                "\"guess\"\ndamping = \"guess\""));
    for (const machine::Machine* machine : {&absent, &guess}) {
        const machine::Axis& x = machine->axes[0];
        EXPECT_TRUE(x.load.friction_guessed);
        EXPECT_FALSE(x.stiffness);
        EXPECT_FALSE(x.damping);
        EXPECT_FALSE(machine->axes[1].load.friction_guessed);
        EXPECT_DOUBLE_EQ(x.load.friction.value(),
                         machine::typical_friction(x.load.mass, false).nominal);
    }
}

TEST(Typical, ABeltOfAnotherPitchThanItsTypeIsRefused) {
    const auto read = machine::read_machine_text(
        changed("belt_pitch = \"2 mm\", pulley_teeth = 20",
                "belt_pitch = \"2 mm\", pulley_teeth = 20, belt_type = \"T5\""),
        "m.toml", {kConfigs});
    ASSERT_FALSE(read);
    EXPECT_EQ(read.diagnostics().front().id, "machine/conflict");
}

TEST(Typical, PercentAndThreadsPerInchAreRead) {
    const machine::Machine machine = machine_from(changed(
        "screw_lead = \"8 mm\", efficiency = 0.5", "screw_lead = \"10 TPI\", efficiency = \"50 %\"",
        changed("steps_per_mm = 400", "steps_per_mm = 1259.84")));
    EXPECT_DOUBLE_EQ(machine.axes[2].drive.screw_lead->value(), 0.00254);
    EXPECT_DOUBLE_EQ(machine.axes[2].drive.screw_efficiency, 0.5);
}

TEST(Typical, AControllerMayGiveItsPromisedRateInPlaceOfCycles) {
    const std::string part =
        R"(controller = { name = "boxed", style = "line", clock = "72 MHz", tick = "1 MHz", pulse_high = "2 us", direction_setup = "2 us", direction_hold = "2 us")";
    const auto read = [&](const std::string& rate) {
        return machine::read_machine_text(
            changed("controller = \"controllers/cortex-m4-168mhz-line.toml\"", part + rate + " }"),
            "m.toml", {kConfigs});
    };
    const auto promised = read(", step_rate_total = \"100 kHz\"");
    ASSERT_TRUE(promised);
    EXPECT_DOUBLE_EQ(promised.value().controller.step_rate_total->value(), 100e3);
    const auto silent = read("");
    ASSERT_FALSE(silent);
    EXPECT_EQ(silent.diagnostics().size(), 4U);  // interrupt, event and motor cycles, share
}

}  // namespace
