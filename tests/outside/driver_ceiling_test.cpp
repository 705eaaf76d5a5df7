// Step-rate ceilings of the shipped drivers against arithmetic on their datasheets: the lower of
// the stated frequency and 1/(high + low).
#include <gtest/gtest.h>

#include <filesystem>
#include <string>

#include "stepper_sim/controller/ceiling.hpp"
#include "stepper_sim/machine/read_parts.hpp"

namespace {

constexpr double kWholeHertz = 0.5;        // half a unit of the last digit of the table
constexpr double kWholeNanosecond = 1e-9;  // the file rounds up to one

constexpr double kRounding = 1e-9;  // of sums and quotients of times in seconds

stepper_sim::machine::DriverPart driver(const std::string& name) {
    const auto path = std::filesystem::path(STEPPER_SIM_CONFIGS) / "drivers" / (name + ".toml");
    auto part = stepper_sim::machine::read_driver(path);
    EXPECT_TRUE(part) << name;
    return part ? part.value() : stepper_sim::machine::DriverPart{};
}

double pulse_rate(const stepper_sim::machine::DriverPart& part) {
    return 1.0 / (part.step_high_min + part.step_low_min).value();
}

void expect_ceiling(const std::string& name, double ceiling_Hz, double from_pulses_Hz,
                    bool stated) {
    const auto part = driver(name);
    EXPECT_EQ(part.step_rate_stated, stated) << name;
    EXPECT_NEAR(pulse_rate(part), from_pulses_Hz, kWholeHertz) << name;
    const double shortest_pulse_Hz =
        stepper_sim::controller::driver_ceiling_hz(part, part.step_high_min);
    EXPECT_NEAR(shortest_pulse_Hz, ceiling_Hz, ceiling_Hz * kRounding) << name;
}

}  // namespace

// TI datasheets SLVSA73F 7.6, SLVSD18C 6.6, SLVSDA5E and JAJSCW8A indexer timing (read); ST L6208Q
// Doc ID 018710 Table 4 (read).
TEST(DriverCeilings, TheStatedFrequencyBindsWhereItIsTheLower) {
    expect_ceiling("drv8825", 250e3, 263158.0, true);
    expect_ceiling("drv8880", 1e6, 1063830.0, true);
    expect_ceiling("drv8884", 500e3, 515464.0, true);
    expect_ceiling("drv8886", 500e3, 515464.0, true);
    expect_ceiling("l6208", 100e3, 500000.0, true);
}

// Allegro 4988-DS Rev. 5 Figure 1 (read) states no frequency: derived.
TEST(DriverCeilings, AreDerivedFromThePulseTimesWhereNoFrequencyIsStated) {
    expect_ceiling("a4988", 500e3, 500000.0, false);
}

// Sister chips differ: SLVSA73F, SLVSA06J, SLVSB19D section 7.6 (read).
TEST(DriverCeilings, DirectionTimesAreNotCopiedBetweenSisterChips) {
    const auto times_ns = [](const std::string& name) {
        const auto part = driver(name);
        return std::pair(part.setup_min.value_or(planner::Time()).value() * 1e9,
                         part.hold_min.value_or(planner::Time()).value() * 1e9);
    };
    constexpr double kRounding_ns = 1e-6;
    const auto expect_times = [&](const std::string& name, double setup_ns, double hold_ns) {
        EXPECT_NEAR(times_ns(name).first, setup_ns, kRounding_ns) << name;
        EXPECT_NEAR(times_ns(name).second, hold_ns, kRounding_ns) << name;
    };
    expect_times("drv8825", 650.0, 650.0);
    expect_times("drv8824", 200.0, 200.0);
    expect_times("drv8834", 200.0, 1000.0);
}

// Trinamic TMC2209 Rev. 1.09 table 13.1 (read): high and low at least one clock + 20 ns, the
// slowest stated internal clock being 11.5 MHz; the sheet's own clock/2 lies above what those times
// allow.
TEST(DriverCeilings, ClockedDriversKeepTheTimesOfTheirSlowestClock) {
    constexpr double kClock_Hz = 11.5e6;
    const double shortest_s = 1.0 / kClock_Hz + 20e-9;
    const auto part = driver("tmc2209");
    EXPECT_GE(part.step_high_min.value(), shortest_s);
    EXPECT_NEAR(part.step_high_min.value(), shortest_s, kWholeNanosecond);
    EXPECT_LT(part.step_rate_max.value(), kClock_Hz / 2.0);
}
