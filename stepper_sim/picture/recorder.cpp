#include "stepper_sim/picture/recorder.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "planner/profile/motion.hpp"
#include "stepper_sim/controller/ceiling.hpp"
#include "stepper_sim/controller/processor_cost.hpp"
#include "stepper_sim/picture/response.hpp"
#include "stepper_sim/run/asked_samples.hpp"
#include "stepper_sim/run/ceilings.hpp"
#include "stepper_sim/run/use.hpp"

namespace stepper_sim::picture {

namespace {

constexpr int kSpeedCells = 96, kTorqueCells = 64;
constexpr int kBandPoints = 160;
constexpr int kRampSamples = 6;
constexpr double kBeyondTopSpeed = 1.15;  // how far past the setting curves are drawn
constexpr double kAboveHolding = 1.1;

AskedDensity empty_density(double top_speed_m_s, double top_torque_Nm) {
    return {kSpeedCells, kTorqueCells, top_speed_m_s, top_torque_Nm,
            std::vector<double>(std::size_t{kSpeedCells} * kTorqueCells)};
}

std::vector<BandPoint> band_of(const motor::AvailableTorque& available, double radius_m,
                               double top_speed_m_s) {
    std::vector<BandPoint> band;
    for (int i = 0; i <= kBandPoints; ++i) {
        const double speed_m_s = top_speed_m_s * i / kBandPoints;
        const double rate = speed_m_s / radius_m;
        band.push_back({speed_m_s, available.low_Nm(rate), available.nominal_Nm(rate),
                        available.high_Nm(rate)});
    }
    return band;
}

MotorRecord start_record(const machine::Machine& machine, const run::MotorModels& models,
                         std::size_t m) {
    const machine::Axis& axis = machine.axes[m];
    const motor::AvailableTorque& available = models.available[m];
    const double radius_m = models.loads.motors[m].radius_m;
    const double top_m_s = kBeyondTopSpeed * run::top_travel_m_s(machine, models.loads, m);
    const run::Ceilings ceilings = run::ceilings_of(machine, axis);
    MotorRecord record;
    record.letter = axis.letter;
    record.band = band_of(available, radius_m, top_m_s);
    double most_Nm = 0.0;
    for (const BandPoint& point : record.band)
        most_Nm = std::max(most_Nm, point.high_Nm);
    record.asked = empty_density(top_m_s, kAboveHolding * most_Nm);
    record.base_speed_m_s = available.base_speed().value() * radius_m;
    record.driver_ceiling_hz = ceilings.driver_hz;
    record.controller_ceiling_hz = std::min(ceilings.controller_hz, ceilings.tick_hz);
    add_response(machine, models, m, record);
    record.reversals = reversal_bins();
    return record;
}

}  // namespace

Recorder::Recorder(const machine::Machine& machine, const run::MotorModels& models)
    : machine_(machine),
      models_(models),
      count_(machine.axes.size()),
      map_(machine.program.axes.slot('X'), machine.program.axes.slot('Y'),
           machine.program.axes.slot('Z'), machine.program.axes.slot('E')) {
    for (std::size_t m = 0; m < count_; ++m)
        motors_.push_back({{}, 0.0, -1.0, 0.0, start_record(machine, models, m)});
}

void Recorder::push(std::span<const planner::MotorMove> moves,
                    std::span<const run::MoveRatio> ratios) {
    for (std::size_t i = 0; i < moves.size(); ++i) {
        const planner::MotorMove& move = moves[i];
        MapPiece worst;
        worst.modal_ratio = static_cast<float>(ratios[i].ratio);
        worst.ratio_motor = static_cast<std::uint8_t>(ratios[i].motor);
        add_torque(move, worst);
        add_rates(move);
        add_reversals(move);
        map_.add(move, worst);
        end_s_ = move.start.seconds() + move.profile.duration_s;
    }
}

void Recorder::add_torque(const planner::MotorMove& move, MapPiece& worst) {
    run::for_each_sample(
        move, count_, kRampSamples,
        [&](const planner::AxisArray& speed, const planner::AxisArray& acceleration,
            double path_m_s, double seconds) {
            worst.speed_m_s = std::max(worst.speed_m_s, static_cast<float>(path_m_s));
            for (std::size_t m = 0; m < count_; ++m) {
                const double rate = motor::rate_rad_s(models_.loads, static_cast<int>(m), speed);
                const double asked =
                    motor::asked_Nm(models_.loads, static_cast<int>(m), speed, acceleration);
                const double use = run::use_of(asked, models_.available[m].low_Nm(rate));
                const double travel_m_s = std::abs(rate) * models_.loads.motors[m].radius_m;
                if (use > static_cast<double>(worst.torque_use)) {
                    worst.torque_use = static_cast<float>(use);
                    worst.torque_motor = static_cast<std::uint8_t>(m);
                }
                MotorRecord& record = motors_[m].record;
                if (use > motors_[m].worst_use) {
                    motors_[m].worst_use = use;
                    record.worst_speed_m_s = travel_m_s;
                    record.worst_asked_Nm = asked;
                }
                AskedDensity& density = record.asked;
                const auto cell = [](double value, double top, int cells) {
                    return static_cast<std::size_t>(
                        std::clamp(value / top * cells, 0.0, cells - 1.0));
                };
                density.seconds[cell(travel_m_s, density.top_speed_m_s, density.speeds) *
                                    static_cast<std::size_t>(density.torques) +
                                cell(asked, density.top_torque_Nm, density.torques)] += seconds;
            }
        });
}

void Recorder::add_rates(const planner::MotorMove& move) {
    double begin_s = move.start.seconds();
    std::array<double, planner::kMaxAxes> per_path{}, from{}, to{};
    for (std::size_t m = 0; m < count_; ++m)
        per_path[m] = std::abs(move.motor_end_m[m] - move.motor_start_m[m]) / move.length_m *
                      machine_.axes[m].steps_per_m();
    if (move.rest_before_s > 0.0) {
        load_.add(begin_s - move.rest_before_s, begin_s, 0.0, 0.0);
        for (std::size_t m = 0; m < count_; ++m)
            motors_[m].rate.add(begin_s - move.rest_before_s, begin_s, 0.0, 0.0);
    }
    for (const planner::Phase& phase : planner::phases_of(move.profile)) {
        const double end_s = begin_s + phase.duration_s;
        for (std::size_t m = 0; m < count_; ++m) {
            from[m] = per_path[m] * planner::start_speed(phase);
            to[m] = per_path[m] * planner::end_speed(phase);
            motors_[m].rate.add(begin_s, end_s, from[m], to[m]);
        }
        load_.add(begin_s, end_s, load_at(std::span(from).first(count_)),
                  load_at(std::span(to).first(count_)));
        begin_s = end_s;
    }
}

/// Share of the processor at steady step rates: the closed form behind controller/ceiling.hpp.
double Recorder::load_at(std::span<const double> rates_hz) const {
    const machine::ControllerPart& controller = machine_.controller;
    if (controller.style == machine::ControllerStyle::ideal || controller.clock_hz <= 0) return 0.0;
    const auto clock_hz = static_cast<double>(controller.clock_hz);
    const auto cycles = [&](int events, int motors) {
        return static_cast<double>(controller::interrupt_cycles(controller, events, motors));
    };
    double top_hz = 0.0, sum_hz = 0.0;
    int moving = 0;
    for (const double rate : rates_hz) {
        top_hz = std::max(top_hz, rate);
        sum_hz += rate;
        moving += rate > 0.0 ? 1 : 0;
    }
    switch (controller.style) {
        case machine::ControllerStyle::fixed_rate:
            return moving == 0 ? 0.0
                               : static_cast<double>(controller.base_rate_hz) * cycles(1, moving) /
                                     clock_hz;
        case machine::ControllerStyle::scheduled:
            return sum_hz * cycles(1, 1) / clock_hz;
        default:
            break;
    }
    int batch = 1;
    double load = top_hz * cycles(1, moving) / clock_hz;
    while (load > controller.processor_share && batch < controller.max_steps_per_interrupt) {
        batch *= 2;
        load = top_hz / batch * cycles(batch, moving) / clock_hz;
    }
    return load;
}

void Recorder::add_reversals(const planner::MotorMove& move) {
    const double begin_s = move.start.seconds();
    for (std::size_t m = 0; m < count_; ++m) {
        Motor& motor = motors_[m];
        const double travel_m = move.motor_end_m[m] - move.motor_start_m[m];
        if (travel_m == 0.0) continue;
        const double sign = std::copysign(1.0, travel_m);
        if (motor.last_sign != 0.0 && sign != motor.last_sign) {
            if (motor.last_reversal_s >= 0.0)
                count_reversal(begin_s - motor.last_reversal_s, motor.record.reversals);
            motor.last_reversal_s = begin_s;
        }
        motor.last_sign = sign;
    }
}

Recording Recorder::finish() {
    Recording recording;
    recording.duration_s = end_s_;
    recording.map = map_.finish();
    for (Motor& motor : motors_) {
        motor.record.step_rate_hz = motor.rate.finish(end_s_);
        recording.motors.push_back(std::move(motor.record));
    }
    recording.processor_load = load_.finish(end_s_);
    recording.processor_share = machine_.controller.processor_share;
    return recording;
}

}  // namespace stepper_sim::picture
