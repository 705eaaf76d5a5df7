#include "planner/kinematics/kinematics.hpp"

#include <gtest/gtest.h>

#include <random>

namespace planner {
namespace {

TEST(Kinematics, CartesianMotorsFollowTheirAxes) {
    const AxisArray tool{0.1, -0.2, 0.3, 0.4};
    EXPECT_EQ(to_motors(Kinematics::cartesian, AxisSet("XYZE"), tool), tool);
}

TEST(Kinematics, CrossedBeltMovesBothMotorsForOneAxis) {
    const AxisSet axes("XYZE");
    EXPECT_EQ(to_motors(Kinematics::crossed_belt, axes, {0.25}), (AxisArray{0.25, 0.25}));
    EXPECT_EQ(to_motors(Kinematics::crossed_belt, axes, {0.0, 0.25}), (AxisArray{0.25, -0.25}));
}

TEST(Kinematics, CrossedBeltDiagonalRestsOneMotor) {
    const AxisSet axes("XYZ");
    EXPECT_EQ(to_motors(Kinematics::crossed_belt, axes, {0.25, 0.25, 0.5}),
              (AxisArray{0.5, 0.0, 0.5}));
    EXPECT_EQ(to_motors(Kinematics::crossed_belt, axes, {0.25, -0.25, 0.5}),
              (AxisArray{0.0, 0.5, 0.5}));
}

TEST(Kinematics, CrossedBeltTouchesOnlyTheSlotsOfXAndY) {
    // An unusual set: X and Y are not alone in front.
    const AxisSet axes("XYABE");
    const AxisArray tool{1.0, 2.0, 3.0, 4.0, 5.0};
    EXPECT_EQ(to_motors(Kinematics::crossed_belt, axes, tool),
              (AxisArray{3.0, -1.0, 3.0, 4.0, 5.0}));
}

TEST(Kinematics, CrossedBeltWithoutYIsCartesian) {
    const AxisArray tool{1.0, 2.0};
    EXPECT_EQ(to_motors(Kinematics::crossed_belt, AxisSet("XZ"), tool), tool);
}

// Half the sum and half the difference of the two belts are where the tool is (geometry of the crossed belt).
TEST(Kinematics, MotorsTellWhereTheToolIs) {
    std::mt19937 engine(41);
    std::uniform_real_distribution<double> position_m(-1.0, 1.0);
    for (int n = 0; n < 1000; ++n) {
        const AxisArray tool{position_m(engine), position_m(engine), position_m(engine)};
        const AxisArray motors = to_motors(Kinematics::crossed_belt, AxisSet("XYZE"), tool);
        constexpr double kRounding_m = 4e-16;  // a sum below 2 m, halved
        ASSERT_NEAR(0.5 * (motors[0] + motors[1]), tool[0], kRounding_m);
        ASSERT_NEAR(0.5 * (motors[0] - motors[1]), tool[1], kRounding_m);
        ASSERT_EQ(motors[2], tool[2]);
    }
}

TEST(Kinematics, TheMatrixHoldsARowForEachMotor) {
    const MotorMatrix crossed = motor_matrix(Kinematics::crossed_belt, AxisSet("XYZ"));
    EXPECT_EQ(crossed[0], (AxisArray{1.0, 1.0, 0.0}));
    EXPECT_EQ(crossed[1], (AxisArray{1.0, -1.0, 0.0}));
    EXPECT_EQ(crossed[2], (AxisArray{0.0, 0.0, 1.0}));
    EXPECT_EQ(motor_matrix(Kinematics::cartesian, AxisSet("XY"))[1], (AxisArray{0.0, 1.0}));
}

TEST(Kinematics, AxesThatShareTheirMotorsAreOneGroupTheForwardOneFirst) {
    using Groups = std::vector<std::vector<std::size_t>>;
    EXPECT_EQ(motor_groups(Kinematics::crossed_belt, AxisSet("XYZE")), (Groups{{0, 1}, {2}, {3}}));
    EXPECT_EQ(motor_groups(Kinematics::cartesian, AxisSet("XYZ")), (Groups{{0}, {1}, {2}}));
    EXPECT_EQ(motor_groups(Kinematics::crossed_belt, AxisSet("XZ")), (Groups{{0}, {1}}));
    EXPECT_EQ(motor_group(Kinematics::crossed_belt, AxisSet("XYZ"), 1),
              (std::vector<std::size_t>{0, 1}));
    EXPECT_TRUE(shares_motors(Kinematics::crossed_belt, AxisSet("XY")));
    EXPECT_FALSE(shares_motors(Kinematics::crossed_belt, AxisSet("XZ")));
}

}  // namespace
}  // namespace planner
