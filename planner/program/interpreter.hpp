/// Gives the words of a line their meaning: modal groups, offsets, units and the order of execution
/// of RS274/NGC. Lines in, commands out; a line with an error changes as little as it can, so that
/// one mistake is one diagnostic. Not here: text (lexer.hpp), the geometry of arcs (arc_words.hpp).
/// Arcs and drilling cycles have their own .cpp files. Source: NISTIR 6556, sections 3.4 to 3.8
/// (from memory).
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "planner/program/codes.hpp"
#include "planner/program/command.hpp"
#include "planner/program/line.hpp"
#include "planner/program/modal_state.hpp"
#include "planner/program/program_log.hpp"
#include "planner/program/program_settings.hpp"

namespace planner {

/// A feed above this is a way to write "as fast as you can". Guess: surveyed programs feed at up to
/// 250 mm/s and travel at 500 mm/s.
inline constexpr double kFastFeed_m_s = 1.0;
/// A feed below this may be one per turn, in inches or a time. Guess: surveyed programs feed at
/// 20 mm/min and more; a tenth of a millimetre a turn or five inches a minute lie below.
inline constexpr double kTinyFeed_m_s = 0.1e-3;
/// Axis words beyond 10 km are slips of the keyboard and would overflow later arithmetic.
inline constexpr double kMaxAxisWord = 1e7;

class Interpreter {
  public:
    Interpreter(const ProgramSettings& settings, ProgramLog& log);

    /// Appends the commands of `line`. Errors: program/modal-conflict, repeated-word, missing-axis,
    /// no-motion, no-number, number-too-large, bad-feed, inverse-time-feed, axis-words,
    /// offset-words, dwell, compensation, not-simulated, and those of arcs and cycles.
    void run(const Line& line, std::vector<Command>& out);

    bool ended() const { return ended_; }
    const ModalState& state() const { return state_; }
    ModalState& state() { return state_; }

  private:
    struct AxisWord {
        char letter;
        int slot;
        double value;
    };

    /// One hole of a drilling cycle, machine positions along the drilling axis.
    struct Hole {
        std::size_t slot;
        double clearance_m, bottom_m, retract_m, counterbore_m;
    };

    bool sort_codes(const Line& line);
    bool check_bare_letters(const Line& line);
    bool collect_axis_words(const Line& line);
    bool set_modes(const Line& line);
    bool set_feed(const Line& line);
    void set_mapped(const Line& line, std::vector<Command>& out);
    void wait_words(const Line& line, std::vector<Command>& out);
    bool dwell(const Line& line, std::vector<Command>& out);
    void select_system();
    bool home(const Line& line, std::vector<Command>& out);
    bool offsets(const Line& line);
    bool set_shift(const Line& line);
    bool set_system_origin(const Line& line);
    bool tool_length(const Line& line);
    void sum_offsets();
    void compensation();
    Motion after_g80() const;
    bool motion(const Line& line, std::vector<Command>& out);
    bool straight(const Line& line, std::vector<Command>& out);
    bool arc(const Line& line, std::vector<Command>& out);
    bool arc_centre(const Line& line, const AxisArray& target_m, ArcShape& shape);
    bool centre_format(const Line& line, const AxisArray& target_m, ArcShape& shape);
    bool radius_format(const Line& line, const AxisArray& target_m, ArcShape& shape);
    bool cycle(const Line& line, std::vector<Command>& out);
    bool cycle_words(const Line& line, char depth_letter);
    bool cycle_repeats(const Line& line, double depth_m, int& repeats);
    void drill(const Hole& hole, std::vector<Command>& out);
    void peck(const Hole& hole, std::vector<Command>& out);
    void back_bore(const Hole& hole, std::vector<Command>& out);
    void move_aside(double direction, std::vector<Command>& out);
    void move_slot(std::size_t slot, double target_m, bool traverse, std::vector<Command>& out);
    void note_unused_words(const Line& line);

    AxisArray target() const;
    Command& emit(CommandKind kind, std::vector<Command>& out);
    void emit_move(Command& command, const AxisArray& target_m, bool traverse);
    bool fail(std::string_view id, std::size_t column, std::string_view found,
              std::string_view expected, std::string_view hint = {});
    int code(GGroup group) const { return g_[static_cast<std::size_t>(group)].tenths; }
    bool has(GGroup group) const { return code(group) >= 0; }
    std::size_t column(GGroup group) const { return g_[static_cast<std::size_t>(group)].column; }

    const ProgramSettings& settings_;
    ProgramLog& log_;
    ModalState state_;
    std::uint32_t reported_axes_ = 0;  // letters already reported as missing
    bool ended_ = false;

    // the line being run
    std::array<CodeWord, kGGroups> g_{};
    std::array<AxisWord, kMaxAxes> axis_words_{};
    std::size_t axis_word_count_ = 0;
    std::uint32_t used_ = 0;  // letters something on the line has used
};

}  // namespace planner
