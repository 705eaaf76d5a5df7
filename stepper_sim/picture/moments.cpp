#include "stepper_sim/picture/moments.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>
#include <set>

#include "planner/profile/motion.hpp"
#include "stepper_sim/controller/processor_cost.hpp"
#include "stepper_sim/controller/pulse_run.hpp"
#include "stepper_sim/dynamics/band_edge.hpp"
#include "stepper_sim/dynamics/full_model.hpp"
#include "stepper_sim/picture/program_lines.hpp"

namespace stepper_sim::picture {

namespace {

// Enough before to see what builds up, enough after to see what comes of it.
constexpr double kBefore_s = 0.4, kAfter_s = 0.15;
constexpr double kLongest_s = 3.0;
constexpr double kSameMoment_s = 0.05;
constexpr std::size_t kAngleStretches = 6000;
constexpr std::uint64_t kLinesAround = 2;

/// Keeps the pulses of one motor inside a span of ticks.
class PulseKeeper final : public controller::EdgeSink {
  public:
    std::size_t motor = 0;
    std::int64_t first_tick = 0, last_tick = 0;
    MomentRecord* record = nullptr;
    std::vector<std::int8_t> directions;  // of each rise

    void take(std::span<const controller::Edge> edges) override {
        for (const controller::Edge& edge : edges) {
            if (edge.motor != motor || edge.tick > last_tick) continue;
            const bool before = edge.tick < first_tick;
            const auto tick = static_cast<std::uint32_t>(before ? 0 : edge.tick - first_tick);
            if (edge.kind == controller::EdgeKind::direction) {
                if (before)
                    record->first_direction = edge.direction;
                else {
                    record->turns.push_back(tick);
                    record->turn_to.push_back(edge.direction);
                }
            } else if (edge.kind == controller::EdgeKind::step_rise && !before) {
                record->cut = record->rises.size() >= kMostPulses;
                if (record->cut) continue;
                record->rises.push_back(tick);
                directions.push_back(edge.direction);
            }
        }
    }
};

struct Look {
    std::size_t motor = 0;
    MomentRecord record;
    std::unique_ptr<PulseKeeper> keeper;
    std::unique_ptr<controller::PulseRun> pulses;
    double start_rate_rad_s = 0.0, top_rate_rad_s = 0.0;
};

Look look_at(const machine::Machine& machine, std::size_t motor, std::uint64_t line, double at_s,
             const run::SlipResult& slips) {
    Look look;
    look.motor = motor;
    look.record.letter = machine.axes[motor].letter;
    look.record.line = line;
    look.record.at_s = at_s;
    look.record.start_s = std::max(0.0, at_s - kBefore_s);
    look.record.end_s = at_s + kAfter_s;
    // Windows overlap; the one that the finding speaks of has its moment.
    for (const run::SlipWindow& slip : slips.windows) {
        if (static_cast<std::size_t>(slip.motor) != motor || slip.at.time_s != at_s) continue;
        look.record.start_s = std::max(slip.window.run_in_s, at_s - 0.75 * kLongest_s);
        look.record.end_s = std::min(slip.window.end_s, look.record.start_s + kLongest_s);
    }
    return look;
}

std::vector<Look> choose(const machine::Machine& machine, const run::ProgramResult& result,
                         std::span<const check::Finding> findings) {
    std::vector<Look> looks;
    for (const check::Finding& finding : findings) {
        if (finding.motor == 0 || !finding.time_s || looks.size() >= kMostMoments) continue;
        const auto motor =
            static_cast<std::size_t>(std::max(0, machine.program.axes.slot(finding.motor)));
        const bool seen = std::any_of(looks.begin(), looks.end(), [&](const Look& look) {
            return look.motor == motor &&
                   std::abs(look.record.at_s - *finding.time_s) < kSameMoment_s;
        });
        if (!seen)
            looks.push_back(look_at(machine, motor, finding.line, *finding.time_s, result.slips));
    }
    if (!looks.empty()) return looks;
    std::size_t worst = 0;
    const auto swing = [&](std::size_t m) {
        return std::max(result.slips.motors[m].ratio_peak, 1e-9 * result.motors[m].torque.use_low);
    };
    for (std::size_t m = 1; m < machine.axes.size(); ++m)
        if (swing(m) > swing(worst)) worst = m;
    const run::Moment& at =
        result.slips.run ? result.slips.motors[worst].ratio_at : result.motors[worst].torque.at;
    looks.push_back(look_at(machine, worst, at.line, at.time_s, result.slips));
    return looks;
}

class SecondLook {
  public:
    SecondLook(const machine::Machine& machine, const run::MotorModels& models,
               std::vector<Look> looks, std::span<const check::Finding> findings,
               Recording& recording)
        : machine_(machine), models_(models), looks_(std::move(looks)), recording_(recording) {
        recording_.places.assign(findings.size(), {});
        for (std::size_t i = 0; i < findings.size(); ++i)
            if (findings[i].time_s) wanted_.emplace_back(*findings[i].time_s, i);
        std::sort(wanted_.begin(), wanted_.end());
        for (const Look& look : looks_)
            end_s_ = std::max(end_s_, look.record.end_s);
    }

