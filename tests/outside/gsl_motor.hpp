/// GSL's rk8pd (Prince-Dormand 8(7)) as integrator of the reference motor.
#pragma once

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include <memory>

#include "motor_reference.hpp"

namespace stepper_sim::reference {

class GslAdvance {
  public:
    explicit GslAdvance(double tolerance = 1e-12) {
        system_.function = [](double, const double y[], double dydt[], void* motor) {
            static_cast<const Motor*>(motor)->slope(y, dydt);
            return static_cast<int>(GSL_SUCCESS);
        };
        system_.dimension = 6;
        driver_.reset(gsl_odeiv2_driver_alloc_y_new(&system_, gsl_odeiv2_step_rk8pd, 1e-6,
                                                    tolerance, tolerance));
    }
    void operator()(Motor& motor, State& y, double period_s) {
        system_.params = &motor;
        gsl_odeiv2_driver_reset(driver_.get());
        gsl_odeiv2_driver_reset_hstart(driver_.get(), period_s);
        double t = 0.0;
        if (gsl_odeiv2_driver_apply(driver_.get(), &t, period_s, y.data()) != GSL_SUCCESS)
            y[0] = std::nan("");
    }

  private:
    struct Free {
        void operator()(gsl_odeiv2_driver* driver) const { gsl_odeiv2_driver_free(driver); }
    };
    gsl_odeiv2_system system_{};
    std::unique_ptr<gsl_odeiv2_driver, Free> driver_;
};

}  // namespace stepper_sim::reference
