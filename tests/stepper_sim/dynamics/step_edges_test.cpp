#include "stepper_sim/dynamics/step_edges.hpp"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <cstdlib>

namespace stepper_sim::dynamics {
namespace {

constexpr double kStep_rad = 0.001;
constexpr double kRoundingSteps = 1e-6;  // a boundary this near to an edge may fall either way

double angle_at(const std::vector<RatePhase>& phases, double time_s) {
    double angle_rad = 0.0;
    for (const RatePhase& phase : phases) {
        const double t = std::fmin(time_s, phase.duration_s);
        angle_rad += phase.start_rate_rad_s * t + 0.5 * phase.acceleration_rad_s2 * t * t;
        time_s -= t;
    }
    return angle_rad;
}

RC_GTEST_PROP(StepEdges, SitHalfwayBetweenMicrostepsInOrder, ()) {
    std::vector<RatePhase> phases;
    double total_s = 0.0;
    const int count = *rc::gen::inRange(1, 6);
    for (int i = 0; i < count; ++i) {
        const double duration_s = 0.001 * *rc::gen::inRange(1, 20);
        phases.push_back(
            {duration_s, 0.1 * *rc::gen::inRange(-100, 101), 10.0 * *rc::gen::inRange(-100, 101)});
        total_s += duration_s;
    }
    const std::vector<StepEdge> edges = ideal_edges(phases, kStep_rad);
    double before_s = 0.0;
    long long sent = 0;
    for (const StepEdge& edge : edges) {
        RC_ASSERT(edge.time_s >= before_s);
        before_s = edge.time_s;
        RC_ASSERT(std::abs(edge.microsteps) == 1);
        const double middle = static_cast<double>(sent) + 0.5 * edge.microsteps;
        sent += edge.microsteps;
        RC_ASSERT(std::fabs(angle_at(phases, edge.time_s) / kStep_rad - middle) < kRoundingSteps);
    }
    const double left = angle_at(phases, total_s) / kStep_rad - static_cast<double>(sent);
    RC_ASSERT(std::fabs(left) <= 0.5 + kRoundingSteps);
}

TEST(StepEdges, SteadySpeedGivesEvenIntervals) {
    const std::vector<RatePhase> cruise{{0.0104, 1.0, 0.0}};
    const std::vector<StepEdge> edges = ideal_edges(cruise, kStep_rad);
    ASSERT_EQ(edges.size(), 10U);
    const double kRounding_s = 1e-15;
    for (std::size_t i = 1; i < edges.size(); ++i)
        EXPECT_NEAR(edges[i].time_s - edges[i - 1].time_s, 0.001, kRounding_s);
}

TEST(StepEdges, NoneWhileAtRest) {
    const std::vector<RatePhase> rest{{1.0, 0.0, 0.0}};
    EXPECT_TRUE(ideal_edges(rest, kStep_rad).empty());
}

}  // namespace
}  // namespace stepper_sim::dynamics
