#include "planner/units/rotary.hpp"

#include <gtest/gtest.h>

#include <type_traits>

namespace planner {
namespace {

// Values chosen so that every product and quotient is exact in binary.
constexpr Length kRadius = from_si<Length>(0.25);

TEST(Rotary, TorqueIsForceTimesArm) {
    EXPECT_EQ(to_si(torque_from(from_si<Force>(8.0), kRadius)), 2.0);
}

TEST(Rotary, ForceIsTorqueOverArm) {
    EXPECT_EQ(to_si(force_from(from_si<Torque>(2.0), kRadius)), 8.0);
}

TEST(Rotary, BeltSpeedIsShaftSpeedTimesRadius) {
    EXPECT_EQ(to_si(speed_from(from_si<AngularSpeed>(6.0), kRadius)), 1.5);
}

TEST(Rotary, ShaftSpeedIsBeltSpeedOverRadius) {
    EXPECT_EQ(to_si(rate_from(from_si<Speed>(1.5), kRadius)), 6.0);
}

TEST(Rotary, PowerIsTheSameOnBothSides) {
    const Force force = from_si<Force>(12.0);
    const AngularSpeed rate = from_si<AngularSpeed>(32.0);
    const double belt_W = to_si(force) * to_si(speed_from(rate, kRadius));
    const double shaft_W = to_si(torque_from(force, kRadius)) * to_si(rate);
    EXPECT_EQ(belt_W, shaft_W);
}

template <class A, class B>
concept Addable = requires(A a, B b) {
    a + b;
};

// Quantities do not mix with each other nor with bare numbers.
static_assert(!std::is_constructible_v<Length, double>);
static_assert(!std::is_convertible_v<Length, double>);
static_assert(!std::is_convertible_v<Time, Length>);
static_assert(!std::is_convertible_v<Inertia, Torque>);
static_assert(!std::is_invocable_v<decltype(torque_from), Length, Force>);
static_assert(!std::is_invocable_v<decltype(speed_from), Frequency, Length>);
static_assert(Addable<Length, Length>);

}  // namespace
}  // namespace planner
