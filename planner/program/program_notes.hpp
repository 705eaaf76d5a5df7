/// What a reader of programs has to say besides commands: words it does not know and spots that are
/// readable but careless. Nothing here is an error; errors are Diagnostics. Its size does not grow
/// with the program.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace planner {

/// A word beyond the open standard and beyond the machine file.
struct UnknownWord {
    std::string word;  // "M7301", "G7029.1", or the name a line begins with
    std::uint64_t count = 0;
    std::uint64_t first_line = 0;
    std::uint64_t beside_axes = 0;  // uses with axis words on their line
    bool may_move = false;  // it could move the axes or set them anew: a G word, a name, or axis
                            // letters with values beside it
};

enum class SpotKind : std::uint8_t {
    letter_o_for_zero,       // "MO6"
    number_without_letter,   // "N10 21 G40"
    space_in_word,           // "Y 490"
    punctuation_only,        // "..."
    unbalanced_parenthesis,  // a ')' without '('
    nested_comment,          // "(a (b) c)"
    glued_e,                 // "X1E5 Y2": read as an E word, not as an exponent
    bare_arithmetic,         // "X40.8*#10+#6" without brackets
    text_after_word,         // free or quoted text after an M word
    unset_parameter,         // a # parameter that nothing has set: taken as 0
    e_like_distances,        // E words read as positions that look like distances
    e_like_positions,        // E words read as distances that look like positions
    negative_unused,         // S or T below 0: neither is simulated
    repeated_word,           // the same G or M word twice on a line
    unused_word,             // a word that nothing on its line uses, such as Q without a cycle
    skipped_motion,          // an unknown word's arguments contain a motion word with axis values
    zero_feed,               // F0: the axis limits decide
    feed_never_set,          // motion at feed before any F word: the axis limits decide
    fast_feed,               // a feed no stepper machine runs at, "meaning fast"
    tiny_feed,               // a feed that may be one per turn, in inches or a time
    plunge_at_traverse,      // G0 downwards with an F word beside it
    traverse_with_feed,      // G0 with an F word beside it, not downwards
    long_dwell,              // over one minute: perhaps meant as milliseconds
    short_dwell,             // so few milliseconds that seconds may be meant
    dwell_without_time,      // G4 without P: a rest of no length
    axis_flag_without_axis,  // "G28 W" on a machine without W
    home_by_other_word,      // G30: taken as G28
    home_with_motion_word,   // "G0 G28 Z0"
    probe_as_feed,           // G38.2: taken as a straight feed move
    compensation_ignored,    // G41 G42: the path is that of the tool's centre as written
    tool_length_ignored,     // G43: tool length offsets are taken as zero
    arc_radius_mismatch,     // start and end radius differ a little
    arc_offset_other_plane,  // a zero I, J or K that does not belong to the plane
    coarse_arc,              // an arc of so many chords that they stray from it
    incomplete_cycle,        // a drilling cycle's depth above its R plane
    block_deleted,           // lines that begin with '/', skipped
    text_after_end,          // lines after M2, M30 or the closing %
};

/// The text form used in reports, such as "space in a word".
std::string_view spot_text(SpotKind kind);

struct Spot {
    SpotKind kind{};
    std::uint64_t count = 0;
    std::uint64_t first_line = 0;
    std::string sample;  // the first such line or word, shortened and printable
};

struct ProgramNotes {
    std::uint64_t lines = 0;
    std::uint64_t commands = 0;
    std::vector<UnknownWord> unknown_words;  // in order of first appearance
    std::uint64_t further_words =
        0;  // uses of unknown words beyond the first kMaxUnknownWords different ones
    std::vector<Spot> spots;    // in order of first appearance
    std::uint64_t errors = 0;   // all errors; errors() of the reader keeps the first few
    bool units_stated = false;  // G20 or G21 seen before the first motion
    bool feed_stated = false;   // an F word seen
    bool ended = false;         // M2, M30 or closing % seen
};

inline constexpr std::size_t kMaxUnknownWords = 1000;

}  // namespace planner
