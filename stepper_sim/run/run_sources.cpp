#include "stepper_sim/run/run_sources.hpp"

#include "stepper_sim/run/worst_moves.hpp"

namespace stepper_sim::run {

std::vector<ProgramSource> sources_of(const machine::Machine& machine, const MotorModels& models,
                                      std::span<const ProgramSource> programs,
                                      const RunOptions& options) {
    if (programs.empty() && options.dynamics) return worst_programs(machine, models);
    return {programs.begin(), programs.end()};
}

planner::Result<std::vector<ProgramResult>> run_sources(const machine::Machine& machine,
                                                        const MotorModels& models,
                                                        std::span<const ProgramSource> sources,
                                                        const RunOptions& options,
                                                        const ProgressCall& progress) {
    std::vector<ProgramResult> results;
    const auto count = static_cast<double>(sources.size());
    for (const ProgramSource& source : sources) {
        const auto done = static_cast<double>(results.size());
        ProgressCall part;
        if (progress) part = [&, done](double share) { progress((done + share) / count); };
        auto result = run_program(machine, models, source, options, part);
        if (!result) return std::move(result).diagnostics();
        results.push_back(std::move(result).value());
    }
    return results;
}

}  // namespace stepper_sim::run
