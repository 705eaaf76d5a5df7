#include <fmt/core.h>

#include <algorithm>

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim::check {

namespace {

using planner::Spot;
using planner::SpotKind;
using planner::UnknownWord;

constexpr std::size_t kListed = 8;
constexpr std::string_view kRemedy =
    "say what it does under [program.words] (check --words prints the lines to fill in)";

/// Spots after which the machine may do something else than was planned here; the others are only worth knowing.
bool may_change_motion(SpotKind kind) {
    switch (kind) {
        case SpotKind::number_without_letter:
        case SpotKind::punctuation_only:
        case SpotKind::unbalanced_parenthesis:
        case SpotKind::glued_e:
        case SpotKind::unset_parameter:
        case SpotKind::skipped_motion:
        case SpotKind::plunge_at_traverse:
        case SpotKind::probe_as_feed:
        case SpotKind::coarse_arc:
        case SpotKind::incomplete_cycle:
        case SpotKind::e_like_distances:
        case SpotKind::e_like_positions:
            return true;
        default:
            return false;
    }
}

Finding finding_at(Grade grade, std::uint64_t line, double count, std::string message) {
    Finding finding;
    finding.check = "program-words";
    finding.grade = grade;
    finding.line = line;
    finding.value = count;
    finding.unit = "1";
    finding.message = std::move(message);
    return finding;
}

std::string times(std::uint64_t count) {
    return count == 1 ? "once" : fmt::format("{} times", count);
}

void unknown_words(const planner::ProgramNotes& notes, Findings& findings) {
    std::string listed;
    std::uint64_t total = notes.further_words, first_line = 0;
    std::size_t words = 0;
    for (const UnknownWord& word : notes.unknown_words) {
        if (word.may_move) {
            findings.push_back(finding_at(
                Grade::risk, word.first_line, static_cast<double>(word.count),
                fmt::format("{} ({}, first at line {}) is not a word of the open standard and may "
                            "move the axes or change what they are set to; {}",
                            word.word, times(word.count), word.first_line, kRemedy)));
            continue;
        }
        total += word.count;
        if (first_line == 0) first_line = word.first_line;
        if (words++ < kListed)
            listed += fmt::format("{}{} ({}, line {})", listed.empty() ? "" : ", ", word.word,
                                  times(word.count), word.first_line);
    }
    if (words == 0) return;
    if (words > kListed) listed += fmt::format(" and {} more", words - kListed);
    findings.push_back(
        finding_at(Grade::note, first_line, static_cast<double>(total),
                   fmt::format("words beyond the open standard, taken to leave motion alone: {}; "
                               "{}",
                               listed, kRemedy)));
}

void spots(const planner::ProgramNotes& notes, Findings& findings) {
    for (const Spot& spot : notes.spots) {
        std::string message = fmt::format("{}, {}, first at line {}", planner::spot_text(spot.kind),
                                          times(spot.count), spot.first_line);
        if (!spot.sample.empty()) message += fmt::format(": '{}'", spot.sample);
        findings.push_back(finding_at(may_change_motion(spot.kind) ? Grade::risk : Grade::note,
                                      spot.first_line, static_cast<double>(spot.count),
                                      std::move(message)));
    }
}

}  // namespace

void check_program_words(const CheckInput& input, Findings& findings) {
    for (const run::ProgramResult& program : input.programs) {
        unknown_words(program.notes, findings);
        spots(program.notes, findings);
    }
}

}  // namespace stepper_sim::check
