#include "stepper_sim/capture/capture_replan.hpp"

#include <algorithm>
#include <cmath>

#include "stepper_sim/capture/capture_plan.hpp"
#include "stepper_sim/run/plan_file.hpp"

namespace stepper_sim::capture {
namespace {

// Guesses: bounds of memory (4 MB) and time; and so many moves suffice to stop from any speed.
constexpr std::size_t kMostMoves = 20000, kMostMargin = 512;
constexpr double kMostOfAMove_steps = 1e6;   // longer ones end what is looked at
constexpr std::uint64_t kMostBlocks = 4096;  // without enough moves: 64 MB of text

/// At least so many steps of all motors: belts that cross take more.
double steps_of(const planner::Move& move, const machine::Machine& machine) {
    double steps = 0.0;
    for (std::size_t slot = 0; slot < machine.axes.size(); ++slot)
        steps += std::abs(move.end_m[slot] - move.start_m[slot]) * machine.axes[slot].steps_per_m();
    return steps;
}

class AllSteps final : public PlanSink {
  public:
    AllSteps(const machine::Machine& machine, std::size_t most) : PlanSink(machine), left_(most) {}
    bool enough() const override { return left_ == 0; }
    PlannedSteps steps;

  protected:
    void pulse(std::size_t motor, const PlannedPulse& planned) override {
        if (left_ == 0) return;
        steps[motor].push_back(planned);
        --left_;
    }

  private:
    std::size_t left_;
};

class SomeSteps final : public PlanSink {
  public:
    SomeSteps(const machine::Machine& machine, std::span<const OrderedStep> steps)
        : PlanSink(machine), times_s(steps.size()), left_(steps.size()) {
        for (std::size_t k = 0; k < steps.size(); ++k)
            wanted_[steps[k].motor].push_back({steps[k].planned, k});
    }
    bool enough() const override { return left_ == 0; }
    std::vector<double> times_s;

  protected:
    void pulse(std::size_t motor, const PlannedPulse& planned) override {
        const std::size_t number = count_[motor]++;
        std::size_t& next = next_[motor];
        const auto& wanted = wanted_[motor];
        if (next == wanted.size() || wanted[next].number != number) return;
        times_s[wanted[next++].place] = static_cast<double>(planned.time_ps) / kPicoseconds_per_s;
        --left_;
    }

  private:
    struct Wanted {
        std::size_t number, place;
    };
    std::array<std::vector<Wanted>, planner::kMaxAxes> wanted_;
    std::array<std::size_t, planner::kMaxAxes> next_{}, count_{};
    std::size_t left_;
};

}  // namespace

ProgramHead read_program_head(const machine::Machine& machine, const run::ProgramSource& program,
                              std::size_t steps) {
    ProgramHead head;
    std::vector<double> steps_until;  // and with each move
    std::size_t margin = 0;
    std::uint64_t blocks = 0;
    bool cut = false;
    const auto take = [&](std::span<const planner::Move> moves) {
        cut = cut || ++blocks > kMostBlocks;
        for (const planner::Move& move : moves) {
            const double own = steps_of(move, machine);
            cut = cut || own > kMostOfAMove_steps || margin >= kMostMargin ||
                  head.moves.size() >= kMostMoves;
            if (cut) break;
            const double before = steps_until.empty() ? 0.0 : steps_until.back();
            margin += before > static_cast<double>(steps) ? 1U : 0U;
            steps_until.push_back(before + own);
            head.moves.push_back(move);
        }
        return !cut;
    };
    if (!run::read_path(machine, program, take) || head.moves.empty()) return {};
    // Cut off, the last moves brake for an end that the program does not have.
    if (!cut)
        head.steps = steps;
    else if (head.moves.size() > kMostMargin)
        head.steps = static_cast<std::size_t>(steps_until[head.moves.size() - kMostMargin - 1]);
    head.steps = std::min(head.steps, steps);
    return head;
}

PlannedSteps planned_steps(const machine::Machine& machine, const ProgramHead& program) {
    AllSteps sink(machine, 2 * program.steps);
    if (!run_plan(machine, run::ProgramSource("program", program.moves), sink).empty()) return {};
    return std::move(sink.steps);
}

std::optional<std::vector<double>> step_times_s(const machine::Machine& machine,
                                                const ProgramHead& program,
                                                const SettingScales& scales,
                                                std::span<const OrderedStep> steps) {
    const machine::Machine with = scaled_machine(machine, scales);
    std::vector<planner::Move> moves = program.moves;
    for (planner::Move& move : moves)
        move.feed_m_s *= scales[static_cast<std::size_t>(Scaled::feed)];
    SomeSteps sink(with, steps);
    const auto wrong = run_plan(with, run::ProgramSource("program", std::move(moves)), sink);
    if (!wrong.empty() || !sink.enough()) return std::nullopt;
    return std::move(sink.times_s);
}

}  // namespace stepper_sim::capture
