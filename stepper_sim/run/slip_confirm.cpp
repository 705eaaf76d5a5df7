#include "stepper_sim/run/slip_confirm.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "planner/profile/motion.hpp"
#include "stepper_sim/controller/pulse_run.hpp"
#include "stepper_sim/dynamics/screen_move.hpp"
#include "stepper_sim/run/measure_swings.hpp"
#include "stepper_sim/run/plan_file.hpp"
#include "stepper_sim/run/slip_judge.hpp"
#include "stepper_sim/run/slip_pick.hpp"

namespace stepper_sim::run {

namespace {

// Windows are simulated together so that the model's lanes are full, and no more of their pulses
// are held at once than this many windows have.
constexpr std::size_t kBatch = 16;
// Fewer where they are long and fast: 16 MB of pulses. Guess: some of the shipped programs' longest windows.
constexpr std::size_t kMostHeldEdges = std::size_t{1} << 20U;
// Edges are gathered only around windows: this long before and after, since a pulse may be late and
// a style may emit a step in the move after its own. Guess: far beyond any lateness that is no fault.
constexpr double kGather_s = 0.5;
// A likelihood costs many simulations: the worst windows get one.
constexpr int kDrawnWindows = 3;
// Reversals so evenly apart are one train.
constexpr double kEven = 0.12;

/// Follows the reversals of one motor and keeps the longest train of even ones.
struct ReversalTrain {
    double last_sign = 0.0, last_s = 0.0, half_s = 0.0, begin_s = 0.0;
    int length = 0, longest = 0;
    double rate_hz = 0.0;
    std::uint64_t reversals = 0;

    void travel(double sign, double time_s) {
        if (last_sign != 0.0 && sign != last_sign) reverse(time_s);
        last_sign = sign;
    }

  private:
    void reverse(double time_s) {
        const double now_s = time_s - last_s;
        const bool even = reversals > 1 && std::fabs(now_s - half_s) < kEven * half_s;
        if (!even) {
            length = 0;
            begin_s = last_s;
        }
        if (reversals++ > 0 && ++length > longest) {
            longest = length;
            rate_hz = 0.5 * length / (time_s - begin_s);
        }
        half_s = now_s;
        last_s = time_s;
    }
};

/// A move that a window lies in: to tell where in the program a moment is.
struct Place {
    double begin_s = 0.0;
    Moment at;
};

struct Job {
    JudgedWindow judged;
    std::size_t picked = 0;  // which of the picked windows
    ReversalTrain train;
    std::vector<Place> places;

    const dynamics::Window& window() const { return judged.slip.window; }
};

/// The windows to simulate, in the order they begin.
std::vector<Job> jobs_of(const machine::Machine& machine, const MotorModels& models,
                         std::span<const PickedWindow> picked) {
    std::vector<Job> jobs;
    const auto plants = plants_of(machine);
    for (std::size_t i = 0; i < picked.size(); ++i) {
        Job job;
        job.picked = i;
        SlipWindow& slip = job.judged.slip;
        slip.motor = static_cast<int>(picked[i].motor);
        slip.window = picked[i].window;
        slip.like_riskier = picked[i].rank > 0;
        for (const auto& slots : plants)
            if (slots.size() == 2 && slots.front() == picked[i].motor)
                slip.beside = static_cast<int>(slots.back());
        for (std::size_t m = 0; m < job.judged.motor_count(); ++m)
            job.judged.motors[m].rad_per_m = 1.0 / models.loads.motors[job.judged.slot(m)].radius_m;
        jobs.push_back(std::move(job));
    }
    std::stable_sort(jobs.begin(), jobs.end(), [](const Job& a, const Job& b) {
        return a.window().run_in_s < b.window().run_in_s;
    });
    return jobs;
}

/// Gives every window the pulses of its motors that fall into it.
class WindowSink final : public controller::EdgeSink {
  public:
    WindowSink(std::vector<Job>& jobs, double tick_s) : jobs_(jobs), tick_s_(tick_s) {}

