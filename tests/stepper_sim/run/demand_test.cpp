/// The worst moments that Demand keeps, against every moment worked out in full.
#include "stepper_sim/run/demand.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "planner/kinematics/kinematics.hpp"
#include "planner/profile/motion.hpp"
#include "stepper_sim/motor/speed_step.hpp"
#include "stepper_sim/run/use.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kRounding_SI = 1e-12;  // of metres, metres per second and kg m^2 well below 2
constexpr double kAlongADiagonal_m_s2 = 1e-9;  // roundings of the path length and its parts

/// Moves of all sizes, alone and together, with changing feeds.
std::string wandering(unsigned seed) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> unit(0.0, 1.0);
    std::string text = "G21 G90\n";
    for (int i = 0; i < 300; ++i) {
        text += "G1 F" + std::to_string(300.0 + 9000.0 * unit(random));
        const double size_mm = std::pow(10.0, 2.0 * unit(random));
        if (unit(random) < 0.7) text += " X" + std::to_string(100.0 + size_mm * unit(random));
        if (unit(random) < 0.7) text += " Y" + std::to_string(100.0 + size_mm * unit(random));
        if (unit(random) < 0.1) text += " Z" + std::to_string(20.0 * unit(random));
        text += "\n";
    }
    return text;
}

std::vector<planner::MotorMove> planned(const machine::Machine& machine, const std::string& text) {
    return moves_of(machine, TextFile(text).path());
}

struct Worst {
    double torque = 0.0, step = 0.0;
};

/// Every end of every phase, and every corner.
Worst worst_of(const machine::Machine& machine, const run::MotorModels& models,
               const std::vector<planner::MotorMove>& moves, std::size_t m) {
    Worst worst;
    const double rad_per_m =
        2.0 * std::numbers::pi / machine.axes[m].drive.travel_per_turn().value();
    const auto rate_rad_s = [&](const planner::AxisArray& speed_m_s) {
        return std::abs(planner::to_motors(machine.kinematics, machine.program.axes, speed_m_s)[m] *
                        rad_per_m);
    };
    planner::AxisArray before_m_s{};
    for (const planner::MotorMove& move : moves) {
        planner::AxisArray unit{};
        for (std::size_t i = 0; i < unit.size(); ++i)
            unit[i] = (move.tool_end_m[i] - move.tool_start_m[i]) / move.length_m;
        const auto along = [&](double speed) {
            planner::AxisArray out{};
            for (std::size_t i = 0; i < unit.size(); ++i)
                out[i] = unit[i] * speed;
            return out;
        };
        for (int p = 0; p < move.profile.count; ++p) {
            const planner::Phase& phase = move.profile.phases[static_cast<std::size_t>(p)];
            const planner::AxisArray acceleration = along(phase.acceleration_m_s2);
            for (const double v : {phase.start_speed_m_s, planner::end_speed(phase)}) {
                const double asked =
                    motor::asked_Nm(models.loads, static_cast<int>(m), along(v), acceleration);
                const double low = models.available[m].low_Nm(rate_rad_s(along(v)));
                worst.torque = std::max(worst.torque, run::use_of(asked, low));
            }
            if (p > 0) continue;
            const planner::AxisArray after_m_s = along(phase.start_speed_m_s);
            planner::AxisArray jump_m_s{};
            for (std::size_t i = 0; i < unit.size(); ++i)
                jump_m_s[i] = after_m_s[i] - (move.rest_before_s >= 0.0 ? 0.0 : before_m_s[i]);
            const double jump = rate_rad_s(jump_m_s), after = rate_rad_s(after_m_s);
            if (jump < 1e-9) continue;
            const double rate = std::max(after, std::abs(after - jump));
            const double asked =
                motor::asked_Nm(models.loads, static_cast<int>(m), after_m_s, acceleration);
            worst.step = std::max(worst.step,
                                  run::step_use(models, m, jump, models.available[m].low_Nm(rate),
                                                models.available[m].high_Nm(rate), asked)
                                      .low);
        }
        before_m_s = along(planner::end_speed(
            move.profile.phases[static_cast<std::size_t>(move.profile.count - 1)]));
    }
    return worst;
}

