/// The closed forms of the voltage limit against the motor equations integrated in time by the GNU
/// Scientific Library. Source of the equations: two-phase permanent-magnet model in its usual form
/// (for example P. Acarnley, Stepping Motors, ch. 4 and 5, from memory). The bands are those stated
/// in voltage_limit.hpp; the motors' plates are in data/curve_motors.csv.
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <ostream>

#include "pull_out_data.hpp"
#include "stepper_sim/motor/voltage_limit.hpp"

namespace stepper_sim::outside {
namespace {

constexpr double kRegulator_s =
    10e-6;  // the current regulator closes an error in this time, as far as the supply lets it
constexpr double kSettle_s = 0.02;  // rotor held at speed while the currents build up
constexpr double kRise_s = 0.1;     // then the load rises from 0.3 to 0.8 of the expected pull-out
constexpr double kRamp_s = 0.6;     // and slowly from there to 1.3
constexpr double kStep_s =
    50e-6;  // between looks at the load angle; the integrator chooses its own steps inside

/// States: phase currents a and b, lag of the rotor behind the command [electrical rad], its rate
/// [1/s].
struct Ramp {
    motor::MotorConstants motor;
    double voltage_V = 0.0, peak_A = 0.0, rate_rad_s = 0.0, expected_Nm = 0.0;

    double load_Nm(double t) const {
        const double rise = std::clamp((t - kSettle_s) / kRise_s, 0.0, 1.0);
        const double ramp = std::max(0.0, (t - kSettle_s - kRise_s) / kRamp_s);
        return expected_Nm * (0.3 + 0.5 * rise + 0.5 * ramp);
    }
};

int derivatives(double t, const double y[], double dydt[],
                void* context) {  // NOLINT(*-avoid-c-arrays)
    const Ramp& r = *static_cast<const Ramp*>(context);
    const motor::MotorConstants& m = r.motor;
    const double command = m.rotor_teeth * r.rate_rad_s * t;
    const double rotor = command - y[2];
    const double rate = r.rate_rad_s - y[3] / m.rotor_teeth;
    const std::array<double, 2> wanted = {r.peak_A * std::cos(command),
                                          r.peak_A * std::sin(command)};
    const std::array<double, 2> emf = {-m.torque_constant_Nm_A * rate * std::sin(rotor),
                                       m.torque_constant_Nm_A * rate * std::cos(rotor)};
    for (std::size_t i = 0; i < 2; ++i) {
        const double drop = m.resistance_ohm * y[i] + emf[i];
        const double volts = drop + m.inductance_H * (wanted[i] - y[i]) / kRegulator_s;
        dydt[i] = (std::clamp(volts, -r.voltage_V, r.voltage_V) - drop) / m.inductance_H;
    }
    const double torque =
        m.torque_constant_Nm_A * (y[1] * std::cos(rotor) - y[0] * std::sin(rotor));
    // A damper that turns with the command: it takes no torque at steady speed and keeps the
    // mid-frequency instability out of this test.
    const double damping = 2.0 * std::sqrt(m.rotor_teeth * r.expected_Nm * m.rotor_inertia_kg_m2) *
                           y[3] / m.rotor_teeth;
    dydt[2] = y[3];
    dydt[3] = t < kSettle_s
                  ? 0.0
                  : m.rotor_teeth * (r.load_Nm(t) - torque - damping) / m.rotor_inertia_kg_m2;
    return GSL_SUCCESS;
}

/// Load at which the rotor falls out of step; negative where it never held.
double pull_out_Nm(Ramp ramp) {
    gsl_odeiv2_system system{derivatives, nullptr, 4, &ramp};
    gsl_odeiv2_driver* driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-6, 1e-6, 1e-6);
    std::array<double, 4> y = {ramp.peak_A, 0.0, 0.5, 0.0};
    double t = 0.0;
    double slipped_at = -1.0;
    while (t < kSettle_s + kRise_s + kRamp_s && slipped_at < 0.0) {
        if (gsl_odeiv2_driver_apply(driver, &t, t + kStep_s, y.data()) != GSL_SUCCESS) break;
        if (std::fabs(y[2]) > 2.0 * std::numbers::pi) slipped_at = t;
    }
    gsl_odeiv2_driver_free(driver);
    return slipped_at < 0.0 ? -1.0 : ramp.load_Nm(slipped_at);
}

struct Case {
    const char* motor;
    double voltage_V;

    friend std::ostream& operator<<(std::ostream& out, const Case& c) { return out << c.motor; }
};

class LoadRamp : public testing::TestWithParam<Case> {
  protected:
    /// Simulated pull-out at a speed over what the two formulas give: the average torque and the
    /// cautious T(V).
    struct Ratios {
        double average, cautious;
    };

    Ratios ratios(double corners) const {
        Ramp ramp;
        for (const machine::MotorPart& motor : curve_motors()) {
            if (motor.name != GetParam().motor) continue;
            ramp.motor = motor::motor_constants(motor);
            ramp.peak_A = motor.rated_current.peak().value();
        }
        ramp.voltage_V = GetParam().voltage_V;
        ramp.rate_rad_s = corners * motor::base_rate_rad_s(ramp.motor, ramp.peak_A, ramp.voltage_V);
        ramp.expected_Nm =
            motor::average_torque_Nm(ramp.motor, ramp.peak_A, ramp.voltage_V, ramp.rate_rad_s);
        const double pull_out = pull_out_Nm(ramp);
        return {pull_out / ramp.expected_Nm,
                pull_out / motor::ideal_torque_Nm(ramp.motor, ramp.peak_A, ramp.voltage_V,
                                                  ramp.rate_rad_s)};
    }
};

TEST_P(LoadRamp, FullCurrentPullsTheTorqueConstantTimesThePeak) {
    constexpr double kRampOvershoot =
        0.045;  // the load goes on rising while the rotor leaves; shrinks with a slower ramp
    for (const double corners : {0.3, 0.8, 1.0}) {
        const double ratio = ratios(corners).average;
        EXPECT_GE(ratio, 1.0) << corners;
        EXPECT_LE(ratio, 1.0 + kRampOvershoot) << corners;
    }
}

/// The band stated for a dead-beat regulator is -10..+8 %. With the damping here, better than any
/// real rotor's, up to 11 % more is found near 1.6 wc: the formula errs on the careful side there.
TEST_P(LoadRamp, AboveTheCornerTheAverageTorqueIsWithinItsBand) {
    constexpr double kLow = 0.90;
    constexpr double kHigh = 1.12;
    const double overshoot =
        ratios(0.3).average;  // of the ramp itself, where the torque is known exactly
    for (const double corners : {1.3, 1.6, 2.5, 4.0}) {
        const Ratios found = ratios(corners);
        std::printf("%-20s %.1f wc: pull-out over average torque %.3f, over T(V) %.3f\n",
                    GetParam().motor, corners, found.average / overshoot,
                    found.cautious / overshoot);
        EXPECT_GE(found.average / overshoot, kLow) << corners;
        EXPECT_LE(found.average / overshoot, kHigh) << corners;
        EXPECT_GE(found.cautious / overshoot, 1.0) << corners;
    }
}

INSTANTIATE_TEST_SUITE_P(Plates, LoadRamp,
                         testing::Values(Case{"QSH4218-35-10-027", 24.0},
                                         Case{"17HS19-2004S1", 24.0},
                                         Case{"34HE46-6004D-E1000", 48.0}));

}  // namespace
}  // namespace stepper_sim::outside
