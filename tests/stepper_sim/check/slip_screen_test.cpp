// The screen of all motors against each motor screened alone, edge by edge.
#include "stepper_sim/check/slip_screen.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "samples.hpp"
#include "stepper_sim/check/plan_file.hpp"
#include "stepper_sim/dynamics/band_edge.hpp"
#include "stepper_sim/dynamics/screen_move.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

Machine hurried() {
    return shipped("tray-printer-hurried");
}

TEST(PassRatio, IsLaxerForAGoodSineRegulator) {
    Axis axis;
    axis.driver.regulator = Regulator::sine;
    EXPECT_EQ(pass_ratio(axis), kSineRegulatorPass);
    axis.driver.regulator = Regulator::chopper;
    EXPECT_EQ(pass_ratio(axis), kAnyRegulatorPass);
}

TEST(SlipScreen, KeepsTheLargerRatioOfBothEdgesOfEveryMoveAndTheLargestRinging) {
    const Machine machine = hurried();
    const MotorModels models = motor_models(machine);
    const auto moves = moves_of(machine, kConfigs / "programs" / "wedge-marker.gcode");
    SlipScreen screen(machine, models), quick(machine, models);
    std::vector<MoveRatio> ratios(moves.size());
    screen.push(moves, ratios);
    quick.push(moves);
    const auto results = screen.finish();
    const auto quick_results = quick.finish();

    std::vector<double> most(moves.size(), 0.0);
    int low_decides = 0, high_decides = 0;
    for (std::size_t m = 0; m < machine.axes.size(); ++m) {
        const int slot = static_cast<int>(m);
        const double rad_per_m = 1.0 / models.loads.motors[m].radius_m;
        ModalScreen low = motor_screen(machine, models, slot, BandEdge::low, Ringing::measured);
        ModalScreen high = motor_screen(machine, models, slot, BandEdge::high, Ringing::left_out);
        double peak = 0.0, ringing_m = 0.0;
        for (std::size_t i = 0; i < moves.size(); ++i) {
            const MoveScreen at_low = screen_move(low, moves[i], slot, rad_per_m);
            const MoveScreen at_high = screen_move(high, moves[i], slot, rad_per_m);
            ++(at_low.ratio > at_high.ratio ? low_decides : high_decides);
            const double ratio = std::max(at_low.ratio, at_high.ratio);
            peak = std::max(peak, ratio);
            most[i] = std::max(most[i], ratio);
            ringing_m = std::max({ringing_m, at_low.ringing_m, at_low.corner_ringing_m});
        }
        EXPECT_EQ(results[m].worst.ratio_peak, peak) << m;
        EXPECT_EQ(results[m].worst.ringing_m, ringing_m) << m;
        // Without the ratio of every move asked for it may stop short of what changes nothing.
        EXPECT_EQ(quick_results[m].worst.ratio_peak, peak) << m;
        ASSERT_EQ(quick_results[m].windows.size(), results[m].windows.size()) << m;
        for (std::size_t w = 0; w < results[m].windows.size(); ++w) {
            EXPECT_EQ(quick_results[m].windows[w].ratio, results[m].windows[w].ratio) << m;
            EXPECT_EQ(quick_results[m].windows[w].end_s, results[m].windows[w].end_s) << m;
        }
    }
    for (std::size_t i = 0; i < moves.size(); ++i)
        EXPECT_EQ(ratios[i].ratio, most[i]) << i;
    EXPECT_GT(low_decides, 0);
    EXPECT_GT(high_decides, 0);
}

}  // namespace
