/// Every machine with every program, each pair judged by itself: what `check` does with folders. One file that cannot be used does not
/// hide the others. Pairs are spread over the cores; the order and the figures do not depend on how many there are.
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "stepper_sim/check/report.hpp"
#include "stepper_sim/run/run_program.hpp"

namespace stepper_sim::check {

struct PairReport {
    std::string machine, program;             // files; program empty: the settings alone
    std::optional<Report> report;             // none: one of the two cannot be used
    std::vector<planner::Diagnostic> errors;  // then, why
};

struct PairsQuestion {
    std::span<const std::string> machines,
        programs;  // without programs the settings alone are judged
    std::vector<std::filesystem::path> catalogue;
    run::RunOptions options;
    double margin = run::kDefaultMargin;
};

/// Machine by machine, in the order given; a machine that cannot be read has one row. `progress`: called now and then, from any thread.
std::vector<PairReport> check_pairs(const PairsQuestion& question,
                                    const run::ProgressCall& progress = {});

/// The worst verdict; none where any pair could not be judged.
std::optional<Verdict> worst_verdict(std::span<const PairReport> pairs);

}  // namespace stepper_sim::check