TEST(Demand, KeepsTheWorstOfEveryPhaseEndAndEveryCorner) {
    for (const std::string& text :
         {std::string(kBench), changed("\"cartesian\"", "\"crossed-belt\"")}) {
        const machine::Machine machine = machine_from(text);
        const run::MotorModels models = run::motor_models(machine);
        for (unsigned seed = 1; seed <= 20; ++seed) {
            const auto moves = planned(machine, wandering(seed));
            run::Demand demand(machine, models);
            demand.push(moves);
            run::ProgramResult result;
            demand.finish(result);
            for (std::size_t m = 0; m < machine.axes.size(); ++m) {
                const Worst worst = worst_of(machine, models, moves, m);
                // The jump of a corner is worked out in another order: rounding.
                constexpr double kRounding = 1e-12;
                EXPECT_DOUBLE_EQ(result.motors[m].torque.use_low, worst.torque) << seed;
                EXPECT_NEAR(result.motors[m].speed_step.use_low, worst.step, kRounding * worst.step)
                    << seed;
                EXPECT_GT(worst.torque, 0.0);
            }
        }
    }
}

run::ProgramResult demanded(const machine::Machine& machine, const run::MotorModels& models,
                            const std::string& text) {
    run::Demand demand(machine, models);
    demand.push(planned(machine, text));
    run::ProgramResult result;
    demand.finish(result);
    return result;
}

// Past the end of a published curve every use of the low edge is as high as can be told.
TEST(Demand, AFaultIsKeptWhateverComesBeforeIt) {
    machine::Machine machine = shipped("label-plotter");
    machine.axes[0].settings.max_speed = planner::from_si<planner::Speed>(0.4);
    machine.axes[0].settings.max_acceleration = planner::from_si<planner::Acceleration>(60.0);
    const run::MotorModels models = run::motor_models(machine);
    std::vector<planner::MotorMove> moves = planned(machine, "G21 G90\nG1 X250 F24000\nG1 X10\n");
    ASSERT_EQ(moves.size(), 2U);
    const auto kept = [&] {
        run::Demand demand(machine, models);
        demand.push(moves);
        run::ProgramResult result;
        demand.finish(result);
        return result.motors[0].torque;
    };
    ASSERT_TRUE(kept().beyond_curve);
    ASSERT_GT(kept().use_high, 1.0);
    // The first stroke asks for friction alone, past the curve's end too.
    for (int p = 0; p < moves[0].profile.count; ++p)
        moves[0].profile.phases[static_cast<std::size_t>(p)].acceleration_m_s2 *= 1e-3;
    EXPECT_GT(kept().use_high, 1.0);
    std::swap(moves[0], moves[1]);
    EXPECT_GT(kept().use_high, 1.0);
}

TEST(Demand, TheWorstMomentCarriesTheBandAtItsSpeedAndWhatTheMotorDoes) {
    const machine::Machine machine = machine_from();
    const run::MotorModels models = run::motor_models(machine);
    const run::TorqueMoment worst =
        demanded(machine, models, "G21 G90\nG1 X60 F6000\n").motors[0].torque;
    // Speeding up takes most: friction helps to slow down.
    EXPECT_EQ(worst.motion, run::Motion::speeding_up);
    const motor::AvailableTorque& available = models.available[0];
    EXPECT_EQ(worst.low_Nm, available.low_Nm(worst.rate_rad_s));
    EXPECT_EQ(worst.high_Nm, available.high_Nm(worst.rate_rad_s));
    EXPECT_EQ(worst.use_low, worst.asked_Nm / worst.low_Nm);
    EXPECT_EQ(worst.use_nominal, worst.asked_Nm / available.nominal_Nm(worst.rate_rad_s));
    EXPECT_EQ(worst.use_high, worst.asked_Nm / worst.high_Nm);
    EXPECT_EQ(worst.at.line, 2U);
}

TEST(Demand, RangesBeginWhereTheProgramDoesAndTellWhen) {
    const machine::Machine machine = machine_from();
    const run::ProgramResult result =
        demanded(machine, run::motor_models(machine), "G21 G90\nG1 X50 F3000\nX20\nY-5\nY10\n");
    EXPECT_EQ(result.moves, 4U);
    const run::AxisRange &x = result.axes[0], &y = result.axes[1];
    EXPECT_DOUBLE_EQ(x.min_m, 0.0);
    EXPECT_EQ(x.at_min.time_s, 0.0);
    EXPECT_DOUBLE_EQ(x.max_m, 0.05);
    EXPECT_EQ(x.at_max.line, 2U);
    EXPECT_DOUBLE_EQ(x.end_m, 0.02);
    EXPECT_DOUBLE_EQ(y.min_m, -0.005);
    EXPECT_EQ(y.at_min.line, 4U);
    EXPECT_DOUBLE_EQ(y.max_m, 0.01);
    EXPECT_EQ(y.at_max.line, 5U);
    EXPECT_NEAR(x.peak_speed_m_s, 0.05, kRounding_SI);
    EXPECT_NEAR(x.peak_acceleration_m_s2, 1.5, kRounding_SI);
    EXPECT_NEAR(result.path_m, 0.05 + 0.03 + 0.005 + 0.015, kRounding_SI);
}

