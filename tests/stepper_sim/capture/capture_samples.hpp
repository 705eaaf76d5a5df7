/// Captures made from our own edges, whole or with one fault put in, for the tests of `capture`.
#pragma once

#include <functional>
#include <sstream>
#include <string>
#include <vector>

#include "stepper_sim/capture/capture.hpp"
#include "stepper_sim/capture/vcd.hpp"
#include "stepper_sim/controller/pulse_run.hpp"
#include "stepper_sim/run/plan_file.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace stepper_sim::samples {

/// The bench, its pulses wide enough for a fault to be put in without a second one.
inline machine::Machine capture_machine() {
    return machine_from(changed("lookahead_moves = 16", "lookahead_moves = 0"));
}

inline std::vector<controller::Edge> edges_of(const machine::Machine& machine,
                                              const std::filesystem::path& program) {
    controller::EdgeList list;
    controller::PulseRun pulses(machine, &list);
    const auto planned =
        run::plan_file(machine, program, [&](std::span<const planner::MotorMove> moves) {
            pulses.push(moves);
            return true;
        });
    EXPECT_TRUE(planned);
    pulses.finish();
    return std::move(list.edges);
}

inline std::string vcd_of(const machine::Machine& machine,
                          std::span<const controller::Edge> edges) {
    std::ostringstream out;
    capture::VcdWriter writer(out, machine.program.axes.letters(),
                              controller::tick_hz_of(machine.controller));
    writer.take(edges);
    return std::move(out).str();
}

inline capture::CaptureReport capture_of(const machine::Machine& machine, const std::string& trace,
                                         const std::optional<std::filesystem::path>& program = {}) {
    std::istringstream in(trace);
    capture::CaptureOptions options;
    options.program = program;
    auto report = capture::run_capture(machine, in, "trace.vcd", options);
    for (const planner::Diagnostic& diagnostic : report.diagnostics())
        ADD_FAILURE() << planner::to_line(diagnostic);
    return report ? std::move(report).value() : capture::CaptureReport{};
}

/// The place of the `number`-th rise (from 0) of a motor.
inline std::size_t rise_at(const std::vector<controller::Edge>& edges, int motor,
                           std::size_t number) {
    for (std::size_t i = 0; i < edges.size(); ++i)
        if (edges[i].motor == motor && edges[i].kind == controller::EdgeKind::step_rise &&
            number-- == 0)
            return i;
    ADD_FAILURE() << "too few pulses";
    return 0;
}

/// The fall that ends the pulse that rises at `rise`.
inline std::size_t fall_of(const std::vector<controller::Edge>& edges, std::size_t rise) {
    for (std::size_t i = rise; i < edges.size(); ++i)
        if (edges[i].motor == edges[rise].motor && edges[i].kind == controller::EdgeKind::step_fall)
            return i;
    ADD_FAILURE() << "no fall";
    return rise;
}

inline void erase_pulse(std::vector<controller::Edge>& edges, std::size_t rise) {
    edges.erase(edges.begin() + static_cast<std::ptrdiff_t>(fall_of(edges, rise)));
    edges.erase(edges.begin() + static_cast<std::ptrdiff_t>(rise));
}

inline std::string messages(const check::Findings& findings) {
    std::string out;
    for (const check::Finding& finding : findings)
        out += finding.check + ": " + finding.message + "\n";
    return out.empty() ? "none" : out;
}

}  // namespace stepper_sim::samples
