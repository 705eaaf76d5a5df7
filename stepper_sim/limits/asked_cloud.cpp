#include "stepper_sim/limits/asked_cloud.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "stepper_sim/motor/asked_torque.hpp"
#include "stepper_sim/run/asked_samples.hpp"

namespace stepper_sim::limits {

namespace {

using planner::AxisArray;

constexpr double kCells = 100.0;      // per top speed and per holding torque: finer than the dots
constexpr double kLastCell = 1000.0;  // far beyond either: one cell for all
constexpr int kSamples = 8;           // along a phase, so that ramps are lines and not two dots

class Cloud {
  public:
    Cloud(const machine::Machine& machine, int slot)
        : count_(machine.axes.size()),
          slot_(slot),
          loads_(motor::motor_loads(machine)),
          cell_m_s_(axis(machine).settings.max_speed.value() / kCells),
          cell_Nm_(axis(machine).motor.holding_torque.value() / kCells) {}

    void push(const planner::MotorMove& move) {
        any_ = true;
        run::for_each_sample(
            move, count_, kSamples,
            [&](const AxisArray& speed, const AxisArray& acceleration, double, double) {
                keep({std::abs(motor::rate_rad_s(loads_, slot_, speed)) *
                          loads_.motors[static_cast<std::size_t>(slot_)].radius_m,
                      motor::asked_Nm(loads_, slot_, speed, acceleration)});
            });
    }
    bool any() const { return any_; }
    std::vector<AskedPoint> points() const {
        std::vector<AskedPoint> out;
        for (const auto& [cell, point] : cells_)
            out.push_back(point);
        std::sort(out.begin(), out.end(), [](const AskedPoint& a, const AskedPoint& b) {
            return std::pair(a.speed_m_s, a.torque_Nm) < std::pair(b.speed_m_s, b.torque_Nm);
        });
        return out;
    }

  private:
    const machine::Axis& axis(const machine::Machine& machine) const {
        return machine.axes[static_cast<std::size_t>(slot_)];
    }
    void keep(const AskedPoint& point) {
        const auto cell = [](double value, double size) {
            return static_cast<int>(std::min(value / size, kLastCell));
        };
        AskedPoint& kept =
            cells_[{cell(point.speed_m_s, cell_m_s_), cell(point.torque_Nm, cell_Nm_)}];
        if (point.torque_Nm >= kept.torque_Nm) kept = point;
    }

    std::size_t count_;
    int slot_;
    motor::MotorLoads loads_;
    double cell_m_s_, cell_Nm_;
    std::map<std::pair<int, int>, AskedPoint> cells_;
    bool any_ = false;
};

}  // namespace

planner::Result<std::vector<AskedPoint>> asked_cloud(const machine::Machine& machine, int axis_slot,
                                                     const std::filesystem::path& file,
                                                     const run::ProgressCall& progress) {
    Cloud cloud(machine, axis_slot);
    const auto notes = run::plan_file(
        machine, file,
        [&](std::span<const planner::MotorMove> moves) {
            for (const planner::MotorMove& move : moves)
                cloud.push(move);
            return true;
        },
        progress);
    if (!notes) return notes.diagnostics();
    if (!cloud.any())
        return planner::Diagnostic{"program/nothing-moves",
                                   {file.string(), 0, 0},
                                   "no move in the whole program",
                                   "a program with moves",
                                   "give the program that the machine will run"};
    return cloud.points();
}

}  // namespace stepper_sim::limits