std::string with_filament() {
    std::string text(kBench);
    std::string axis =
        text.substr(text.find("[axes.y]"), text.find("[axes.z]") - text.find("[axes.y]"));
    axis.replace(0, 8, "[axes.e]");
    return text + axis;
}

TEST(Demand, PathIsTheToolsAndFilamentIsApart) {
    const machine::Machine machine = machine_from(with_filament());
    const run::ProgramResult result = demanded(
        machine, run::motor_models(machine), "G21 G90\nG1 X30 Y40 E2 F3000\nE-8\nE3\nZ5\nX30 E4\n");
    EXPECT_EQ(result.moves, 5U);
    EXPECT_NEAR(result.path_m, 0.05 + 0.005, 1e-12);
    EXPECT_NEAR(result.filament_m, 0.004, 1e-12);
}

TEST(Demand, AnArcIsOneMove) {
    const machine::Machine machine = machine_from();
    const run::ProgramResult result =
        demanded(machine, run::motor_models(machine),
                 "G21 G90\nG0 X50 Y50\nG2 I20 F3000\nG3 X90 I20 J3\nG1 X95\n");
    EXPECT_EQ(result.moves, 4U);
    EXPECT_GT(result.planned_moves, 50U);
}

TEST(Demand, ARangeHoldsTheStartOfTheProgramToo) {
    machine::Machine machine = machine_from();
    machine.program.start_m[0] = 0.1;
    const run::AxisRange x =
        demanded(machine, run::motor_models(machine), "G21 G90\nG1 X150 F3000\n").axes[0];
    EXPECT_DOUBLE_EQ(x.min_m, 0.1);
    EXPECT_DOUBLE_EQ(x.max_m, 0.15);
}

// The first move speeds up as slowly as Y lets it, the second one only brakes, as fast as X can.
TEST(Demand, BrakingCountsAmongThePeaksOfAcceleration) {
    machine::Machine machine = machine_from();
    machine.axes[1].settings.max_acceleration = planner::from_si<planner::Acceleration>(0.01);
    const run::ProgramResult result =
        demanded(machine, run::motor_models(machine), "G21 G90\nG1 X60 Y3 F6000\nX70\n");
    EXPECT_NEAR(result.axes[0].peak_acceleration_m_s2, 1.5, kAlongADiagonal_m_s2);
}

// Rotor and belt load: J = J_rotor + m r^2.
TEST(MotorModels, InertiaIsThatOfRotorAndLoad) {
    const machine::Machine machine = machine_from();
    constexpr double kRadius_m = 20 * 2e-3 / (2.0 * std::numbers::pi);
    EXPECT_NEAR(run::motor_models(machine).inertia_kg_m2[0],
                machine.axes[0].motor.rotor_inertia->value() + 0.3 * kRadius_m * kRadius_m,
                kRounding_SI);
}

TEST(StepUse, OfEachEdgeIsTheJumpOverWhatItsTorqueFollows) {
    const machine::Machine machine = machine_from();
    const run::MotorModels models = run::motor_models(machine);
    const double low_Nm = 0.2, high_Nm = 0.4, jump_rad_s = 5.0;
    const auto limit = [&](double torque_Nm, double asked_Nm) {
        return motor::speed_step_rad_s(torque_Nm, models.inertia_kg_m2[0],
                                       machine.axes[0].motor.rotor_teeth(), asked_Nm / torque_Nm);
    };
    const run::StepUse use = run::step_use(models, 0, jump_rad_s, low_Nm, high_Nm, 0.1);
    EXPECT_DOUBLE_EQ(use.limit_low_rad_s, limit(low_Nm, 0.1));
    EXPECT_DOUBLE_EQ(use.low, jump_rad_s / limit(low_Nm, 0.1));
    EXPECT_DOUBLE_EQ(use.high, jump_rad_s / limit(high_Nm, 0.1));
    // Torque is the trouble there, not the step.
    const run::StepUse short_of_low = run::step_use(models, 0, jump_rad_s, low_Nm, high_Nm, 0.3);
    EXPECT_DOUBLE_EQ(short_of_low.high, jump_rad_s / limit(high_Nm, 0.3));
    EXPECT_EQ(short_of_low.low, short_of_low.high);
    const run::StepUse short_of_both = run::step_use(models, 0, jump_rad_s, low_Nm, high_Nm, 0.5);
    EXPECT_EQ(short_of_both.high, 0.0);
    EXPECT_EQ(short_of_both.low, 0.0);
}

}  // namespace
