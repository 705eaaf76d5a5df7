/// Which of the suspicious windows are simulated: the riskiest of every kind come first, so that one motor's many like windows do not
/// starve another's few, and a kind whose riskiest hold with room to spare vouches for the rest of it.
/// Model:   windows of one motor are of one kind where their largest ratio, its speed, the variant it came from and their length fall
///          on the same rungs
/// Formula: rung = floor(ln(x / least) / ln(step)), step 1.25 of the ratio, 1.6 of the speed, 4 of the length; thirds of the spread
/// Symbols: x = the figure, least = its lowest rung
/// Valid:   a kind vouches once kSpokesmen of it hold with no load angle above a right angle (above the base speed: without a slip)
/// Source:  Guess: windows that differ by less than a rung are alike
/// Checked by: LostSteps.WhereNotAllWindowsAreSimulatedTheRiskiestOfTheirKindsAre; bench/adversary.cpp
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "stepper_sim/run/slip_result.hpp"
#include "stepper_sim/run/slip_screen.hpp"

namespace stepper_sim::run {

/// So many of a kind, the riskiest, speak for all of it.
inline constexpr std::size_t kSpokesmen = 3;

struct PickedWindow {
    std::size_t motor = 0;  // the first of its plant
    std::size_t kind = 0;   // of all motors
    dynamics::Window window;
    std::uint64_t rank = 0;  // within its kind, riskiest first
};

class WindowKinds {
  public:
    explicit WindowKinds(std::span<const MotorScreen> screens);

    /// The riskiest of every kind, the riskiest kinds first, at most so many.
    std::vector<PickedWindow> spokesmen(std::size_t most) const;
    /// Those of kinds whose spokesmen hold without room to spare, riskiest first, at most so many.
    std::vector<PickedWindow> doubtful(std::size_t most) const;
    /// What a simulation said.
    void take(const PickedWindow& picked, const SlipWindow& judged);
    /// Of a motor the windows left out that are of a kind which vouches for them: its spokesmen were simulated and hold, with no load
    /// angle above a right angle in any variant, or, where they cruise above the base speed, without a slip.
    std::uint64_t vouched_for(std::size_t motor) const;

  private:
    struct Kind {
        std::size_t motor = 0;
        std::uint64_t size = 0, simulated = 0;
        bool holds = true, has_room = true;

        bool vouches() const { return holds && has_room && simulated >= kSpokesmen; }
    };

    std::vector<PickedWindow> candidates_;  // riskiest first
    std::vector<Kind> kinds_;
};

}  // namespace stepper_sim::run
