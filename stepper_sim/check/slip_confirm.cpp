#include "stepper_sim/check/slip_confirm.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "planner/profile/motion.hpp"
#include "stepper_sim/check/plan_file.hpp"
#include "stepper_sim/controller/pulse_run.hpp"
#include "stepper_sim/dynamics/spread.hpp"

namespace stepper_sim {

namespace {

// Windows are simulated together so that the model's lanes are full, and no more of their pulses
// are held at once than this many windows have.
constexpr std::size_t kBatch = 16;
// Edges are gathered only around windows: this long before and after, since a pulse may be late and
// a style may emit a step in the move after its own. Guess: far beyond any lateness that is no fault.
constexpr double kGather_s = 0.5;
// Draws behind a likelihood: good to about 9 points.
constexpr int kDraws = 32;
constexpr std::uint64_t kSeed = 20261125;
// A likelihood costs kDraws simulations: the worst windows get one.
constexpr int kDrawnWindows = 3;

struct Job {
    SlipWindow slip;
    std::vector<StepEdge> edges;
    double rad_per_m = 0.0;  // of its motor
    double last_sign = 0.0;
    double first_reversal_s = 0.0, last_reversal_s = 0.0;
};

/// The windows to simulate, in the order they begin.
std::vector<Job> pick(const MotorModels& models, std::vector<MotorScreen>& screens,
                      int most_windows, SlipResult& result) {
    std::vector<Job> jobs;
    for (std::size_t m = 0; m < screens.size(); ++m) {
        result.motors[m] = screens[m].worst;
        for (const Window& window : screens[m].windows) {
            Job job;
            job.slip.motor = static_cast<int>(m);
            job.slip.window = window;
            job.rad_per_m = 1.0 / models.loads.motors[m].radius_m;
            jobs.push_back(std::move(job));
        }
    }
    std::stable_sort(jobs.begin(), jobs.end(), [](const Job& a, const Job& b) {
        return window_risk(a.slip.window) > window_risk(b.slip.window);
    });
    jobs.resize(std::min(jobs.size(), static_cast<std::size_t>(std::max(most_windows, 0))));
    std::stable_sort(jobs.begin(), jobs.end(), [](const Job& a, const Job& b) {
        return a.slip.window.run_in_s < b.slip.window.run_in_s;
    });
    return jobs;
}

/// Gives every window the pulses of its motor that fall into it.
class WindowSink final : public EdgeSink {
  public:
    WindowSink(std::vector<Job>& jobs, double tick_s) : jobs_(jobs), tick_s_(tick_s) {}

    void take(std::span<const Edge> edges) override {
        for (const Edge& edge : edges) {
            const double time_s = static_cast<double>(edge.tick) * tick_s_;
            delivered_s = time_s;
            if (edge.kind != EdgeKind::step_rise) continue;
            for (std::size_t i = first_open; i < jobs_.size(); ++i) {
                const Window& window = jobs_[i].slip.window;
                if (window.run_in_s > time_s) break;
                if (jobs_[i].slip.motor == edge.motor && time_s <= window.end_s)
                    jobs_[i].edges.push_back({time_s - window.run_in_s, edge.direction});
            }
        }
    }

    std::size_t first_open = 0;  // windows before this one are simulated
    double delivered_s = 0.0;    // every edge before it has been taken; moves run ahead of edges

  private:
    std::vector<Job>& jobs_;
    double tick_s_;
};

/// The speed at the beginning of a window that begins inside this move or the rest before it.
void note_start(const planner::MotorMove& move, Job& job) {
    Window& window = job.slip.window;
    const double after_s = window.run_in_s - move.start.seconds();
    const bool inside =
        after_s >= -std::max(move.rest_before_s, 0.0) && after_s < move.profile.duration_s;
    if (!window.begins_inside || !inside) return;
    const auto m = static_cast<std::size_t>(job.slip.motor);
    const double share = (move.motor_end_m[m] - move.motor_start_m[m]) / move.length_m;
    const double speed_m_s = after_s < 0.0 ? 0.0 : planner::speed_at(move.profile, after_s);
    window.start_rate_rad_s = share * speed_m_s * job.rad_per_m;
}

/// Line, place, reversals and start of the windows that a move lies in.
void note_move(const planner::MotorMove& move, std::size_t first_open, std::vector<Job>& jobs) {
    const double begin_s = move.start.seconds(), end_s = begin_s + move.profile.duration_s;
    for (std::size_t i = first_open; i < jobs.size(); ++i) {
        Job& job = jobs[i];
        const Window& window = job.slip.window;
        if (window.run_in_s > end_s) break;
        if (begin_s > window.end_s) continue;
        note_start(move, job);
        const auto m = static_cast<std::size_t>(job.slip.motor);
        const double travel_m = move.motor_end_m[m] - move.motor_start_m[m];
        if (window.ratio_time_s >= begin_s - std::max(move.rest_before_s, 0.0) &&
            window.ratio_time_s <= end_s)
            job.slip.at = moment_in(move, m, window.ratio_time_s - begin_s);
        if (travel_m == 0.0) continue;
        const double sign = std::copysign(1.0, travel_m);
        if (job.last_sign != 0.0 && sign != job.last_sign) {
            if (job.slip.reversals++ == 0) job.first_reversal_s = begin_s;
            job.last_reversal_s = begin_s;
        }
        job.last_sign = sign;
    }
}

class Judge {
  public:
    Judge(const Machine& machine, const MotorModels& models) {
        for (int m = 0; m < static_cast<int>(machine.axes.size()); ++m) {
            const auto& available = models.available[static_cast<std::size_t>(m)];
            for (const BandEdge edge : {BandEdge::low, BandEdge::nominal, BandEdge::high})
                axes_[static_cast<std::size_t>(edge)].push_back(
                    axis_dynamics(machine, models.loads, available, m, edge));
        }
    }

