/// What searches have simulated already: they ask again and again about motion that has not changed, where only another setting has.
/// Read next: slip_judge.hpp, which asks it.
#pragma once

#include <cstdint>
#include <mutex>
#include <optional>
#include <span>
#include <unordered_map>

#include "stepper_sim/dynamics/full_model.hpp"
#include "stepper_sim/run/slip_result.hpp"

namespace stepper_sim::run {

class WindowMemo {
  public:
    /// Guess: so many are kept, 10 MB; a search of a shipped machine asks some thousand, with a long program more.
    static constexpr std::size_t kMostKept = 100000;

    /// Of the motors of one plant in one run, with all that the outcome depends on. Pulses to 10 ns, a thousandth of the model's step.
    static std::uint64_t key(std::span<const dynamics::WindowRun> motors);

    std::optional<dynamics::WindowOutcome> find(std::uint64_t key) const {
        const std::lock_guard lock(mutex_);
        const auto there = outcomes_.find(key);
        return there == outcomes_.end() ? std::nullopt : std::optional(there->second);
    }
    void keep(std::uint64_t key, const dynamics::WindowOutcome& outcome) {
        const std::lock_guard lock(mutex_);
        if (outcomes_.size() < kMostKept) outcomes_.emplace(key, outcome);
    }

  private:
    mutable std::mutex mutex_;
    std::unordered_map<std::uint64_t, dynamics::WindowOutcome> outcomes_;
};

/// What one question of a search leaves for the next.
struct SearchHints {
    std::optional<PlantRun> suspect;  // what slipped last is tried first ...
    int suspect_motor = -1;           // ... by this motor: the spread of another is another
    WindowMemo* memo = nullptr;       // none: nothing is kept
};

}  // namespace stepper_sim::run
