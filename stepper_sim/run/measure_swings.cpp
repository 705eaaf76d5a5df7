#include "stepper_sim/run/measure_swings.hpp"

#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "stepper_sim/dynamics/machine_axis.hpp"

namespace stepper_sim::run {
namespace {

constexpr double kRightAngle_rad = 0.5 * std::numbers::pi;

/// Share of the torque that holds the rotor at this angle; past the peak it falls, and the angle tells how far past.
double swing_share(double angle_rad) {
    return angle_rad < kRightAngle_rad ? std::sin(angle_rad) : angle_rad / kRightAngle_rad;
}

}  // namespace

void measure_swings(const machine::Machine& machine, const MotorModels& models,
                    std::span<MotorScreen> screens) {
    tbb::parallel_for(std::size_t{0}, screens.size(), [&](std::size_t slot) {
        MotorScreen& screen = screens[slot];
        const dynamics::AxisDynamics axis =
            dynamics::axis_dynamics(machine, models.loads, models.available[slot],
                                    static_cast<int>(slot), dynamics::BandEdge::nominal);
        // Slow steps swing one by one, on top of friction and detent.
        double angle_rad = -1.0;
        bool lost = false;
        for (const dynamics::SwingStretch* stretch : {&screen.swing, &screen.crawl}) {
            if (stretch->phases.empty()) continue;
            const dynamics::MeasuredSwing swing = dynamics::measure_swing(axis, *stretch);
            angle_rad = std::max(angle_rad, swing.load_angle_rad);
            lost = lost || swing.lost;
        }
        if (angle_rad >= 0.0 && !lost) {
            screen.worst.load_angle_rad = angle_rad;
            screen.worst.swing = swing_share(angle_rad);
        }
        if (!screen.ringing.phases.empty()) {
            const dynamics::MeasuredSwing ringing = dynamics::measure_swing(axis, screen.ringing);
            if (!ringing.lost)
                screen.worst.ringing_m = ringing.amplitude_rad * models.loads.motors[slot].radius_m;
        }
    });
}

}  // namespace stepper_sim::run
