// The screen of all motors against each motor screened alone, edge by edge.
#include "stepper_sim/run/slip_screen.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "stepper_sim/dynamics/band_edge.hpp"
#include "stepper_sim/dynamics/screen_move.hpp"
#include "stepper_sim/run/plan_file.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

machine::Machine hurried() {
    return shipped("tray-printer-hurried");
}

/// The exact screen of one variant, without friction, over the low torque.
dynamics::ModalScreen exact(const machine::Machine& machine, const run::MotorModels& models,
                            int slot) {
    const auto s = static_cast<std::size_t>(slot);
    const motor::AvailableTorque& available = models.available[s];
    return {dynamics::axis_dynamics(machine, models.loads, available, slot,
                                    dynamics::BandEdge::nominal),
            dynamics::TorqueTable([&](double rate_rad_s) { return available.low_Nm(rate_rad_s); },
                                  1.01 * run::top_travel_m_s(machine, models.loads, s) /
                                      models.loads.motors[s].radius_m)};
}

// Without friction both are linear: the bank adds up what the exact screen meets at its worst moment. It takes amplitudes within 3 %.
TEST(SlipScreen, IsNotBelowTheExactScreenOfTheNominalMachine) {
    constexpr double kAmplitude = 0.03;
    machine::Machine machine = hurried();
    for (machine::Axis& axis : machine.axes)
        axis.load.friction *= 0.0;
    const run::MotorModels models = run::motor_models(machine);
    const auto moves = moves_of(machine, kConfigs / "programs" / "wedge-marker.gcode");
    run::SlipScreen screen(machine, models, 0.0);
    std::vector<run::MoveRatio> ratios(moves.size());
    screen.push(moves, ratios);
    std::vector<double> most(moves.size(), 0.0);
    for (int slot = 0; slot < static_cast<int>(machine.axes.size()); ++slot) {
        dynamics::ModalScreen one = exact(machine, models, slot);
        for (std::size_t i = 0; i < moves.size(); ++i)
            most[i] = std::max(
                most[i],
                dynamics::screen_move(one, moves[i], slot, dynamics::rad_per_m(models.loads, slot))
                    .ratio);
    }
    for (std::size_t i = 0; i < moves.size(); ++i)
        EXPECT_GE(ratios[i].ratio, (1.0 - kAmplitude) * most[i]) << "line " << moves[i].line;
}

// Dry friction wears a swing down: more of it must not make the tool swing more, as it did when it took the sign of the command.
TEST(SlipScreen, MoreFrictionDoesNotRingMore) {
    const auto ringing_m = [](double friction) {
        machine::Machine machine = hurried();
        machine.axes[1].load.friction *= friction;
        const run::MotorModels models = run::motor_models(machine);
        run::SlipScreen screen(machine, models, 0.2);
        screen.push(moves_of(machine, kConfigs / "programs" / "wedge-marker.gcode"));
        return screen.finish()[1].worst.ringing_m;
    };
    const double light_m = ringing_m(0.5), given_m = ringing_m(1.0), heavy_m = ringing_m(2.0);
    EXPECT_GT(light_m, given_m);
    EXPECT_GT(given_m, heavy_m);
}

// At one and two microsteps a single step is most of what the motor can hold.
TEST(SlipScreen, FullStepsAreSuspiciousAtAnySpeed) {
    machine::Machine machine = shipped("tray-printer");
    for (machine::Axis& axis : machine.axes) {
        axis.settings.steps_per_mm /= axis.microsteps;
        axis.microsteps = 1;
    }
    const TextFile file("G21 G90\nG1 X50 F1200\nG4 P1\nG1 X0 F600\n");
    run::SlipScreen screen(machine, run::motor_models(machine), 0.2);
    screen.push(moves_of(machine, file.path()));
    const auto results = screen.finish();
    EXPECT_GE(results[0].worst.suspicious, 1U);
    EXPECT_EQ(results[1].worst.suspicious, 0U);
}

TEST(SlipScreen, CrossedBeltsAreOnePlantAndOtherAxesTheirOwn) {
    const auto plants = run::plants_of(shipped("insert-printer"));
    ASSERT_EQ(plants.size(), 3U);
    EXPECT_EQ(plants[0], (std::vector<std::size_t>{0, 1}));
    EXPECT_EQ(plants[1], std::vector<std::size_t>{2});
}

}  // namespace
