/// The pulses that a machine's controller plans for a program, in a trace's unit of time, handed to a sink one by one. What is
/// done with them: capture.cpp compares, capture_channels.hpp and capture_scales.hpp look for what a trace shows instead.
#pragma once

#include <span>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/capture/capture_agree.hpp"
#include "stepper_sim/capture/trace_lines.hpp"
#include "stepper_sim/controller/edge.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/run/program_source.hpp"

namespace stepper_sim::capture {

class PlanSink : public controller::EdgeSink {
  public:
    explicit PlanSink(const machine::Machine& machine);
    void take(std::span<const controller::Edge> edges) final;
    /// The plan need not go on.
    virtual bool enough() const = 0;

  protected:
    virtual void pulse(std::size_t motor, const PlannedPulse& planned) = 0;
    virtual void batch_done() {}

  private:
    UnitClock clock_;
};

/// Plans until the sink has enough. Errors: those of run/plan_file.hpp.
[[nodiscard]] std::vector<planner::Diagnostic> run_plan(const machine::Machine& machine,
                                                        const run::ProgramSource& program,
                                                        PlanSink& sink);

}  // namespace stepper_sim::capture
