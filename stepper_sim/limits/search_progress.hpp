/// How far a search for limits is, by the questions that its stages have asked of those that they usually ask.
/// Model:   a stage takes its share of the whole; programs make the stages longer in which all axes are judged together
/// Formula: share = (sum of w of stages that are over + w f(asked/usual))/(sum of w); f(x) = x up to 0.8, then 1 - 0.2 e^(-(x - 0.8)/0.2)
/// Symbols: w = usual time of a stage over that of one group of axes alone
/// Valid:   a stage that asks more than usual never ends: it slows down
/// Source:  Guess: times and questions of the shipped machines, with and without a program
/// Checked by: SearchProgress.NeverGoesBackNorBeyondOne, SearchProgress.ProgramsMakeTheLaterStagesLonger
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <mutex>

#include "stepper_sim/run/window_memo.hpp"

namespace stepper_sim::limits {

enum class SearchStage : std::uint8_t { alone, settling, raising, with_margin };
inline constexpr std::size_t kSearchStages = 4;

/// Called now and then, from any thread, with the share done, 0 to 1.
using LimitsProgress = std::function<void(double)>;

class SearchProgress {
  public:
    SearchProgress(LimitsProgress show, std::size_t groups, std::size_t programs);

    /// Stages come in order; any thread may ask.
    void begin(SearchStage stage);
    void asked();
    void done();

  private:
    double share() const;

    LimitsProgress show_;
    std::array<double, kSearchStages> weight_{}, usual_{};
    std::mutex mutex_;
    std::size_t stage_ = 0;
    double asked_ = 0.0, over_ = 0.0;
};

/// What all parts of one search share; both may be used from any thread.
struct SearchShared {
    run::WindowMemo memo;
    SearchProgress progress;
};

}  // namespace stepper_sim::limits