    /// Whether the windows of a batch hold at the low edge of the torque band.
    void judge_holding(std::span<Job> jobs) const {
        judge(jobs, BandEdge::low, &SlipWindow::low, true);
    }

    /// The whole answer: where the low edge slips, the high edge too, and a likelihood for the first.
    void judge_fully(std::span<Job> jobs) {
        judge(jobs, BandEdge::low, &SlipWindow::low, false);
        for (Job& job : jobs) {
            finish(job);
            if (job.slip.low.verdict == SlipVerdict::passes) continue;
            judge({&job, 1}, BandEdge::high, &SlipWindow::high, false);
            if (drawn_ < kDrawnWindows) {
                ++drawn_;
                job.slip.likelihood = likelihood(job);
            }
        }
    }

    /// Fills in what the reason is read from.
    void finish(Job& job) const {
        const AxisDynamics& nominal = axis(BandEdge::nominal, job.slip.motor);
        const VibrationModes modes = vibration_modes(nominal);
        job.slip.natural_hz = modes.mode[0].rate_rad_s / (2.0 * std::numbers::pi);
        const double corner = corner_rate_rad_s(nominal);
        if (corner > 0.0) job.slip.corner_share = job.slip.window.top_rate_rad_s / corner;
        const double span_s = job.last_reversal_s - job.first_reversal_s;
        if (job.slip.reversals > 1 && span_s > 0.0)
            job.slip.reversal_rate_hz = 0.5 * static_cast<double>(job.slip.reversals - 1) / span_s;
    }

  private:
    const AxisDynamics& axis(BandEdge edge, int motor) const {
        return axes_[static_cast<std::size_t>(edge)][static_cast<std::size_t>(motor)];
    }

    WindowCase case_of(const Job& job, BandEdge edge, bool until_lost = false) const {
        const Window& window = job.slip.window;
        return {&axis(edge, job.slip.motor),
                job.edges,
                window.end_s - window.run_in_s,
                window.start_rate_rad_s,
                window.top_rate_rad_s,
                window.long_fast_stretch,
                until_lost};
    }

    void judge(std::span<Job> jobs, BandEdge edge, Confirmation SlipWindow::*field,
               bool until_lost) const {
        std::vector<WindowCase> cases;
        for (const Job& job : jobs)
            cases.push_back(case_of(job, edge, until_lost));
        std::vector<Confirmation> confirmed(jobs.size());
        confirm(cases, confirmed);
        for (std::size_t i = 0; i < jobs.size(); ++i)
            jobs[i].slip.*field = confirmed[i];
    }

    double likelihood(const Job& job) const {
        const AxisDynamics& nominal = axis(BandEdge::nominal, job.slip.motor);
        Spread spread;
        spread.torque_low_factor =
            axis(BandEdge::low, job.slip.motor).torque_factor / nominal.torque_factor;
        spread.torque_high_factor =
            axis(BandEdge::high, job.slip.motor).torque_factor / nominal.torque_factor;
        return slip_likelihood(case_of(job, BandEdge::nominal), CurrentRegulator::dead_beat, spread,
                               kDraws, kSeed);
    }

