#include "stepper_sim/check/guessed_checks.hpp"

#include <algorithm>

#include "stepper_sim/check/guesses.hpp"
#include "stepper_sim/run/run_sources.hpp"

namespace stepper_sim::check {

namespace {

bool any(const Findings& findings, const Finding& like, Grade least) {
    return std::any_of(findings.begin(), findings.end(), [&](const Finding& other) {
        return other.check == like.check && other.motor == like.motor && other.grade >= least;
    });
}

/// Whether what swings at the ends can change the verdict: thin stays thin, and so does a fault of another check.
bool swings_matter(const Findings& findings) {
    return verdict_of(findings) == Verdict::clear ||
           std::any_of(findings.begin(), findings.end(), [](const Finding& finding) {
               return finding.grade == Grade::fault && finding.check == "lost-steps";
           });
}

std::optional<Findings> at_corner(const GuessEnd& corner, double margin, const Recheck& recheck,
                                  bool dynamics) {
    const run::MotorModels models = run::motor_models(corner.machine);
    run::RunOptions options = recheck.options;
    options.watcher = nullptr;
    options.cures = false;
    const auto sources = run::sources_of(corner.machine, models, recheck.programs, options);
    options.dynamics = options.dynamics && dynamics;
    const auto results = run::run_sources(corner.machine, models, sources, options);
    if (!results) return std::nullopt;
    Findings findings = run_checks({corner.machine, models, results.value(), margin});
    if (!dynamics)
        std::erase_if(findings, [](const Finding& f) { return f.check == "lost-steps"; });
    return findings;
}

}  // namespace

Finding ends_unseen() {
    Finding unseen;
    unseen.check = "guesses";
    unseen.grade = Grade::risk;
    unseen.unit = "1";
    unseen.message = "the ends of what is guessed were not looked at";
    return unseen;
}

void join_corner(const Findings& at_corner, const std::string& said, Findings& findings) {
    for (Finding& finding : findings)
        if (finding.grade == Grade::fault && !any(at_corner, finding, Grade::fault)) {
            finding.grade = Grade::risk;
            finding.message += "; not so " + said;
        }
    const Findings before = findings;
    for (const Finding& finding : at_corner) {
        if (finding.grade == Grade::note || any(before, finding, Grade::risk)) continue;
        findings.push_back(finding);
        findings.back().grade = Grade::risk;
        findings.back().message += "; " + said;
    }
}

void add_guess_ends(const CheckInput& input, const Recheck& recheck, Findings& findings) {
    const bool dynamics = swings_matter(findings);
    for (const GuessEnd& corner :
         guess_ends(input.machine, guesses_of(input.machine, input.models))) {
        const auto found = at_corner(corner, input.margin, recheck, dynamics);
        if (!found) {
            findings.push_back(ends_unseen());
            return;
        }
        join_corner(*found, corner.said, findings);
    }
}

Findings run_guessed_checks(const CheckInput& input, const Recheck& recheck) {
    Findings findings = run_checks(input);
    add_guess_ends(input, recheck, findings);
    return findings;
}

}  // namespace stepper_sim::check
