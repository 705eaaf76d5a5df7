#include "stepper_sim/capture/capture_order.hpp"

#include <algorithm>
#include <cstdlib>

namespace stepper_sim::capture {
namespace {

constexpr std::size_t kMostLeftOut = 8, kRun = 12;
constexpr std::size_t kFewLeftOut = 2, kStepsToOneLeftOut = 100;
constexpr std::int64_t kSlack_steps = 8;
constexpr std::size_t kPlaces = 512, kPlacesToOneAstray = 20;

using Plan = std::vector<PlannedPulse>;
using Seen = std::vector<CapturedPulse>;

bool runs_on(const Plan& plan, std::size_t i, const Seen& seen, std::size_t j) {
    for (std::size_t k = 0; k < kRun; ++k) {
        if (i + k >= plan.size() || j + k >= seen.size()) return k > 0;
        if (plan[i + k].direction != seen[j + k].direction) return false;
    }
    return true;
}

/// Leaves out what parts the two; false where nothing does.
bool resume(const Plan& plan, std::size_t& i, const Seen& seen, std::size_t& j) {
    for (std::size_t out = 1; out <= kMostLeftOut; ++out)
        for (std::size_t planned = 0; planned <= out; ++planned)
            if (runs_on(plan, i + planned, seen, j + out - planned)) {
                i += planned;
                j += out - planned;
                return true;
            }
    return false;
}

/// Appends the motor's steps; false where they go other ways.
bool pair_up(std::size_t motor, const Plan& plan, const Seen& seen,
             std::vector<OrderedStep>& steps) {
    std::size_t left_out = 0, i = 0, j = 0;
    while (i < plan.size() && j < seen.size()) {
        if (plan[i].direction == seen[j].direction) {
            steps.push_back({motor, i++, seen[j++].time_ps});
            continue;
        }
        const std::size_t before = i + j;
        if (!resume(plan, i, seen, j)) return false;
        left_out += i + j - before;
    }
    left_out += seen.size() - j;  // the plan has no more
    return left_out <= kFewLeftOut + seen.size() / kStepsToOneLeftOut;
}

/// Steps of a motor until a time.
template <class Steps>
std::int64_t count_before(const Steps& steps, std::int64_t time_ps) {
    const auto place = std::partition_point(
        steps.begin(), steps.end(), [&](const auto& step) { return step.time_ps < time_ps; });
    return place - steps.begin();
}

}  // namespace

std::optional<std::vector<OrderedStep>> in_same_order(const PlannedSteps& plan,
                                                      const SeenSteps& seen,
                                                      const std::vector<std::size_t>& motors) {
    std::vector<OrderedStep> steps;
    std::size_t left_out = 0;
    for (const std::size_t motor : motors) {
        const std::size_t before = steps.size();
        if (!pair_up(motor, plan[motor], seen[motor], steps)) return std::nullopt;
        left_out += seen[motor].size() - (steps.size() - before);
    }
    std::stable_sort(steps.begin(), steps.end(), [](const OrderedStep& a, const OrderedStep& b) {
        return a.seen_ps < b.seen_ps;
    });
    const std::size_t apart = std::max<std::size_t>(steps.size() / kPlaces, 1);
    const auto slack = kSlack_steps + static_cast<std::int64_t>(left_out);
    std::size_t places = 0, astray = 0;
    for (std::size_t k = 0; k < steps.size(); k += apart) {
        const OrderedStep& step = steps[k];
        const std::int64_t planned_ps = plan[step.motor][step.planned].time_ps;
        const bool stands = std::all_of(motors.begin(), motors.end(), [&](std::size_t other) {
            return std::abs(count_before(seen[other], step.seen_ps) -
                            count_before(plan[other], planned_ps)) <= slack;
        });
        ++places;
        astray += stands ? 0U : 1U;
    }
    if (astray * kPlacesToOneAstray > places) return std::nullopt;
    return steps;
}

}  // namespace stepper_sim::capture