    /// False once nothing is left to look at.
    bool see(const planner::MotorMove& move) {
        const double begin_s = move.start.seconds();
        const double end_s = begin_s + move.profile.duration_s;
        for (; next_ < wanted_.size() && wanted_[next_].first <= end_s; ++next_)
            place(move, wanted_[next_].first - begin_s, recording_.places[wanted_[next_].second]);
        for (Look& look : looks_) {
            if (end_s < look.record.start_s || begin_s > look.record.end_s) continue;
            add(move, begin_s, look);
        }
        return next_ < wanted_.size() || begin_s <= end_s_;
    }

    void finish() {
        for (Look& look : looks_) {
            if (!look.pulses) continue;
            look.pulses->finish();
            simulate_angles(look);
            recording_.moments.push_back(std::move(look.record));
        }
    }

  private:
    void place(const planner::MotorMove& move, double after_s, FoundPlace& place) const {
        const auto at = [&](char letter) {
            const int slot = machine_.program.axes.slot(letter);
            if (slot < 0) return 0.0;
            return run::position_in(move, static_cast<std::size_t>(slot), after_s);
        };
        place.known = true;
        place.x_m = at('X');
        place.y_m = at('Y');
        place.z_m = at('Z');
    }

    void open(double begin_s, double rad_per_m, double speed_m_s, Look& look) const {
        look.keeper = std::make_unique<PulseKeeper>();
        look.pulses = std::make_unique<controller::PulseRun>(machine_, look.keeper.get());
        look.record.start_s = std::max(look.record.start_s, begin_s);
        look.record.tick_hz = look.pulses->tick_hz();
        const auto hz = static_cast<double>(look.record.tick_hz);
        look.keeper->motor = look.motor;
        look.keeper->record = &look.record;
        look.keeper->first_tick = std::llround(look.record.start_s * hz);
        look.keeper->last_tick = std::llround(look.record.end_s * hz);
        look.record.pulse_ticks = static_cast<std::uint32_t>(
            controller::ticks_up(machine_.controller.pulse_high, look.record.tick_hz, 1));
        look.start_rate_rad_s = speed_m_s * rad_per_m;
    }

    void add(const planner::MotorMove& move, double begin_s, Look& look) const {
        const double per_path =
            (move.motor_end_m[look.motor] - move.motor_start_m[look.motor]) / move.length_m;
        const double rad_per_m = 1.0 / models_.loads.motors[look.motor].radius_m;
        if (!look.pulses)
            open(begin_s, rad_per_m,
                 per_path * (begin_s >= look.record.start_s
                                 ? 0.0
                                 : planner::speed_at(move.profile, look.record.start_s - begin_s)),
                 look);
        look.pulses->push({&move, 1});
        double at_s = begin_s - look.record.start_s;
        for (const planner::Phase& phase : planner::phases_of(move.profile)) {
            const double from = planner::start_speed(phase) * per_path;
            const double to = planner::end_speed(phase) * per_path;
            look.record.command.push_back(
                {at_s, from, planner::acceleration_at(phase, 0.0) * per_path});
            at_s += phase.duration_s;
            look.record.command.push_back(
                {at_s, to, planner::acceleration_at(phase, phase.duration_s) * per_path});
            look.top_rate_rad_s = std::max(
                {look.top_rate_rad_s, std::abs(from) * rad_per_m, std::abs(to) * rad_per_m});
        }
    }

