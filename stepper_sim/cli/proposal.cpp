#include "stepper_sim/cli/proposal.hpp"

#include "stepper_sim/cli/terminal.hpp"

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

}  // namespace

std::optional<Proposal> propose(const Machine& machine, double margin,
                                std::span<const ProgramSource> programs) {
    auto limits = shown("looking for limits", [&](const auto& progress) {
        return find_limits({machine, programs, margin}, progress);
    });
    if (!limits) return std::nullopt;
    Proposal proposal{std::move(limits).value(), {}, {}};
    if (programs.empty()) return proposal;
    auto time = shown("timing the programs", [&](const auto& progress) {
        return time_value(machine, with_margin(machine, proposal.limits), programs, progress);
    });
    if (!time) return std::nullopt;
    proposal.time = std::move(time).value();
    auto corners = shown("looking at corners", [&](const auto& progress) {
        return corner_quality(machine, programs, progress);
    });
    if (!corners) return std::nullopt;
    proposal.corners = std::move(corners).value();
    tell_what_holds(*proposal.corners, proposal.limits);
    return proposal;
}

std::vector<ProgramSource> programs_of(const Invocation& invocation) {
    std::vector<ProgramSource> programs;
    for (const std::string& file : invocation.all("PROGRAM"))
        programs.emplace_back(file);
    return programs;
}

}  // namespace stepper_sim::cli
