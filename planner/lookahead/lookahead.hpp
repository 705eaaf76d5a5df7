/// Gives every move its entry and exit speed, as a controller does that sees only some moves ahead.
/// Streams: moves go in by chunks, planned moves come out once no later move can change them.
/// Next: profile/trapezoid.hpp turns a planned move into phases.
/// Model:   constant acceleration along each move; a junction is run at up to its corner speed
///          (corner.hpp). The program begins and ends at rest, and so does every move with
///          rest_before_s >= 0. The window is N moves, the current one included: its exit speed
///          must allow to stop by the end of the last move in the window.
/// Formula: in squared speeds, w = v^2, of the ends of moves:
///          backward from rest at the end of the window: b_i = min(corner_i, b_i+1 + g_i+1)
///          forward: w_i = min(b_i, w_i-1 + g_i)
/// Symbols: g_i = 2 a L of move i, less a reserve [m^2/s^2], b_i = highest w_i that can still stop
/// Valid:   |exit^2 - entry^2| <= 2 a L (1 + 1e-12) holds for the speeds as returned, however short
///          the move: the reserve of 16 roundings of nominal^2 covers the sums and square roots.
///          Its price: a move shorter than about 1e-15 nominal^2 / a keeps its speed.
/// Source:  derived here: dynamic programming on a chain
/// Checked by: LookAhead.UnlimitedWindowEqualsAWholeProgramPlan,
///             LookAhead.BoundedWindowEqualsAPlanFromEachWindowAlone
#pragma once

#include <array>
#include <span>
#include <vector>

#include "planner/lookahead/move_limits.hpp"

namespace planner {

/// Longest bounded window; a wider one is planned as this one, which is safe and hardly slower. The
/// unlimited window holds at most twice as many moves (8 MB): if no junction among them sits
/// at its own corner speed, the older half leaves planned so that the newer half suffices to stop.
inline constexpr int kMaxWindowMoves = 8192;

class LookAhead {
  public:
    explicit LookAhead(const PlanLimits& limits);

    /// Takes the next moves and appends those that became final to `planned`. The result does not
    /// depend on how a program is cut into chunks. A bounded window of N moves keeps N - 1 back. It
    /// costs about N steps a move where N moves hardly suffice to stop, else a few.
    void push(std::span<const Move> moves, std::vector<PlannedMove>& planned);

    /// Ends the program at rest: appends all moves still held. Afterwards the look-ahead is as new.
    void finish(std::vector<PlannedMove>& planned);

  private:
    struct Junction {         // at the end of a held move; squared speeds [m^2/s^2]
        double corner = 0.0;  // what the corner allows; 0 while the next move is unknown
        double limit = 0.0;   // what also allows to stop by the last move held
        double gain = 0.0;    // largest change over the move that ends here
    };

    std::size_t held() const { return junctions_.size() - head_; }
    void take(const Move& move);
    void update_limits();
    void release(std::size_t count, std::vector<PlannedMove>& planned);
    void release_oldest(std::vector<PlannedMove>& planned);
    void release_settled(std::vector<PlannedMove>& planned);

    InverseLimits limits_;
    std::size_t window_ = 0;            // 0: unlimited
    std::array<MoveLimits, 2> newest_;  // limits of the newest move and the one before, by turns
    std::size_t turn_ = 0;              // which is the newest
    std::vector<Junction> junctions_;   // from head_ on: of moves not yet final
    std::vector<PlannedMove> held_;     // the moves that end there, in slots used again and again
    std::size_t head_ = 0;
    std::size_t fresh_ = 0;   // first junction whose limit was never worked out
    double speed_m_s_ = 0.0;  // at the end of the last move released
    double speed_squared_ = 0.0;
};

}  // namespace planner
