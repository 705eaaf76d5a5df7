/// Trapezoids against the velocity profiles of the robotics library KDL (Orocos Kinematics and
/// Dynamics Library 1.5, kdl/velocityprofile_trap.hpp and kdl/velocityprofile_traphalf.hpp), the
/// installed library itself as the reference. It knows rest-to-rest moves and moves with rest at
/// one end; there is nothing in it for speeds at both ends.
#include <gtest/gtest.h>

#include <kdl/velocityprofile_trap.hpp>
#include <kdl/velocityprofile_traphalf.hpp>
#include <random>

#include "planner/lookahead/lookahead.hpp"
#include "planner/profile/motion.hpp"
#include "planner/profile/trapezoid.hpp"

namespace planner {
namespace {

// The library expands its polynomials in absolute time, which costs it some 1e-10 mm on moves like
// these (measured).
constexpr double kPosition_m = 1e-11;  // 1e-8 mm
constexpr double kSpeed = 1e-10;       // of the top speed
constexpr double kDuration = 1e-14;    // relative

struct Limits {
    double length_m, speed_m_s, acceleration_m_s2;
};

Limits random_limits(std::mt19937& engine) {
    const auto scaled = [&](double low, double high) {
        return std::exp(
            std::uniform_real_distribution<double>(std::log(low), std::log(high))(engine));
    };
    return {scaled(1e-5, 0.5), scaled(0.005, 0.5), scaled(0.05, 20.0)};
}

void expect_same_motion(const Profile& ours, const KDL::VelocityProfile& theirs, double speed_m_s) {
    ASSERT_NEAR(ours.duration_s, theirs.Duration(), kDuration * theirs.Duration());
    ASSERT_NEAR(distance_at(ours, ours.duration_s), theirs.Pos(theirs.Duration()), kPosition_m);
    constexpr int kSamples = 40;  // none at the very ends: beyond them the library stands still
    for (int k = 0; k < kSamples; ++k) {
        const double t = theirs.Duration() * (k + 0.5) / kSamples;
        ASSERT_NEAR(distance_at(ours, t), theirs.Pos(t), kPosition_m) << "at " << t << " s";
        ASSERT_NEAR(speed_at(ours, t), theirs.Vel(t), kSpeed * speed_m_s) << "at " << t << " s";
    }
}

TEST(ProfileAgainstKdl, RestToRestMovesAreTheSameMotion) {
    std::mt19937 engine(51);
    int triangles = 0;
    for (int n = 0; n < 5000; ++n) {
        const auto [length_m, speed_m_s, acceleration_m_s2] = random_limits(engine);
        KDL::VelocityProfile_Trap theirs(speed_m_s, acceleration_m_s2);
        theirs.SetProfile(0.0, length_m);
        const Profile ours = trapezoid(length_m, 0.0, speed_m_s, 0.0, acceleration_m_s2);
        triangles += ours.count == 2 ? 1 : 0;
        expect_same_motion(ours, theirs, speed_m_s);
    }
    EXPECT_GT(triangles, 100) << "the sample should hold moves too short for their top speed";
}

TEST(ProfileAgainstKdl, MovesThatStartAtRestAndEndMovingAreTheSameMotion) {
    std::mt19937 engine(52);
    for (int n = 0; n < 5000; ++n) {
        const auto [length_m, speed_m_s, acceleration_m_s2] = random_limits(engine);
        KDL::VelocityProfile_TrapHalf theirs(speed_m_s, acceleration_m_s2, true);
        theirs.SetProfile(0.0, length_m);
        const double exit_m_s = std::min(speed_m_s, std::sqrt(2.0 * acceleration_m_s2 * length_m));
        expect_same_motion(trapezoid(length_m, 0.0, speed_m_s, exit_m_s, acceleration_m_s2), theirs,
                           speed_m_s);
    }
}

TEST(ProfileAgainstKdl, MovesThatStartMovingAndEndAtRestAreTheSameMotion) {
    std::mt19937 engine(53);
    for (int n = 0; n < 5000; ++n) {
        const auto [length_m, speed_m_s, acceleration_m_s2] = random_limits(engine);
        KDL::VelocityProfile_TrapHalf theirs(speed_m_s, acceleration_m_s2, false);
        theirs.SetProfile(0.0, length_m);
        const double entry_m_s = std::min(speed_m_s, std::sqrt(2.0 * acceleration_m_s2 * length_m));
        expect_same_motion(trapezoid(length_m, entry_m_s, speed_m_s, 0.0, acceleration_m_s2),
                           theirs, speed_m_s);
    }
}

TEST(ProfileAgainstKdl, LineCutIntoPlannedMovesIsTheMotionOfTheWholeLine) {
    // The look-ahead must find at every cut the speed the whole trapezoid has there.
    std::mt19937 engine(54);
    for (int n = 0; n < 300; ++n) {
        const auto [length_m, speed_m_s, acceleration_m_s2] = random_limits(engine);
        KDL::VelocityProfile_Trap theirs(speed_m_s, acceleration_m_s2);
        theirs.SetProfile(0.0, length_m);

        PlanLimits limits;
        limits.axis_count = 1;
        limits.max_speed_m_s[0] = speed_m_s;
        limits.max_acceleration_m_s2[0] = acceleration_m_s2;
        limits.speed_step_m_s[0] = 0.001;
        const int cuts = std::uniform_int_distribution<int>(1, 60)(engine);
        std::vector<Move> moves(static_cast<std::size_t>(cuts) + 1);
        double at_m = 0.0;
        for (std::size_t k = 0; k < moves.size(); ++k) {
            moves[k].start_m[0] = at_m;
            at_m = length_m * static_cast<double>(k + 1) / static_cast<double>(moves.size());
            moves[k].end_m[0] = at_m;
            moves[k].length_m = moves[k].end_m[0] - moves[k].start_m[0];
            moves[k].feed_m_s = speed_m_s;
        }
        LookAhead look_ahead(limits);
        std::vector<PlannedMove> planned;
        look_ahead.push(moves, planned);
        look_ahead.finish(planned);

        double time_s = 0.0;
        for (const PlannedMove& each : planned) {
            const Profile ours =
                trapezoid(each.move.length_m, each.entry_speed_m_s, each.nominal_speed_m_s,
                          each.exit_speed_m_s, each.acceleration_m_s2);
            constexpr int kSamples = 4;
            for (int k = 0; k < kSamples; ++k) {
                const double t = ours.duration_s * k / kSamples;
                ASSERT_NEAR(each.move.start_m[0] + distance_at(ours, t), theirs.Pos(time_s + t),
                            kPosition_m);
            }
            time_s += ours.duration_s;
        }
        constexpr double kWholePhase = 1e-9;  // trapezoid.hpp, Valid
        ASSERT_NEAR(time_s, theirs.Duration(), kWholePhase * theirs.Duration());
    }
}

}  // namespace
}  // namespace planner
