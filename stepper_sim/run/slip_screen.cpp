#include "stepper_sim/run/slip_screen.hpp"

#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

#include "planner/kinematics/kinematics.hpp"
#include "planner/profile/motion.hpp"
#include "stepper_sim/dynamics/plant_variant.hpp"
#include "stepper_sim/dynamics/screen_move.hpp"
#include "stepper_sim/run/least_damping.hpp"

namespace stepper_sim::run {

namespace {

// Speeds past the top speed are rounding.
constexpr double kTableReach = 1.01;

}  // namespace

dynamics::ModalScreen motor_screen(const machine::Machine& machine, const MotorModels& models,
                                   int slot, dynamics::BandEdge edge, dynamics::Ringing ringing) {
    const auto s = static_cast<std::size_t>(slot);
    const motor::AvailableTorque& available = models.available[s];
    return {dynamics::axis_dynamics(machine, models.loads, available, slot, edge),
            dynamics::TorqueTable(
                [&](double rate_rad_s) {
                    return dynamics::edge_torque_Nm(available, edge, rate_rad_s);
                },
                kTableReach * top_travel_m_s(machine, models.loads, s) /
                    models.loads.motors[s].radius_m),
            ringing};
}

double pass_ratio(const stepper_sim::machine::Axis& axis) {
    return axis.driver.regulator == machine::Regulator::sine ? dynamics::kSineRegulatorPass
                                                             : dynamics::kAnyRegulatorPass;
}

namespace {

/// The seven variants of the spread, from the softest, heaviest and weakest to the stiffest, lightest and strongest, all with the least
/// friction; and the nominal one.
dynamics::BankAxes bank_axes(const machine::Machine& machine, const MotorModels& models, int slot,
                             double margin) {
    const motor::AvailableTorque& available = models.available[static_cast<std::size_t>(slot)];
    const auto at = [&](dynamics::BandEdge edge) {
        return dynamics::axis_dynamics(machine, models.loads, available, slot, edge);
    };
    const dynamics::AxisDynamics nominal = at(dynamics::BandEdge::nominal);
    const double least =
        (1.0 - margin) * at(dynamics::BandEdge::low).torque_factor / nominal.torque_factor;
    const double most = at(dynamics::BandEdge::high).torque_factor / nominal.torque_factor;
    const dynamics::SpringBand band = dynamics::spring_band(machine, models.loads, slot);
    dynamics::BankAxes axes;
    for (std::size_t lane = 0; lane < dynamics::kSpreadLanes; ++lane) {
        const double share = dynamics::spread_share(lane);
        axes[lane] = dynamics::varied(
            nominal, {dynamics::BandEdge::nominal, least * std::pow(most / least, share),
                      1.0 - motor::kFrictionSpread, band.stiffness(share),
                      dynamics::SpringBand::mass(share)});
        axes[lane].coupling_damping_Nms_rad *=
            least_damping(machine.axes[static_cast<std::size_t>(slot)]);
    }
    axes[dynamics::kNominalLane] = nominal;
    return axes;
}

dynamics::TorqueTable low_table(const machine::Machine& machine, const MotorModels& models,
                                std::size_t slot, double share) {
    const motor::AvailableTorque& available = models.available[slot];
    return {[&available, share](double rate_rad_s) {
                return share *
                       dynamics::edge_torque_Nm(available, dynamics::BandEdge::low, rate_rad_s);
            },
            kTableReach * top_travel_m_s(machine, models.loads, slot) /
                models.loads.motors[slot].radius_m};
}

dynamics::SwingBank swing_bank(const machine::Machine& machine, const MotorModels& models,
                               std::size_t slot, double margin) {
    const dynamics::BankAxes axes = bank_axes(machine, models, static_cast<int>(slot), margin);
    return {axes, (1.0 + motor::kFrictionSpread) / (1.0 - motor::kFrictionSpread),
            low_table(machine, models, slot, 1.0 - margin), low_table(machine, models, slot, 1.0)};
}

/// Of two axes on the same two motors: a motor sees what both do.
void add(dynamics::MoveSwing& sum, const dynamics::MoveSwing& other) {
    dynamics::MoveScreen& screen = sum.screen;
    const dynamics::MoveScreen& beside = other.screen;
    if (beside.ratio > screen.ratio) {
        screen.peak_time_s = beside.peak_time_s;
        screen.peak_rate_rad_s = beside.peak_rate_rad_s;
        screen.worst_share = beside.worst_share;
    }
    screen.ratio += beside.ratio;
    screen.load_angle_rad += beside.load_angle_rad;
    screen.start_rate_rad_s =
        std::fabs(screen.start_rate_rad_s) + std::fabs(beside.start_rate_rad_s);
    screen.end_rate_rad_s = std::fabs(screen.end_rate_rad_s) + std::fabs(beside.end_rate_rad_s);
    screen.fast_stretch_s = std::max(screen.fast_stretch_s, beside.fast_stretch_s);
    sum.nominal_ratio += other.nominal_ratio;
    sum.ripple_ratio += other.ripple_ratio;
}

}  // namespace

std::vector<std::vector<std::size_t>> plants_of(const machine::Machine& machine) {
    return planner::motor_groups(machine.kinematics, machine.program.axes);
}

SlipScreen::SlipScreen(const machine::Machine& machine, const MotorModels& models, double margin) {
    for (const std::vector<std::size_t>& slots : plants_of(machine)) {
        std::vector<Axis> axes;
        double pass = dynamics::kSineRegulatorPass;
        for (const std::size_t slot : slots) {
            const dynamics::AxisDynamics nominal =
                dynamics::axis_dynamics(machine, models.loads, models.available[slot],
                                        static_cast<int>(slot), dynamics::BandEdge::nominal);
            axes.push_back({slot,
                            swing_bank(machine, models, slot, margin),
                            dynamics::FastStretch(dynamics::base_rate_rad_s(nominal)),
                            1.0 / models.loads.motors[slot].radius_m,
                            {},
                            {}});
            pass = std::min(pass, pass_ratio(machine.axes[slot]));
        }
        const int first = static_cast<int>(slots.front());
        const dynamics::AxisDynamics low = dynamics::axis_dynamics(
            machine, models.loads, models.available[slots.front()], first, dynamics::BandEdge::low);
        plants_.push_back(
            {std::move(axes), dynamics::WindowBuilder(dynamics::window_rule(low, pass))});
    }
}

void SlipScreen::push(std::span<const planner::MotorMove> moves, std::span<MoveRatio> ratios) {
    if (ratios.empty()) {
        // The plants know nothing of each other: the same on any number of threads.
        tbb::parallel_for(std::size_t{0}, plants_.size(),
                          [&](std::size_t i) { push(plants_[i], moves, ratios); });
    } else {
        for (Plant& plant : plants_)
            push(plant, moves, ratios);
    }
}

// Plant by plant: the swings of each stay in cache.
void SlipScreen::push(Plant& plant, std::span<const planner::MotorMove> moves,
                      std::span<MoveRatio> ratios) {
    const std::size_t count = plant.axes.size();
    for (std::size_t i = 0; i < moves.size(); ++i) {
        const planner::MotorMove& move = moves[i];
        const double rest_s = std::max(move.rest_before_s, 0.0);
        const double top_m_s = planner::peak_speed(move.profile);
        std::array<double, 2> motor_rad_m{};  // per metre of path
        for (std::size_t a = 0; a < count; ++a)
            motor_rad_m[a] =
                dynamics::motor_share(move, plant.axes[a].slot, plant.axes[a].rad_per_m);
        std::array<dynamics::MoveSwing, 2> swings;
        double top_rad_s = 0.0;
        for (std::size_t a = 0; a < count; ++a) {
            Axis& axis = plant.axes[a];
            const double axis_rad_m = dynamics::axis_share(move, axis.slot, axis.rad_per_m);
            dynamics::for_each_rate_phase(move, axis_rad_m, [&](const dynamics::RatePhase& phase) {
                axis.bank.phase(phase);
                axis.stretches.add(phase);
            });
            dynamics::for_each_rate_phase(
                move, motor_rad_m[a],
                [&](const dynamics::RatePhase& phase) { axis.fast.phase(phase); });
            swings[a] = axis.bank.end_move();
            swings[a].screen.fast_stretch_s = axis.fast.end_move();
            swings[a].screen.peak_time_s -= rest_s;
            swings[a].screen.duration_s -= rest_s;
            top_rad_s = std::max(top_rad_s, std::fabs(motor_rad_m[a]) * top_m_s);
            const double axis_rad_s = std::fabs(axis_rad_m) * top_m_s;
            if (axis_rad_s > 0.0 && axis_rad_s < axis.slowest_rad_s) {
                axis.slowest_rad_s = axis_rad_s;
                axis.stretches.mark(dynamics::StretchKeeper::Kind::crawl,
                                    swings[a].screen.duration_s, swings[a].screen.duration_s);
            }
            const dynamics::MoveScreen& screen = swings[a].screen;
            const double ringing_m = std::max(screen.corner_ringing_m, screen.ringing_m);
            if (ringing_m > axis.worst.ringing_m) {
                axis.stretches.mark(
                    dynamics::StretchKeeper::Kind::ringing,
                    screen.corner_ringing_m > screen.ringing_m ? screen.duration_s : 0.0, 0.0);
                axis.worst.ringing_m = ringing_m;
                axis.worst.ringing_at = {move.line, move.start.seconds(),
                                         move.tool_start_m[axis.slot]};
                const planner::Phase& first = planner::phases_of(move.profile).front();
                axis.worst.ringing_stroke = {move.length_m, planner::start_speed(first),
                                             std::fabs(planner::acceleration_at(first, 0.0))};
            }
        }
        dynamics::MoveSwing whole = swings[0];
        if (count == 2) add(whole, swings[1]);
        whole.screen.top_rate_rad_s = top_rad_s;
        plant.windows.add(whole.screen, move.start.seconds());
        const std::size_t shown = plant.axes[0].slot;
        if (i < ratios.size() && whole.nominal_ratio > ratios[i].ratio)
            ratios[i] = {whole.nominal_ratio, shown};
        for (Axis& axis : plant.axes) {
            if (whole.nominal_ratio > axis.worst.ratio_peak) {
                axis.worst.ratio_peak = axis.worst.swing = whole.nominal_ratio;
                axis.worst.load_angle_rad = whole.screen.load_angle_rad;
                axis.worst.ratio_at = moment_in(move, axis.slot, whole.screen.peak_time_s);
                axis.stretches.mark(dynamics::StretchKeeper::Kind::swing, whole.screen.duration_s,
                                    whole.screen.duration_s);
            }
            axis.stretches.end_move();
        }
    }
}

std::vector<MotorScreen> SlipScreen::finish() {
    std::size_t motors = 0;
    for (const Plant& plant : plants_)
        for (const Axis& axis : plant.axes)
            motors = std::max(motors, axis.slot + 1);
    std::vector<MotorScreen> results(motors);
    for (Plant& plant : plants_) {
        for (Axis& axis : plant.axes) {
            MotorScreen& result = results[axis.slot];
            result.worst = std::move(axis.worst);
            result.ringing = axis.stretches.take(dynamics::StretchKeeper::Kind::ringing);
            // What a motor sees of two axes is no swing of one of them.
            if (plant.axes.size() > 1) continue;
            result.swing = axis.stretches.take(dynamics::StretchKeeper::Kind::swing);
            result.crawl = axis.stretches.take(dynamics::StretchKeeper::Kind::crawl);
        }
        MotorScreen& first = results[plant.axes.front().slot];
        first.windows = plant.windows.finish();
        first.worst.suspicious = plant.windows.found();
    }
    plants_.clear();
    return results;
}

}  // namespace stepper_sim::run
