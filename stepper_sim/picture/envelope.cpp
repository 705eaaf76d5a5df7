#include "stepper_sim/picture/envelope.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stepper_sim::picture {

namespace {

constexpr double kNothing = std::numeric_limits<double>::infinity();

}  // namespace

void EnvelopeBuilder::halve() {
    const std::size_t half = (least_.size() + 1) / 2;
    for (std::size_t i = 0; i < half; ++i) {
        const std::size_t second = std::min(2 * i + 1, least_.size() - 1);
        // A stretch in which nothing was added is one at 0, unless both were empty.
        const bool gap = (least_[2 * i] == kNothing) != (least_[second] == kNothing);
        least_[i] = std::min(least_[2 * i], least_[second]);
        greatest_[i] = std::max(greatest_[2 * i], greatest_[second]);
        if (gap) note(i, 0.0);
    }
    least_.resize(half);
    greatest_.resize(half);
    stretch_s_ *= 2.0;
}

void EnvelopeBuilder::note(std::size_t stretch, double value) {
    least_[stretch] = std::min(least_[stretch], value);
    greatest_[stretch] = std::max(greatest_[stretch], value);
}

void EnvelopeBuilder::add(double begin_s, double end_s, double from, double to) {
    while (!(end_s < stretch_s_ * static_cast<double>(kMostStretches)))
        halve();
    const auto first = static_cast<std::size_t>(std::max(0.0, begin_s) / stretch_s_);
    const auto last = std::max(first, static_cast<std::size_t>(end_s / stretch_s_));
    if (least_.size() <= last) {
        least_.resize(last + 1, kNothing);
        greatest_.resize(last + 1, -kNothing);
    }
    const double span_s = end_s - begin_s;
    const auto value_at = [&](double time_s) {
        const double share = span_s > 0.0 ? std::clamp((time_s - begin_s) / span_s, 0.0, 1.0) : 0.0;
        return from + (to - from) * share;
    };
    for (std::size_t i = first; i <= last; ++i) {
        note(i, value_at(static_cast<double>(i) * stretch_s_));
        note(i, value_at(static_cast<double>(i + 1) * stretch_s_));
    }
}

Envelope EnvelopeBuilder::finish(double end_s) {
    while (!(end_s < stretch_s_ * static_cast<double>(kMostStretches)))
        halve();
    const auto count = static_cast<std::size_t>(std::max(0.0, end_s) / stretch_s_) + 1;
    least_.resize(count, kNothing);
    greatest_.resize(count, -kNothing);
    for (std::size_t i = 0; i < count; ++i)
        if (least_[i] == kNothing) note(i, 0.0);
    return {stretch_s_, std::move(least_), std::move(greatest_)};
}

}  // namespace stepper_sim::picture
