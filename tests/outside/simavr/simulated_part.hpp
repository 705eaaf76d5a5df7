/// The firmware of step_part.cpp on a simulated 8-bit part, cycle by cycle (simavr), fed with
/// moves and event times as a planner would, its pins recorded. No real time passes: sleep is
/// skipped over.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

namespace stepper_sim::testing {

struct PinChange {
    std::uint64_t cycle = 0;
    std::uint8_t pin = 0;  // 0 to 3: step lines, 4 to 7: direction lines
    bool level = false;
};

struct PartMove {
    std::uint16_t steps[4] = {};
    std::uint8_t directions = 0;
};

struct PartEvent {
    std::int64_t tick = 0;
    bool first = false;  // of the next move
};

struct PartRun {
    std::vector<PinChange> pins;
    std::vector<std::uint32_t> handler_cycles;  // vector jump to return, both left out
    bool complete = false;  // every event was taken, none lost its compare match
    std::uint64_t last_cycle = 0;
};

/// Runs the firmware until it has taken all events. A lost compare match shows as a gap of a whole
/// turn of the timer: `complete` is then false, as it is when the ring ran dry on the way.
PartRun run_part(const std::string& elf, const std::vector<PartMove>& moves,
                 const std::vector<PartEvent>& events);

}  // namespace stepper_sim::testing
