/// Commands to straight moves: arcs and helices become chords, moves of no length vanish, dwells
/// and waits become rests. Not here: modal state (planner/program) and corner speeds
/// (planner/lookahead). Read next: move.hpp.
/// Model:   an arc is cut into n equal chords; where start and end radius differ, the radius changes evenly along it
/// Formula: n = ceil(sweep / a), a = min(2 acos(1 - tolerance / radius), 2 pi / kLeastChordsPerTurn)
/// Symbols: sweep = angle of the whole arc [rad], a = angle of a chord [rad], radius = the larger of both ends' [m]
/// Valid:   no point of the arc is farther than the tolerance from its chord, and the last chord ends on the target; an arc
///          never gives more than kMostChords: beyond that chords are longer and coarse_arcs() counts it
/// Source:  sagitta of a chord, r (1 - cos(a/2)): plane geometry
/// Checked by: PathBuilder.ChordsLieOnTheCircleAndStayWithinTheTolerance, PathBuilder.TinyToleranceGivesABoundedNumberOfChords
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <vector>

#include "planner/path/move.hpp"
#include "planner/program/command.hpp"
#include "planner/program/program_settings.hpp"
#include "planner/units/units.hpp"

namespace planner {

inline constexpr int kLeastChordsPerTurn = 8;
inline constexpr int kMostChords = 100000;  // Guess: ten turns within 1 um on a radius of 100 m
/// Moves and axis shares below a picometre are rounding of the offsets, not motion.
inline constexpr double kStill_m = 1e-12;

struct CoarseArcs {
    std::uint64_t count = 0, first_line = 0;
};

class PathBuilder {
  public:
    /// `arc_tolerance`: > 0, how far a chord may stray from its arc. The path starts at
    /// settings.start_m.
    PathBuilder(const ProgramSettings& settings, const Length& arc_tolerance);

    /// Appends the moves of `commands`, in order. The first move of a program starts from rest.
    void push(std::span<const Command> commands, std::vector<Move>& moves);
    /// Likewise, until `moves` holds so many: one line of text may ask for very many moves. Returns
    /// how many of `commands` are done; call again with the others, until none is left.
    std::size_t push_some(std::span<const Command> commands, std::size_t most,
                          std::vector<Move>& moves);

    /// Rest after the last move, by dwells that no move followed.
    Time trailing_rest() const;
    /// Where the last move ended.
    const AxisArray& position_m() const { return position_m_; }
    /// Arcs whose chords stray from them farther than the tolerance.
    const CoarseArcs& coarse_arcs() const { return coarse_arcs_; }

  private:
    /// An arc on its way, of which `done` chords are moves.
    struct ArcCourse {
        Command chord;
        AxisArray start_m{};
        double from_rad = 0.0, sweep_rad = 0.0, start_radius_m = 0.0, end_radius_m = 0.0;
        int chords = 0, done = 0;
        bool inner = false;
    };

    void line(const Command& command, std::vector<Move>& moves);
    ArcCourse begin_arc(const Command& command);
    AxisArray chord_end(const ArcCourse& course) const;
    bool arc(const Command& command, std::size_t most, std::vector<Move>& moves);
    bool add(const Command& command, const AxisArray& end_m, std::vector<Move>& moves);
    double feed_length(const AxisArray& end_m) const;
    void rest(double seconds);

    AxisSet axes_;
    std::array<std::uint8_t, kMaxAxes> group_{};  // of each slot: 0 X Y Z, 1 U V W, 2 A B C, 3 E
    double tolerance_m_, feed_override_;
    double acceleration_cap_m_s2_ = std::numeric_limits<double>::infinity();
    double rest_s_ = 0.0;  // < 0: none asked for
    AxisArray position_m_{};
    std::optional<ArcCourse> course_;
    CoarseArcs coarse_arcs_;
};

}  // namespace planner
