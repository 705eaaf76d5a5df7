#include "stepper_sim/cli/proposal.hpp"

#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/run/run_sources.hpp"

namespace stepper_sim::cli {

namespace {

/// Runs `work` with a progress line; prints what went wrong.
template <class Work>
auto shown(std::string what, Work&& work) {
    Progress progress(std::move(what));
    auto result = work([&](double share) { progress.share(share); });
    progress.done();
    print_diagnostics(result.diagnostics());
    return result;
}

/// What would move the values most, told by the torque that the motors use at them.
std::optional<check::Measurement> measure_at(const machine::Machine& machine, double margin,
                                             std::span<const run::ProgramSource> programs) {
    run::RunOptions options;
    options.margin = margin;
    options.cures = false;
    options.most_windows = 0;
    const run::MotorModels models = run::motor_models(machine);
    const auto sources = run::sources_of(machine, models, programs, options);
    const auto results = run::run_sources(machine, models, sources, options);
    if (!results) return std::nullopt;
    return check::measure_next({machine, models, results.value(), margin}, {programs, options});
}

}  // namespace

std::optional<limits::Proposal> propose(const machine::Machine& machine, double margin,
                                        std::span<const run::ProgramSource> files) {
    const auto read = run::read_once(machine, files);
    print_diagnostics(read.diagnostics());
    if (!read) return std::nullopt;
    const std::span<const run::ProgramSource> programs = read.value();
    auto limits = shown("looking for limits", [&](const auto& progress) {
        return limits::find_limits({machine, programs, margin}, progress);
    });
    if (!limits) return std::nullopt;
    limits::Proposal proposal{std::move(limits).value(), {}, {}, {}};
    proposal.measure_next =
        measure_at(limits::just_holding(machine, proposal.limits), margin, programs);
    if (programs.empty()) return proposal;
    auto time = shown("timing the programs", [&](const auto& progress) {
        return limits::time_value(machine, limits::with_margin(machine, proposal.limits), programs,
                                  progress);
    });
    if (!time) return std::nullopt;
    proposal.time = std::move(time).value();
    auto corners = shown("looking at corners", [&](const auto& progress) {
        return limits::corner_quality(machine, programs, progress);
    });
    if (!corners) return std::nullopt;
    proposal.corners = std::move(corners).value();
    limits::tell_what_holds(*proposal.corners, proposal.limits);
    return proposal;
}

std::vector<run::ProgramSource> programs_of(const Invocation& invocation) {
    std::vector<run::ProgramSource> programs;
    for (const std::string& file : invocation.all("PROGRAM"))
        programs.emplace_back(file);
    return programs;
}

}  // namespace stepper_sim::cli
