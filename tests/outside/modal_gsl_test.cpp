/// The modal update against GSL's rk8pd on the coupled two-mass equations, phase by phase.
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "motor_reference.hpp"
#include "stepper_sim/dynamics/modal_screen.hpp"

namespace stepper_sim {
namespace {

struct TwoMass {
    dynamics::AxisDynamics axis;
    dynamics::RatePhase phase;
    double direction = 0.0;

    /// y1, y2, y1', y2'.
    static int slope(double t, const double y[], double dy[], void* self) {
        const TwoMass& m = *static_cast<const TwoMass*>(self);
        const dynamics::AxisDynamics& a = m.axis;
        const double km = dynamics::magnetic_stiffness_Nm_rad(a);
        const double kb = a.stiffness_Nm_rad;
        const double cb = a.coupling_damping_Nms_rad;
        const double rate = m.phase.start_rate_rad_s + m.phase.acceleration_rad_s2 * t;
        const double rotor_Nm = a.rotor_inertia_kg_m2 * m.phase.acceleration_rad_s2 +
                                a.rotor_viscous_Nms_rad * (rate - y[2]);
        const double load_Nm = a.load_inertia_kg_m2 * m.phase.acceleration_rad_s2 +
                               a.coulomb_Nm * m.direction + a.gravity_Nm +
                               a.load_viscous_Nms_rad * (rate - y[3]);
        dy[0] = y[2];
        dy[1] = y[3];
        dy[2] = (rotor_Nm - km * y[0] - kb * (y[0] - y[1]) - cb * (y[2] - y[3])) /
                a.rotor_inertia_kg_m2;
        dy[3] = (load_Nm - kb * (y[1] - y[0]) - cb * (y[3] - y[2])) / a.load_inertia_kg_m2;
        return GSL_SUCCESS;
    }
};

TEST(OutsideVibration, ModalUpdateAgreesWithRungeKutta8) {
    // Damping proportional to stiffness, so that the modes are uncoupled exactly: C = 1e-4 s K.
    TwoMass m{reference::smooth_axis(), {}, 0.0};
    const double proportion_s = 1e-4;
    m.axis.rotor_viscous_Nms_rad = proportion_s * dynamics::magnetic_stiffness_Nm_rad(m.axis);
    m.axis.coupling_damping_Nms_rad = proportion_s * m.axis.stiffness_Nm_rad;
    m.axis.load_viscous_Nms_rad = 0.0;
    m.axis.coulomb_Nm = 0.02;
    const double kUpdate = 1e-10;  // of the largest lag

    dynamics::ModalScreen screen(m.axis, dynamics::TorqueTable([](double) { return 0.3; }, 1e4));
    double y[4] = {m.axis.gravity_Nm / dynamics::magnetic_stiffness_Nm_rad(m.axis), 0.0, 0.0, 0.0};
    y[1] = y[0] + m.axis.gravity_Nm / m.axis.stiffness_Nm_rad;
    gsl_odeiv2_system system{TwoMass::slope, nullptr, 4, &m};
    gsl_odeiv2_driver* driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-5, 1e-15, 1e-13);

    std::mt19937 random(1);
    double rate = 0.0;
    double largest = 0.0;
    double difference = 0.0;
    for (int i = 0; i < 40; ++i) {
        const double jump = static_cast<double>(random() % 7U) - 3.0;
        const double target = 10.0 + static_cast<double>(random() % 40U);  // stays forward
        m.phase.start_rate_rad_s = std::max(rate + jump, 1.0);
        m.phase.duration_s = 1e-3 * static_cast<double>(1U + random() % 30U);
        m.phase.acceleration_rad_s2 = (target - m.phase.start_rate_rad_s) / m.phase.duration_s;
        m.direction = 1.0;
        y[2] += m.phase.start_rate_rad_s - rate;
        y[3] += m.phase.start_rate_rad_s - rate;
        gsl_odeiv2_driver_reset_hstart(driver, 1e-5);
        double t = 0.0;
        ASSERT_EQ(gsl_odeiv2_driver_apply(driver, &t, m.phase.duration_s, y), GSL_SUCCESS);
        screen.phase(m.phase);
        rate = m.phase.end_rate_rad_s();
        largest = std::max({largest, std::fabs(y[0]), std::fabs(y[1])});
        difference = std::max({difference, std::fabs(y[0] - screen.rotor_lag_rad()),
                               std::fabs(y[1] - screen.load_lag_rad())});
    }
    gsl_odeiv2_driver_free(driver);
    EXPECT_GT(largest, 0.001);
    EXPECT_LT(difference / largest, kUpdate);
}

}  // namespace
}  // namespace stepper_sim
