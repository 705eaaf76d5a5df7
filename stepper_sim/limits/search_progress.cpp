#include "stepper_sim/limits/search_progress.hpp"

#include <cmath>
#include <numeric>

namespace stepper_sim::limits {

namespace {

// Of each stage: its time, and what a program adds to it, over the time of one group alone; its questions.
struct Usual {
    double time_of_group, time_of_program, questions_of_group, questions;
};
constexpr std::array<Usual, kSearchStages> kUsual{
    {{1.0, 0.0, 22.0, 0.0}, {0.1, 2.5, 0.0, 4.0}, {0.3, 4.0, 6.0, 0.0}, {0.2, 0.8, 0.0, 2.0}}};
constexpr double kStraight = 0.8;

double slowed(double x) {
    if (x <= kStraight) return x;
    const double rest = 1.0 - kStraight;
    return 1.0 - rest * std::exp(-(x - kStraight) / rest);
}

}  // namespace

SearchProgress::SearchProgress(LimitsProgress show, std::size_t groups, std::size_t programs)
    : show_(std::move(show)) {
    const auto g = static_cast<double>(groups), p = static_cast<double>(programs);
    for (std::size_t s = 0; s < kSearchStages; ++s) {
        weight_[s] = kUsual[s].time_of_group * g + kUsual[s].time_of_program * p;
        usual_[s] = kUsual[s].questions_of_group * g + kUsual[s].questions;
    }
    const double sum = std::accumulate(weight_.begin(), weight_.end(), 0.0);
    for (double& weight : weight_)
        weight /= sum;
}

double SearchProgress::share() const {
    return over_ + weight_[stage_] * slowed(asked_ / usual_[stage_]);
}

void SearchProgress::begin(SearchStage stage) {
    const std::lock_guard lock(mutex_);
    for (; stage_ < static_cast<std::size_t>(stage); ++stage_)
        over_ += weight_[stage_];
    asked_ = 0.0;
    if (show_) show_(share());
}

void SearchProgress::asked() {
    const std::lock_guard lock(mutex_);
    ++asked_;
    if (show_) show_(share());
}

void SearchProgress::done() {
    if (show_) show_(1.0);
}

}  // namespace stepper_sim::limits
