// How wide a torque band must be: published curves thinned to a few points, and one measured point, against the points left out.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <functional>

#include "pull_out_data.hpp"
#include "stepper_sim/motor/available_torque.hpp"
#include "stepper_sim/motor/pull_out_curve.hpp"
#include "stepper_sim/motor/running_factor.hpp"

namespace stepper_sim::outside {
namespace {

struct Held {
    std::size_t inside = 0, inside_without_gaps = 0, all = 0;
};

machine::PullOutCurve thinned(const machine::PullOutCurve& curve, const std::vector<bool>& kept) {
    machine::PullOutCurve out = curve;
    out.speeds.clear();
    out.torques.clear();
    for (std::size_t i = 0; i < kept.size(); ++i)
        if (kept[i]) {
            out.speeds.push_back(curve.speeds[i]);
            out.torques.push_back(curve.torques[i]);
        }
    return out;
}

/// Every way to keep both ends and `inner` points between them.
void for_each_choice(std::size_t points, std::size_t inner,
                     const std::function<void(const std::vector<bool>&)>& use) {
    std::vector<bool> middle(points - 2, false);
    std::fill(middle.end() - static_cast<std::ptrdiff_t>(inner), middle.end(), true);
    do {
        std::vector<bool> kept{true};
        kept.insert(kept.end(), middle.begin(), middle.end());
        kept.push_back(true);
        use(kept);
    } while (std::next_permutation(middle.begin(), middle.end()));
}

Held held_when_thinned_to(std::size_t count) {
    Held held;
    for (const machine::MotorPart& motor : curve_motors())
        for (const machine::PullOutCurve& curve : motor.curves) {
            constexpr std::size_t kWorthThinning = 5;
            if (curve.speeds.size() < std::max(count + 1, kWorthThinning)) continue;
            for_each_choice(curve.speeds.size(), count - 2, [&](const std::vector<bool>& kept) {
                const motor::PullOutInterpolant few(thinned(curve, kept));
                for (std::size_t i = 0; i < kept.size(); ++i) {
                    if (kept[i]) continue;
                    const double rate = curve.speeds[i].value();
                    const double off =
                        std::fabs(curve.torques[i].value() / few.torque_Nm(rate) - 1.0);
                    ++held.all;
                    held.inside += off <= std::max(motor::kPublishedSpread, few.gap_spread(rate));
                    held.inside_without_gaps += off <= motor::kPublishedSpread;
                }
            });
        }
    return held;
}

TEST(PullOutInterpolant, ThinnedCurvesHoldWhatIsLeftOut) {
    for (std::size_t count = 2; count <= 6; ++count) {
        const Held held = held_when_thinned_to(count);
        std::printf("%zu points left: %zu of %zu inside, %zu with one width for all\n", count,
                    held.inside, held.all, held.inside_without_gaps);
        EXPECT_GE(held.all, 40U);
        EXPECT_EQ(held.inside, held.all) << count;
        EXPECT_LT(held.inside_without_gaps, held.all) << "no gap matters: " << count;
    }
}

TEST(PullOutInterpolant, ADenseCurveKeepsItsBand) {
    for (const machine::MotorPart& motor : curve_motors())
        for (const machine::PullOutCurve& curve : motor.curves) {
            if (curve.speeds.size() < 12) continue;
            const motor::AvailableTorque torque =
                motor::available_torque(motor, curve.current, curve.supply);
            for (const auto& speed : curve.speeds) {
                const motor::TorqueBand band = torque.at(speed * 1.0);
                if (band.beyond_curve) continue;
                EXPECT_NEAR(band.high / band.nominal, 1.0 + motor::kPublishedSpread, 1e-9);
            }
        }
}

/// Both of one curve; true over predicted, when the level comes from the other.
double share(const CurvePoint& point, const CurvePoint& given) {
    const auto level = [](const CurvePoint& p) {
        return p.torque_Nm /
               (p.rounded_Nm * motor::RunningFactor{1.0, motor::kEmfLoss}.at(p.emf_share));
    };
    return level(point) / level(given);
}

TEST(RunningFactorFit, OneMeasuredPointIsSharpNearItsSpeedOnly) {
    const std::vector<CurvePoint> points = pull_out_points();
    std::size_t near = 0, near_inside = 0, far = 0, far_inside_narrow = 0;
    for (const CurvePoint& given : points)
        for (const CurvePoint& p : points) {
            if (p.curve != given.curve || p.rpm == given.rpm) continue;
            const double ratio = share(p, given);
            const bool narrow =
                motor::kMeasuredNearLow <= ratio && ratio <= motor::kMeasuredNearHigh;
            if (std::fabs(std::log(p.rpm / given.rpm)) <= std::log(motor::kMeasuredNear)) {
                ++near;
                near_inside += narrow;
            } else {
                ++far;
                far_inside_narrow += narrow;
            }
        }
    std::printf("narrow band: %zu of %zu pairs near, %zu of %zu far\n", near_inside, near,
                far_inside_narrow, far);
    EXPECT_GE(near, 50U);
    EXPECT_GE(static_cast<double>(near_inside), 0.95 * static_cast<double>(near));
    EXPECT_LE(static_cast<double>(far_inside_narrow), 0.9 * static_cast<double>(far))
        << "it could be narrow everywhere";
    EXPECT_NEAR(motor::kMeasuredNearHigh / motor::kMeasuredNearLow, 1.4, 0.005);
    EXPECT_NEAR(motor::kMeasuredHigh / motor::kMeasuredLow, 1.9, 0.05);
}

// What the running factor is a level of: at low speed the ideal torque; above, less and less of it, as the header says.
TEST(RunningFactorFit, MeasuredOverIdealIsLessThanTheFactorBySpeed) {
    double least = 1.0, most = 0.0;
    for (const CurvePoint& p : pull_out_points()) {
        constexpr double kModelEnds = 1.5;  // base speeds: voltage_limit.hpp
        if (p.corners > kModelEnds || p.ideal_Nm <= 0.0) continue;
        const double of_factor =
            p.rounded_Nm * motor::RunningFactor{1.0, motor::kEmfLoss}.at(p.emf_share) / p.ideal_Nm;
        least = std::min(least, of_factor);
        most = std::max(most, of_factor);
    }
    std::printf("measured over ideal: %.3f to %.3f of the running factor\n", least, most);
    constexpr double kTwoDigits = 0.005;
    EXPECT_NEAR(least, 0.78, kTwoDigits);
    EXPECT_NEAR(most, 0.99, kTwoDigits);
}

}  // namespace
}  // namespace stepper_sim::outside
