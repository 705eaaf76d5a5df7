/// The worst moments that Demand keeps, against every moment worked out in full.
#include "stepper_sim/check/demand.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "planner/kinematics/kinematics.hpp"
#include "planner/profile/motion.hpp"
#include "samples.hpp"
#include "stepper_sim/check/use.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

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

std::vector<planner::MotorMove> planned(const Machine& machine, const std::string& text) {
    const TextFile file(text);
    std::vector<planner::MotorMove> moves;
    const auto end =
        plan_file(machine, file.path(), [&](std::span<const planner::MotorMove> block) {
            moves.insert(moves.end(), block.begin(), block.end());
            return true;
        });
    EXPECT_TRUE(end);
    return moves;
}

struct Worst {
    double torque = 0.0, step = 0.0;
};

/// Every end of every phase, and every corner.
Worst worst_of(const Machine& machine, const MotorModels& models,
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
                    asked_Nm(models.loads, static_cast<int>(m), along(v), acceleration);
                const double low = models.available[m].low_Nm(rate_rad_s(along(v)));
                worst.torque = std::max(worst.torque, use_of(asked, low));
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
                asked_Nm(models.loads, static_cast<int>(m), after_m_s, acceleration);
            worst.step =
                std::max(worst.step, step_use(models, m, jump, models.available[m].low_Nm(rate),
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
        const Machine machine = machine_from(text);
        const MotorModels models = motor_models(machine);
        for (unsigned seed = 1; seed <= 20; ++seed) {
            const auto moves = planned(machine, wandering(seed));
            Demand demand(machine, models);
            demand.push(moves);
            ProgramResult result;
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

}  // namespace
