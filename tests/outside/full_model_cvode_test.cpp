/// The full model against CVODE's Adams method (SUNDIALS): another family of method than rk8pd and than ours. Short, because a
/// multistep method starts afresh at every held voltage.
#include <cvode/cvode.h>
#include <gtest/gtest.h>
#include <nvector/nvector_serial.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#include <cstddef>

#include "motor_reference.hpp"

namespace stepper_sim {
namespace {

// One process. Since SUNDIALS 7 the communicator has a type and a null of its own, which is no null pointer.
#ifdef SUN_COMM_NULL
const SUNComm kNoCommunicator = SUN_COMM_NULL;
#else
constexpr std::nullptr_t kNoCommunicator = nullptr;
#endif

class CvodeAdvance {
  public:
    CvodeAdvance() {
        SUNContext_Create(kNoCommunicator, &context_);
        y_ = N_VNew_Serial(6, context_);
        memory_ = CVodeCreate(CV_ADAMS, context_);
        CVodeInit(memory_, slope, 0.0, y_);
        CVodeSStolerances(memory_, kTolerance, kTolerance);
        CVodeSetMaxNumSteps(memory_, 100000);
        solver_ = SUNNonlinSol_FixedPoint(y_, 0, context_);
        CVodeSetNonlinearSolver(memory_, solver_);
    }
    CvodeAdvance(const CvodeAdvance&) = delete;
    CvodeAdvance& operator=(const CvodeAdvance&) = delete;
    ~CvodeAdvance() {
        CVodeFree(&memory_);
        SUNNonlinSolFree(solver_);
        N_VDestroy(y_);
        SUNContext_Free(&context_);
    }

    void operator()(reference::Motor& motor, reference::State& state, double period_s) {
        double* y = N_VGetArrayPointer(y_);
        std::copy(state.begin(), state.end(), y);
        CVodeSetUserData(memory_, &motor);
        CVodeReInit(memory_, 0.0, y_);
        CVodeSetStopTime(memory_, period_s);
        double t = 0.0;
        if (CVode(memory_, period_s, y_, &t, CV_NORMAL) < 0) y[0] = std::nan("");
        std::copy(y, y + 6, state.begin());
    }

  private:
    static constexpr double kTolerance = 1e-12;

    static int slope(sunrealtype, N_Vector y, N_Vector dy, void* motor) {
        static_cast<const reference::Motor*>(motor)->slope(N_VGetArrayPointer(y),
                                                           N_VGetArrayPointer(dy));
        return 0;
    }

    SUNContext context_ = nullptr;
    N_Vector y_ = nullptr;
    void* memory_ = nullptr;
    SUNNonlinearSolver solver_ = nullptr;
};

TEST(OutsideMotion, AgreesWithAdamsOfCvode) {
    const dynamics::AxisDynamics axis = reference::smooth_axis();
    const double step_s = 10e-6;
    const double kAway_rad = 1e-6;  // as against rk8pd
    const std::vector<dynamics::RatePhase> start{{0.01, 0.0, 4000.0}, {0.02, 40.0, 0.0}};
    const auto edges = dynamics::ideal_edges(start, dynamics::microstep_angle_rad(axis));
    const auto model = dynamics::trace(
        {&axis, edges, 0.03, 0.0, 40.0, dynamics::CurrentRegulator::dead_beat, 1.0}, step_s);
    CvodeAdvance cvode;
    const auto history = reference::run(axis, edges, model, step_s, cvode);
    EXPECT_LT(history.largest_difference_rad, kAway_rad);
    EXPECT_FALSE(history.lost);
}

TEST(OutsideMotion, SlipsWhereCvodeSlips) {
    const dynamics::AxisDynamics axis = reference::smooth_axis();
    const double step_s = 10e-6;
    for (const double rate : {20.0, 120.0}) {
        const std::vector<dynamics::RatePhase> start{{0.02, rate, 0.0}};
        const auto edges = dynamics::ideal_edges(start, dynamics::microstep_angle_rad(axis));
        const dynamics::WindowRun run{
            &axis, edges, 0.02, 0.0, rate, dynamics::CurrentRegulator::dead_beat, 1.0};
        CvodeAdvance cvode;
        const auto history =
            reference::run(axis, edges, dynamics::trace(run, step_s), step_s, cvode);
        EXPECT_EQ(dynamics::simulate(run).lost_synchronism, history.lost);
        EXPECT_EQ(history.lost, rate > 100.0);
    }
}

}  // namespace
}  // namespace stepper_sim
