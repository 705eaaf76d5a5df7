/// Which of the suspicious windows are simulated. Windows of one motor that are alike (their largest ratio, its speed, the variant it came
/// from and their length nearly the same) are one kind: the riskiest of every kind come first, so that one motor's many like windows do not
/// starve another's few, and a kind whose riskiest hold with room to spare vouches for the rest of it.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "stepper_sim/check/slip_result.hpp"
#include "stepper_sim/check/slip_screen.hpp"

namespace stepper_sim {

/// So many of a kind, the riskiest, speak for all of it.
inline constexpr std::size_t kSpokesmen = 5;

struct PickedWindow {
    std::size_t motor = 0;  // the first of its plant
    std::size_t kind = 0;   // of all motors
    Window window;
};

struct Picked {
    std::vector<PickedWindow> windows;      // at most as many as asked for, riskiest first
    std::vector<std::uint64_t> kind_sizes;  // windows of each kind, picked or not
};

Picked pick_windows(std::span<const MotorScreen> screens, int most_windows);

/// Of each motor the windows left out that are of a kind whose spokesmen were all simulated and hold with room to spare: no load
/// angle above a right angle in any variant, or, on windows that cruise above the corner speed, no slip.
void count_likes(const Picked& picked, std::span<const SlipWindow> judged, SlipResult& result);

}  // namespace stepper_sim
