#include <array>
#include <cmath>

#include "stepper_sim/machine/part_tables.hpp"

namespace stepper_sim::machine::reading {
namespace {

constexpr double kMinClock_Hz = 1e3;
constexpr double kMaxClock_Hz = 1e10;
constexpr double kMinBaseRate_Hz = 100.0;
constexpr int kMaxCycles = 1000000;
constexpr double kMaxPulse_s = 0.1;
constexpr int kMaxStepsPerInterrupt = 64;
constexpr int kMinAccumulator_bits = 8;
constexpr int kMaxAccumulator_bits = 62;

std::int64_t whole_hz(const planner::Frequency& rate) {
    return std::llround(rate.value());
}

/// Keys that only some styles have: a value that would be ignored is a mistake.
void refuse(FieldReader& reader, std::string_view key, const std::string& style) {
    if (const Node* node = reader.find(key)) {
        reader.faults().add({"machine/conflict", node->place(), shown(*node),
                             "no " + std::string(key) + " for style \"" + style + '"', ""});
    }
}

/// What every real controller has; an ideal one emits exact times and may leave all of it out.
void read_processor(FieldReader& reader, ControllerPart& part) {
    const bool real = part.style != ControllerStyle::ideal;
    const Range clock_range = from_to(kMinClock_Hz, kMaxClock_Hz);
    part.step_rate_max =
        reader.maybe<planner::Frequency>("step_rate_max", above_zero_to(kMaxClock_Hz));
    part.step_rate_total =
        reader.maybe<planner::Frequency>("step_rate_total", above_zero_to(kMaxClock_Hz));
    // What the maker promises may stand for the cycles nobody counted.
    const bool promised = part.step_rate_max || part.step_rate_total;
    for (const char* key : {"clock", "tick", "pulse_high", "direction_setup", "direction_hold"}) {
        if (real) {
            reader.require(key);
        }
    }
    for (const char* key :
         {"interrupt_cycles", "event_cycles", "motor_cycles", "processor_share"}) {
        if (real && !promised) {
            reader.require(key);
        }
    }
    part.clock_hz = whole_hz(reader.value_or<planner::Frequency>("clock", {}, clock_range));
    part.tick_hz = whole_hz(reader.value_or<planner::Frequency>("tick", {}, clock_range));
    const Range cycles = from_to(0, kMaxCycles);
    part.interrupt_cycles = reader.value_or<int>("interrupt_cycles", 0, cycles);
    part.event_cycles = reader.value_or<int>("event_cycles", 0, cycles);
    part.motor_cycles = reader.value_or<int>("motor_cycles", 0, cycles);
    part.processor_share = reader.value_or<double>("processor_share", 1.0, above_zero_to(1.0));
    const Range pulse = real ? above_zero_to(kMaxPulse_s) : zero_to(kMaxPulse_s);
    part.pulse_high = reader.value_or<planner::Time>("pulse_high", {}, pulse);
    part.direction_setup =
        reader.value_or<planner::Time>("direction_setup", {}, zero_to(kMaxPulse_s));
    part.direction_hold =
        reader.value_or<planner::Time>("direction_hold", {}, zero_to(kMaxPulse_s));
}

void read_line_style(FieldReader& reader, ControllerPart& part) {
    part.max_steps_per_interrupt =
        reader.value_or<int>("max_steps_per_interrupt", 1, from_to(1, kMaxStepsPerInterrupt));
    const auto steps = static_cast<unsigned>(part.max_steps_per_interrupt);
    if ((steps & (steps - 1U)) != 0U) {
        const Node* node = reader.find("max_steps_per_interrupt");
        reader.faults().add({"machine/out-of-range", node->place(), shown(*node),
                             "a power of two for " + reader.full_name("max_steps_per_interrupt"),
                             ""});
    }
}

void read_fixed_rate_style(FieldReader& reader, ControllerPart& part) {
    reader.require("base_rate");
    part.base_rate_hz = whole_hz(reader.value_or<planner::Frequency>(
        "base_rate", {}, from_to(kMinBaseRate_Hz, kMaxClock_Hz)));
    part.accumulator_bits = reader.value_or<int>(
        "accumulator_bits", 32, from_to(kMinAccumulator_bits, kMaxAccumulator_bits));
    if (part.clock_hz > 0 && part.base_rate_hz >= part.clock_hz) {
        const Node* node = reader.find("base_rate");
        reader.faults().add(
            {"machine/conflict", node->place(), shown(*node),
             "a rate below the processor clock for " + reader.full_name("base_rate"), ""});
    }
}

}  // namespace

ControllerPart controller_from(const Node& table, const std::string& path, Faults& faults) {
    FieldReader reader(table, path, faults);
    ControllerPart part;
    part.name = reader.need<std::string>("name");
    const auto styles = std::to_array<std::string>(
        {"ideal", "line", "fixed-rate", "scheduled"});  // in the order of ControllerStyle
    reader.require("style");
    const auto style = reader.choice("style", styles);
    if (style) {
        part.style = static_cast<ControllerStyle>(*style);
    }
    read_processor(reader, part);
    const std::string& style_name = styles[static_cast<std::size_t>(part.style)];
    if (part.style == ControllerStyle::line || !style) {
        read_line_style(reader, part);
    } else {
        refuse(reader, "max_steps_per_interrupt", style_name);
    }
    if (part.style == ControllerStyle::fixed_rate) {
        read_fixed_rate_style(reader, part);
    } else {
        for (const char* key : {"base_rate", "accumulator_bits"}) {
            if (style) {
                refuse(reader, key, style_name);
            }
            reader.find(key);
        }
    }
    part.source = source_from(reader).value_or(Source{});
    reader.finish();
    return part;
}

}  // namespace stepper_sim::machine::reading
