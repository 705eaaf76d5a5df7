#include "planner/program/program_log.hpp"

#include <algorithm>
#include <utility>

namespace planner {

std::string_view spot_text(SpotKind kind) {
    switch (kind) {
        case SpotKind::letter_o_for_zero:
            return "letter O written for zero";
        case SpotKind::number_without_letter:
            return "number without a letter, skipped";
        case SpotKind::space_in_word:
            return "space inside a word";
        case SpotKind::punctuation_only:
            return "line of punctuation only, skipped";
        case SpotKind::unbalanced_parenthesis:
            return "closing parenthesis without an opening one, skipped";
        case SpotKind::nested_comment:
            return "comment inside a comment";
        case SpotKind::glued_e:
            return "E directly after a number, read as an E word";
        case SpotKind::bare_arithmetic:
            return "arithmetic without brackets";
        case SpotKind::text_after_word:
            return "free text after an M word, skipped";
        case SpotKind::unset_parameter:
            return "parameter that was never set, taken as 0";
        case SpotKind::e_like_distances:
            return "E words that look like distances but are read as positions: if they are "
                   "distances, set program.e_reading = \"relative\"";
        case SpotKind::e_like_positions:
            return "E words that look like positions but are read as distances: if they are "
                   "positions, set program.e_reading = \"absolute\"";
        case SpotKind::negative_unused:
            return "S or T below 0, which is not simulated";
        case SpotKind::repeated_word:
            return "the same word twice on a line";
        case SpotKind::unused_word:
            return "word that nothing on its line uses";
        case SpotKind::skipped_motion:
            return "motion among the arguments of an unknown word, skipped";
        case SpotKind::zero_feed:
            return "feed 0, taken as the axis limits";
        case SpotKind::feed_never_set:
            return "feed move before any F word, taken at the axis limits";
        case SpotKind::fast_feed:
            return "feed above 1 m/s, probably meant as \"fast\"";
        case SpotKind::tiny_feed:
            return "feed below 6 mm/min, taken as written: see whether F is one per turn, a time "
                   "(G93 asks for that) or in inches (G20, program.units)";
        case SpotKind::plunge_at_traverse:
            return "G0 downwards with an F word beside it, at full speed: if G0 moves at the feed "
                   "on this machine, set program.rapid = \"feed\"";
        case SpotKind::traverse_with_feed:
            return "G0 with an F word beside it, at full speed: if G0 moves at the feed on this "
                   "machine, set program.rapid = \"feed\"";
        case SpotKind::long_dwell:
            return "dwell over one minute: if P counts milliseconds, set program.dwell_unit = "
                   "\"ms\"";
        case SpotKind::short_dwell:
            return "dwell below 10 ms: if P counts seconds, set program.dwell_unit = \"s\"";
        case SpotKind::dwell_without_time:
            return "G4 without P, taken as a rest of no length";
        case SpotKind::axis_flag_without_axis:
            return "home word names an axis the machine lacks";
        case SpotKind::home_by_other_word:
            return "G30 taken as G28";
        case SpotKind::home_with_motion_word:
            return "home word beside a motion word";
        case SpotKind::probe_as_feed:
            return "probe move, whose end only the machine knows: taken to end where it is written";
        case SpotKind::compensation_ignored:
            return "cutter compensation: the path is taken as it is written";
        case SpotKind::tool_length_ignored:
            return "tool length offset taken as zero";
        case SpotKind::arc_radius_mismatch:
            return "arc whose start and end radius differ slightly";
        case SpotKind::arc_offset_other_plane:
            return "arc offset of 0 that is not in the plane";
        case SpotKind::coarse_arc:
            return "arc of too many chords, drawn coarser than arc_tolerance: split it";
        case SpotKind::incomplete_cycle:
            return "drilling cycle with its depth above its R plane";
        case SpotKind::block_deleted:
            return "line that begins with '/', skipped";
        case SpotKind::text_after_end:
            return "text after the end of the program, not executed";
    }
    return "";
}

void ProgramLog::error(std::string_view id, std::size_t column, std::string_view found,
                       std::string_view expected, std::string_view hint) {
    ++notes_.errors;
    const auto same = std::count_if(errors_.begin(), errors_.end(),
                                    [&](const Diagnostic& d) { return d.id == id; });
    if (errors_.size() >= kMaxErrors || static_cast<std::size_t>(same) >= kMaxErrorsPerId) {
        return;
    }
    errors_.push_back({std::string(id),
                       {file_, line_, column},
                       std::string(found.substr(0, 60)),
                       std::string(expected),
                       std::string(hint)});
}

void ProgramLog::spot(SpotKind kind) {
    spot(Spot{kind, 1, line_, printable(text_)});
}

void ProgramLog::spot(Spot spot) {
    for (Spot& seen : notes_.spots) {
        if (seen.kind == spot.kind) {
            seen.count += spot.count;
            return;
        }
    }
    notes_.spots.push_back(std::move(spot));
}

void ProgramLog::unknown_word(const std::string& word, bool may_move, bool beside_axes) {
    if (may_move) {
        skipped_ =
            word + " at line " + std::to_string(line_) + " was skipped: not a word of the standard";
    }
    auto place = word_places_.find(word);
    if (place == word_places_.end()) {
        if (notes_.unknown_words.size() >= kMaxUnknownWords) {
            ++notes_.further_words;
            return;
        }
        place = word_places_.emplace(word, notes_.unknown_words.size()).first;
        notes_.unknown_words.push_back({word, 0, line_, 0, may_move});
    }
    UnknownWord& entry = notes_.unknown_words[place->second];
    ++entry.count;
    entry.beside_axes += beside_axes ? 1 : 0;
    entry.may_move = entry.may_move || may_move;
}

}  // namespace planner
