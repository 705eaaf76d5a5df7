#include "stepper_sim/capture/capture_plan.hpp"

#include "stepper_sim/controller/pulse_run.hpp"
#include "stepper_sim/run/plan_file.hpp"

namespace stepper_sim::capture {
namespace {

constexpr std::int64_t kPicosecond_hz = 1'000'000'000'000;

}  // namespace

PlanSink::PlanSink(const machine::Machine& machine)
    : clock_(controller::tick_hz_of(machine.controller), kPicosecond_hz) {}

void PlanSink::take(std::span<const controller::Edge> edges) {
    for (const controller::Edge& edge : edges)
        if (edge.kind == controller::EdgeKind::step_rise)
            pulse(edge.motor, {clock_.units(edge.tick), edge.line, edge.direction});
    batch_done();
}

std::vector<planner::Diagnostic> run_plan(const machine::Machine& machine,
                                          const run::ProgramSource& program, PlanSink& sink) {
    controller::PulseRun pulses(machine, &sink);
    const auto planned =
        run::plan_file(machine, program, [&](std::span<const planner::MotorMove> moves) {
            for (const planner::MotorMove& move : moves) {
                if (sink.enough()) return false;
                pulses.push({&move, 1});
            }
            return !sink.enough();
        });
    if (!planned) return planned.diagnostics();
    if (!sink.enough()) pulses.finish();
    return {};
}

}  // namespace stepper_sim::capture
