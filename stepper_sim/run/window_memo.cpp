#include "stepper_sim/run/window_memo.hpp"

#include <boost/container_hash/hash.hpp>
#include <cmath>

namespace stepper_sim::run {

namespace {

constexpr double kPulsesTo_s = 1e-8;

void mix(std::size_t& seed, const dynamics::AxisDynamics& axis) {
    // The modes are the screen's. A number that is added belongs in the list below.
    static_assert(sizeof axis ==
                  16 * sizeof(double) + 2 * sizeof(int) + sizeof axis.carriage_modes);
    for (const double number :
         {axis.resistance_ohm, axis.inductance_H, axis.torque_constant_Nm_A, axis.current_A,
          axis.supply_V, axis.detent_torque_Nm, axis.torque_factor, axis.rotor_inertia_kg_m2,
          axis.load_inertia_kg_m2, axis.stiffness_Nm_rad, axis.coupling_damping_Nms_rad,
          axis.rotor_viscous_Nms_rad, axis.load_viscous_Nms_rad, axis.coulomb_Nm, axis.gravity_Nm,
          axis.metres_per_rad})
        boost::hash_combine(seed, number);
    boost::hash_combine(seed, axis.rotor_teeth);
    boost::hash_combine(seed, axis.microsteps);
}

}  // namespace

std::uint64_t WindowMemo::key(std::span<const dynamics::WindowRun> motors) {
    std::size_t seed = 0;
    for (const dynamics::WindowRun& run : motors) {
        mix(seed, *run.axis);
        for (const dynamics::StepEdge& edge : run.edges) {
            boost::hash_combine(seed, std::llround(edge.time_s / kPulsesTo_s));
            boost::hash_combine(seed, edge.microsteps);
        }
        boost::hash_combine(seed, std::llround(run.duration_s / kPulsesTo_s));
        // In single precision: what is the same in the plan differs by rounding.
        for (const double number : {run.start_rate_rad_s, run.top_rate_rad_s, run.viscous_factor})
            boost::hash_combine(seed, static_cast<float>(number));
        boost::hash_combine(seed, static_cast<int>(run.regulator));
        boost::hash_combine(seed, run.until_lost);
    }
    return seed;
}

}  // namespace stepper_sim::run
