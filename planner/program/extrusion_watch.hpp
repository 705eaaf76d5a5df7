/// Notices E words that are read as positions and look like distances, or the reverse: filament then
/// goes back, or runs away, along the path. It changes no motion; ProgramReader asks it at the end.
///
/// Read as positions: E goes back in a quarter of the moves along X or Y that have an E word, or
/// stands still in nine of ten. Read as distances: E values grow in nine of ten, and the filament per
/// mm of path changes less from move to move if they are positions.
/// Guess: all shares; surveyed programs wipe while they retract in up to 5 % of such moves. A habit shows early: only the first
/// kWatched commands are looked at.
#pragma once

#include <cstdint>
#include <span>

#include "planner/program/command.hpp"
#include "planner/program/program_log.hpp"
#include "planner/program/program_settings.hpp"

namespace planner {

inline constexpr std::uint64_t kWatched = 10'000;  // Guess: some layers of a print

class ExtrusionWatch {
  public:
    explicit ExtrusionWatch(const ProgramSettings& settings);

    /// The next commands; `relative`: how E words were read.
    void take(std::span<const Command> commands, bool relative);
    void finish(ProgramLog& log) const;

  private:
    void as_position(const Command& command, double feed_m);
    void as_distance(const Command& command, double feed_m, double path_m);

    int x_, y_, e_;  // slots; -1: no such axis
    std::uint64_t watched_ = 0;
    double last_x_m_ = 0.0, last_y_m_ = 0.0, last_e_m_ = 0.0;
    struct {
        std::uint64_t forward = 0, back = 0, still = 0, first_line = 0;
    } positions_;
    struct {
        std::uint64_t count = 0, growing = 0, compared = 0, steadier_as_positions = 0,
                      first_line = 0;
        double last_m = 0.0, last_share = 0.0, last_step_share = 0.0;  // shares: of the path
    } distances_;
};

}  // namespace planner