    std::vector<float> angles(const Look& look, std::span<const dynamics::StepEdge> edges,
                              dynamics::BandEdge edge) const {
        const dynamics::AxisDynamics axis =
            dynamics::axis_dynamics(machine_, models_.loads, models_.available[look.motor],
                                    static_cast<int>(look.motor), edge);
        dynamics::WindowRun run;
        run.axis = &axis;
        run.edges = edges;
        run.duration_s = look.record.end_s - look.record.start_s;
        run.start_rate_rad_s = look.start_rate_rad_s;
        run.top_rate_rad_s = look.top_rate_rad_s;
        const auto states =
            dynamics::trace(run, dynamics::integration_step_s(axis, look.top_rate_rad_s));
        // Two values a stretch: its least and its greatest, in the order they come.
        std::vector<float> out;
        const double per_stretch = static_cast<double>(states.size()) / kAngleStretches;
        for (std::size_t i = 0; i < kAngleStretches && !states.empty(); ++i) {
            const auto first = static_cast<std::size_t>(static_cast<double>(i) * per_stretch);
            const auto last = std::min(
                states.size(), std::max(first + 1, static_cast<std::size_t>(
                                                       static_cast<double>(i + 1) * per_stretch)));
            const auto [least, greatest] = std::minmax_element(
                states.begin() + static_cast<std::ptrdiff_t>(first),
                states.begin() + static_cast<std::ptrdiff_t>(last),
                [](const dynamics::MotorState& a, const dynamics::MotorState& b) {
                    return a.lag_rad < b.lag_rad;
                });
            out.push_back(static_cast<float>(std::min(least, greatest)->lag_rad));
            out.push_back(static_cast<float>(std::max(least, greatest)->lag_rad));
        }
        return out;
    }

    void simulate_angles(Look& look) const {
        if (look.record.cut) return;
        std::vector<dynamics::StepEdge> edges;
        for (std::size_t i = 0; i < look.record.rises.size(); ++i)
            edges.push_back({look.record.rises[i] / static_cast<double>(look.record.tick_hz),
                             look.keeper->directions[i]});
        look.record.angle_low_rad = angles(look, edges, dynamics::BandEdge::low);
        look.record.angle_high_rad = angles(look, edges, dynamics::BandEdge::high);
    }

    const machine::Machine& machine_;
    const run::MotorModels& models_;
    std::vector<Look> looks_;
    Recording& recording_;
    std::vector<std::pair<double, std::size_t>> wanted_;  // times of findings
    std::size_t next_ = 0;
    double end_s_ = 0.0;
};

std::set<std::uint64_t> lines_near(std::span<const check::Finding> findings,
                                   const Recording& recording) {
    std::set<std::uint64_t> lines;
    const auto add = [&](std::uint64_t line) {
        for (std::uint64_t l = line > kLinesAround ? line - kLinesAround : 1;
             line > 0 && l <= line + kLinesAround; ++l)
            lines.insert(l);
    };
    for (const check::Finding& finding : findings)
        add(finding.line);
    for (const MomentRecord& moment : recording.moments)
        add(moment.line);
    return lines;
}

}  // namespace

planner::Result<bool> record_moments(const machine::Machine& machine,
                                     const run::MotorModels& models,
                                     const run::ProgramSource& program,
                                     const run::ProgramResult& result,
                                     std::span<const check::Finding> findings, Recording& recording,
                                     const run::ProgressCall& progress) {
    SecondLook look(machine, models, choose(machine, result, findings), findings, recording);
    const auto planned = run::plan_file(
        machine, program,
        [&](std::span<const planner::MotorMove> moves) {
            return std::all_of(moves.begin(), moves.end(),
                               [&](const planner::MotorMove& move) { return look.see(move); });
        },
        progress);
    if (!planned) return planned.diagnostics();
    look.finish();
    recording.lines = program_lines(program.file(), lines_near(findings, recording));
    return true;
}

}  // namespace stepper_sim::picture
