#include "stepper_sim/run/window_memo.hpp"

#include <gtest/gtest.h>

#include <functional>
#include <vector>

namespace stepper_sim::run {
namespace {

constexpr double kWithin_s = 1e-9, kBeyond_s = 3e-8;  // of the 10 ns that pulses are told apart by

/// One axis, ten pulses of 1 kHz.
struct Sample {
    dynamics::AxisDynamics axis;
    std::vector<dynamics::StepEdge> edges;
    dynamics::WindowRun run;

    Sample() {
        for (int i = 0; i < 10; ++i)
            edges.push_back({1e-3 * (i + 0.5), 1});
        axis.stiffness_Nm_rad = 10.0;
        run.duration_s = 0.02;
        run.start_rate_rad_s = 1.0;
        run.top_rate_rad_s = 31.0;
    }
    std::uint64_t key() {
        run.axis = &axis;
        run.edges = edges;
        return WindowMemo::key({&run, 1});
    }
};

std::uint64_t key_with(const std::function<void(Sample&)>& change) {
    Sample sample;
    change(sample);
    return sample.key();
}

TEST(WindowMemo, TheSameMotionIsTheSameWhateverItsRounding) {
    EXPECT_EQ(key_with([](Sample& s) { s.edges[3].time_s += kWithin_s; }), Sample().key());
    EXPECT_EQ(key_with([](Sample& s) { s.run.start_rate_rad_s += 1e-12; }), Sample().key());
}

TEST(WindowMemo, WhateverChangesTheOutcomeChangesTheKey) {
    using Axis = dynamics::AxisDynamics;
    const std::uint64_t same = Sample().key();
    for (double Axis::*number :
         {&Axis::resistance_ohm, &Axis::inductance_H, &Axis::torque_constant_Nm_A, &Axis::current_A,
          &Axis::supply_V, &Axis::detent_torque_Nm, &Axis::torque_factor,
          &Axis::rotor_inertia_kg_m2, &Axis::load_inertia_kg_m2, &Axis::stiffness_Nm_rad,
          &Axis::coupling_damping_Nms_rad, &Axis::rotor_viscous_Nms_rad,
          &Axis::load_viscous_Nms_rad, &Axis::coulomb_Nm, &Axis::gravity_Nm, &Axis::metres_per_rad})
        EXPECT_NE(key_with([&](Sample& s) { s.axis.*number += 0.25; }), same);
    const std::function<void(Sample&)> changes[] = {
        [](Sample& s) { s.axis.rotor_teeth = 100; },
        [](Sample& s) { s.axis.microsteps = 8; },
        [](Sample& s) { s.edges[3].time_s += kBeyond_s; },
        [](Sample& s) { s.edges[3].microsteps = -1; },
        [](Sample& s) { s.edges.pop_back(); },
        [](Sample& s) { s.run.duration_s += kBeyond_s; },
        [](Sample& s) { s.run.start_rate_rad_s = 2.0; },
        [](Sample& s) { s.run.top_rate_rad_s = 30.0; },
        [](Sample& s) { s.run.viscous_factor = 3.0; },
        [](Sample& s) { s.run.regulator = dynamics::CurrentRegulator::mixed_decay; },
        [](Sample& s) { s.run.until_lost = true; },
    };
    for (const auto& change : changes)
        EXPECT_NE(key_with(change), same) << &change - changes;
}

TEST(WindowMemo, TwoMotorsOfOnePlantAreNotOne) {
    Sample first, second;
    first.key();
    second.key();
    const std::vector<dynamics::WindowRun> both{first.run, second.run};
    EXPECT_NE(WindowMemo::key(both), first.key());
}

TEST(WindowMemo, AnOutcomeIsFoundAgain) {
    WindowMemo memo;
    EXPECT_FALSE(memo.find(7));
    dynamics::WindowOutcome outcome;
    outcome.lost_cycles = 3;
    memo.keep(7, outcome);
    ASSERT_TRUE(memo.find(7));
    EXPECT_EQ(memo.find(7)->lost_cycles, 3);
}

TEST(WindowMemo, ItsMemoryIsBounded) {
    WindowMemo memo;
    for (std::uint64_t key = 0; key <= WindowMemo::kMostKept; ++key)
        memo.keep(key, {});
    EXPECT_TRUE(memo.find(WindowMemo::kMostKept - 1));
    EXPECT_FALSE(memo.find(WindowMemo::kMostKept));
}

}  // namespace
}  // namespace stepper_sim::run