    void take(std::span<const controller::Edge> edges) override {
        for (const controller::Edge& edge : edges) {
            const double time_s = static_cast<double>(edge.tick) * tick_s_;
            delivered_s = time_s;
            if (edge.kind != controller::EdgeKind::step_rise) continue;
            for (std::size_t i = first_open; i < jobs_.size(); ++i) {
                JudgedWindow& judged = jobs_[i].judged;
                const dynamics::Window& window = judged.slip.window;
                if (window.run_in_s > time_s) break;
                if (time_s > window.end_s) continue;
                for (std::size_t m = 0; m < judged.motor_count(); ++m)
                    if (judged.slot(m) == static_cast<std::size_t>(edge.motor)) {
                        judged.motors[m].edges.push_back(
                            {time_s - window.run_in_s, edge.direction});
                        ++held_edges;
                    }
            }
        }
    }

    std::size_t first_open = 0;  // windows before this one are simulated
    std::size_t held_edges = 0;  // of the others
    double delivered_s = 0.0;    // every edge before it has been taken; moves run ahead of edges

  private:
    std::vector<Job>& jobs_;
    double tick_s_;
};

/// The speeds of the motors where a window begins inside this move or the rest before it.
void note_start(const planner::MotorMove& move, Job& job) {
    const double after_s = job.window().run_in_s - move.start.seconds();
    const bool inside =
        after_s >= -std::max(move.rest_before_s, 0.0) && after_s < move.profile.duration_s;
    if (!inside) return;
    const double speed_m_s = after_s < 0.0 ? 0.0 : planner::speed_at(move.profile, after_s);
    for (std::size_t m = 0; m < job.judged.motor_count(); ++m) {
        JudgedMotor& motor = job.judged.motors[m];
        motor.start_rate_rad_s =
            dynamics::motor_share(move, job.judged.slot(m), motor.rad_per_m) * speed_m_s;
    }
    job.judged.slip.window.start_rate_rad_s = job.judged.motors[0].start_rate_rad_s;
}

/// What was planned for the motors, from a window that begins with a move.
void note_phases(const planner::MotorMove& move, Job& job) {
    const bool first = move.start.seconds() <= job.window().run_in_s;
    if (job.window().begins_inside) return;
    for (std::size_t m = 0; m < job.judged.motor_count(); ++m) {
        JudgedMotor& motor = job.judged.motors[m];
        if (!first && motor.phases.empty()) continue;
        dynamics::for_each_rate_phase(
            move, dynamics::motor_share(move, job.judged.slot(m), motor.rad_per_m),
            [&,
             skip = first && move.rest_before_s >= 0.0](const dynamics::RatePhase& phase) mutable {
                if (!std::exchange(skip, false)) motor.phases.push_back(phase);
            });
    }
}

/// Line, place, reversals and start of the windows that a move lies in.
void note_move(const planner::MotorMove& move, std::size_t first_open, bool wants_phases,
               std::vector<Job>& jobs) {
    const double begin_s = move.start.seconds(), end_s = begin_s + move.profile.duration_s;
    for (std::size_t i = first_open; i < jobs.size(); ++i) {
        Job& job = jobs[i];
        const dynamics::Window& window = job.window();
        if (window.run_in_s > end_s) break;
        if (begin_s > window.end_s) continue;
        note_start(move, job);
        if (wants_phases) note_phases(move, job);
        const std::size_t m = job.judged.slot(0);
        job.places.push_back({begin_s, moment_in(move, m, 0.0)});
        if (window.ratio_time_s >= begin_s - std::max(move.rest_before_s, 0.0) &&
            window.ratio_time_s <= end_s)
            job.judged.slip.at = moment_in(move, m, window.ratio_time_s - begin_s);
        const double travel_m = move.motor_end_m[m] - move.motor_start_m[m];
        if (travel_m != 0.0) job.train.travel(std::copysign(1.0, travel_m), begin_s);
    }
}

bool near_a_window(const planner::MotorMove& move, std::size_t first_open,
                   std::span<const Job> jobs) {
    const double begin_s = move.start.seconds() - std::max(move.rest_before_s, 0.0) - kGather_s;
    const double end_s = move.start.seconds() + move.profile.duration_s + kGather_s;
    for (std::size_t i = first_open; i < jobs.size(); ++i) {
        const dynamics::Window& window = jobs[i].window();
        if (window.run_in_s > end_s) return false;
        if (window.end_s >= begin_s) return true;
    }
    return false;
}

std::size_t edges_of(std::span<const Job> jobs) {
    std::size_t edges = 0;
    for (const Job& job : jobs)
        for (const JudgedMotor& motor : job.judged.motors)
            edges += motor.edges.size();
    return edges;
}

/// Plans the program again and hands `batch` the windows whose pulses are complete, a few at a time;
/// ends when it returns false or all windows are through.
template <class Batch>
planner::Result<bool> for_each_batch(const machine::Machine& machine, const ProgramSource& program,
                                     std::vector<Job>& jobs, bool wants_phases, Batch&& batch,
                                     const ProgressCall& progress = {}) {
    controller::PulseRun pulses(machine);
    WindowSink sink(jobs, 1.0 / static_cast<double>(pulses.tick_hz()));
    bool wanted = true, gathers = false;
    const auto settle = [&](bool all) {
        std::size_t last = sink.first_open;
        while (last < jobs.size() && (all || jobs[last].window().end_s < sink.delivered_s))
            ++last;
        const bool enough = last - sink.first_open >= kBatch || sink.held_edges >= kMostHeldEdges;
        if (last == sink.first_open || !(enough || all)) return;
        const std::size_t held =
            edges_of(std::span(jobs).subspan(sink.first_open, last - sink.first_open));
        wanted = batch(std::span(jobs).subspan(sink.first_open, last - sink.first_open));
        sink.held_edges -= held;
        for (; sink.first_open < last; ++sink.first_open)
            for (JudgedMotor& motor : jobs[sink.first_open].judged.motors)
                motor = {};
    };
    const auto planned = plan_file(
        machine, program,
        [&](std::span<const planner::MotorMove> moves) {
            for (const planner::MotorMove& move : moves) {
                note_move(move, sink.first_open, wants_phases, jobs);
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

/// The move in which steps are lost says more than the one in which the screen saw most.
void note_loss(Job& job) {
    SlipWindow& slip = job.judged.slip;
    if (slip.answer.lost_time_s < 0.0) return;
    const double lost_s = slip.window.run_in_s + slip.answer.lost_time_s;
    for (const Place& place : job.places)
        if (place.begin_s <= lost_s) slip.at = place.at;
}

/// Judges a batch; the windows keep their places.
void judge(SlipJudge& judge, std::span<Job> jobs) {
    std::vector<JudgedWindow> windows;
    for (Job& job : jobs) {
        job.judged.slip.reversals = job.train.reversals;
        job.judged.slip.reversal_rate_hz = job.train.rate_hz;
        windows.push_back(std::move(job.judged));
    }
    judge.judge(windows);
    for (std::size_t i = 0; i < jobs.size(); ++i) {
        jobs[i].judged = std::move(windows[i]);
        note_loss(jobs[i]);
        jobs[i].places = {};
    }
}

struct Question {
    const machine::Machine& machine;
    const MotorModels& models;
    const ProgramSource& program;
    bool until_first;  // that does not hold
    bool pulses_late;
    ProgressCall progress;
};

/// Simulates picked windows in one pass over the program; false where it ended at one that does not hold.
planner::Result<bool> judge_all(const Question& question, SlipJudge& slip_judge, WindowKinds& kinds,
                                std::span<const PickedWindow> picked,
                                std::vector<SlipWindow>& judged) {
    if (picked.empty()) return true;
    std::vector<Job> jobs = jobs_of(question.machine, question.models, picked);
    return for_each_batch(
        question.machine, question.program, jobs, question.pulses_late,
        [&](std::span<Job> batch) {
            judge(slip_judge, batch);
            bool holds = true;
            for (const Job& job : batch) {
                kinds.take(picked[job.picked], job.judged.slip);
                judged.push_back(job.judged.slip);
                holds = holds && job.judged.slip.answer.holds();
            }
            return holds || !question.until_first;
        },
        question.progress);
}

/// The spokesmen of every kind of window, then what they do not vouch for.
planner::Result<bool> judge_kinds(const Question& question, SlipJudge& slip_judge,
                                  WindowKinds& kinds, int most_windows,
                                  std::vector<SlipWindow>& judged) {
    const auto most = static_cast<std::size_t>(std::max(most_windows, 0));
    auto first = judge_all(question, slip_judge, kinds, kinds.spokesmen(most), judged);
    if (!first || !first.value()) return first;
    return judge_all(question, slip_judge, kinds, kinds.doubtful(most - judged.size()), judged);
}

}  // namespace

planner::Result<HoldAnswer> all_hold(const machine::Machine& machine, const MotorModels& models,
                                     const ProgramSource& program, std::vector<MotorScreen> screens,
                                     const ConfirmOptions& options) {
    WindowKinds kinds(screens);
    SlipJudge slip_judge(machine, models, {options.margin, false, true, 0, options.hints});
    std::vector<SlipWindow> judged;
    const auto held = judge_kinds({machine, models, program, true, false, {}}, slip_judge, kinds,
                                  options.most_windows, judged);
    if (!held) return held.diagnostics();
    for (const SlipWindow& slip : judged)
        if (!slip.answer.holds()) return HoldAnswer{false, slip};
    std::vector<std::uint64_t> simulated(screens.size());
    for (const SlipWindow& slip : judged) {
        if (slip.window.cut_off) return HoldAnswer{false, std::nullopt};
        ++simulated[static_cast<std::size_t>(slip.motor)];
    }
    for (std::size_t m = 0; m < screens.size(); ++m)
        if (simulated[m] + kinds.vouched_for(m) < screens[m].worst.suspicious)
            return HoldAnswer{false, std::nullopt};
    return HoldAnswer{};
}

SlipReason SlipWindow::reason() const {
    constexpr std::uint64_t kManyReversals = 4;
    if (answer.only_late) return SlipReason::late_pulses;
    const double near = reversal_rate_hz / natural_hz;
    if (reversals >= kManyReversals && near > kNearBelow && near < kNearAbove)
        return SlipReason::resonance;
    if (window.long_fast_stretch) return SlipReason::instability;
    return base_share > 1.0 ? SlipReason::torque : SlipReason::swing;
}

planner::Result<SlipResult> confirm_slips(const machine::Machine& machine,
                                          const MotorModels& models, const ProgramSource& program,
                                          std::vector<MotorScreen> screens,
                                          const ConfirmOptions& options,
                                          const ProgressCall& progress) {
    SlipResult result;
    result.run = true;
    measure_swings(machine, models, screens);
    for (std::size_t m = 0; m < screens.size(); ++m)
        result.motors[m] = screens[m].worst;
    WindowKinds kinds(screens);
    SlipJudge slip_judge(machine, models,
                         {options.margin, options.pulses_late, false, kDrawnWindows});
    std::vector<SlipWindow> judged;
    const auto planned =
        judge_kinds({machine, models, program, false, options.pulses_late, progress}, slip_judge,
                    kinds, options.most_windows, judged);
    if (!planned) return planned.diagnostics();

    for (const SlipWindow& slip : judged)
        ++result.motors[static_cast<std::size_t>(slip.motor)].simulated;
    for (std::size_t m = 0; m < screens.size(); ++m)
        result.motors[m].like_simulated = kinds.vouched_for(m);
    std::ranges::stable_sort(judged, [](const SlipWindow& a, const SlipWindow& b) {
        return dynamics::window_risk(a.window) > dynamics::window_risk(b.window);
    });
    result.windows = std::move(judged);
    return result;
}

}  // namespace stepper_sim::run