    std::array<std::vector<AxisDynamics>, 3> axes_;
    int drawn_ = 0;
};

bool near_a_window(const planner::MotorMove& move, std::size_t first_open,
                   std::span<const Job> jobs) {
    const double begin_s = move.start.seconds() - std::max(move.rest_before_s, 0.0) - kGather_s;
    const double end_s = move.start.seconds() + move.profile.duration_s + kGather_s;
    for (std::size_t i = first_open; i < jobs.size(); ++i) {
        const Window& window = jobs[i].slip.window;
        if (window.run_in_s > end_s) return false;
        if (window.end_s >= begin_s) return true;
    }
    return false;
}

/// Plans the program again and hands `batch` the windows whose pulses are complete, a few at a time;
/// ends when it returns false or all windows are through.
template <class Batch>
planner::Result<bool> for_each_batch(const Machine& machine, const ProgramSource& program,
                                     std::vector<Job>& jobs, Batch&& batch,
                                     const ProgressCall& progress = {}) {
    PulseRun pulses(machine);
    WindowSink sink(jobs, 1.0 / static_cast<double>(pulses.tick_hz()));
    bool wanted = true, gathers = false;
    const auto settle = [&](bool all) {
        std::size_t last = sink.first_open;
        while (last < jobs.size() && (all || jobs[last].slip.window.end_s < sink.delivered_s))
            ++last;
        if (last - sink.first_open < kBatch && !all) return;
        wanted = batch(std::span(jobs).subspan(sink.first_open, last - sink.first_open));
        for (; sink.first_open < last; ++sink.first_open)
            jobs[sink.first_open].edges = {};
    };
    const auto planned = plan_file(
        machine, program,
        [&](std::span<const planner::MotorMove> moves) {
            for (const planner::MotorMove& move : moves) {
                note_move(move, sink.first_open, jobs);
                if (gathers != near_a_window(move, sink.first_open, jobs)) {
                    gathers = !gathers;
                    pulses.edges_to(gathers ? &sink : nullptr);
                }
                pulses.push({&move, 1});
                settle(false);
                if (!wanted) return false;
            }
            return sink.first_open < jobs.size();
        },
        progress);
    if (!planned) return planned.diagnostics();
    pulses.finish();
    if (wanted) settle(true);
    return wanted;
}

}  // namespace

planner::Result<HoldAnswer> all_hold(const Machine& machine, const MotorModels& models,
                                     const ProgramSource& program, std::vector<MotorScreen> screens,
                                     int most_windows) {
    std::uint64_t found = 0;
    for (const MotorScreen& screen : screens)
        found += screen.worst.suspicious;
    if (found > static_cast<std::uint64_t>(std::max(most_windows, 0)))
        return HoldAnswer{false, std::nullopt};
    SlipResult ignored;
    std::vector<Job> jobs = pick(models, screens, most_windows, ignored);
    HoldAnswer answer;
    if (jobs.empty()) return answer;
    if (std::ranges::any_of(jobs, [](const Job& job) { return job.slip.window.cut_off; }))
        return HoldAnswer{false, std::nullopt};
    const Judge judge(machine, models);
    const auto held = for_each_batch(machine, program, jobs, [&](std::span<Job> batch) {
        judge.judge_holding(batch);
        for (Job& job : batch) {
            if (job.slip.low.verdict == SlipVerdict::passes) continue;
            judge.finish(job);
            answer = {false, job.slip};
            break;
        }
        return answer.holds;
    });
    if (!held) return held.diagnostics();
    return answer;
}

SlipReason SlipWindow::reason() const {
    constexpr std::uint64_t kManyReversals = 4;
    const double near = reversal_rate_hz / natural_hz;
    if (reversals >= kManyReversals && near > kNearBelow && near < kNearAbove)
        return SlipReason::resonance;
    if (window.long_fast_stretch) return SlipReason::instability;
    return corner_share > 1.0 ? SlipReason::torque : SlipReason::swing;
}

planner::Result<SlipResult> confirm_slips(const Machine& machine, const MotorModels& models,
                                          const ProgramSource& program,
                                          std::vector<MotorScreen> screens, int most_windows,
                                          const ProgressCall& progress) {
    SlipResult result;
    result.run = true;
    std::vector<Job> jobs = pick(models, screens, most_windows, result);
    if (jobs.empty()) return result;

    Judge judge(machine, models);
    const auto judge_batch = [&](std::span<Job> batch) {
        judge.judge_fully(batch);
        return true;
    };
    const auto planned = for_each_batch(machine, program, jobs, judge_batch, progress);
    if (!planned) return planned.diagnostics();

    std::stable_sort(jobs.begin(), jobs.end(), [](const Job& a, const Job& b) {
        return window_risk(a.slip.window) > window_risk(b.slip.window);
    });
    for (Job& job : jobs) {
        ++result.motors[static_cast<std::size_t>(job.slip.motor)].simulated;
        result.windows.push_back(job.slip);
    }
    return result;
}

}  // namespace stepper_sim
