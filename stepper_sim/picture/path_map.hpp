/// The tool path from above for a picture, in bounded memory: pieces are merged where that shifts the path by little; where that is
/// not enough, of neighbouring heights only the worst is kept whole, and with it the
/// pieces of the others that are worse than its own.
#pragma once

#include <cstddef>
#include <map>

#include "planner/kinematics/motor_move.hpp"
#include "stepper_sim/picture/recording.hpp"

namespace stepper_sim::picture {

class PathMapBuilder {
  public:
    /// Guess: as many as a page can hold and draw without a pause.
    static constexpr std::size_t kMostPieces = 150000;

    /// Slots of the axes X, Y, Z and E in the moves' arrays, -1 where the machine has none.
    PathMapBuilder(int x, int y, int z, int e, std::size_t most_pieces = kMostPieces);

    /// A move with its own worst; place, height and kind are filled in here.
    void add(const planner::MotorMove& move, MapPiece worst);
    PathMap finish();

  private:
    std::uint16_t level_of(double height_m);
    void merge_pieces();
    void drop_calmest();
    void sort_levels();
    void group_levels();
    void thin();
    double extent_m() const;

    int x_, y_, z_, e_;
    std::size_t most_;
    PathMap map_;
    std::map<long, std::uint16_t> level_by_height_;
    double tolerance_m_ = 10e-6;
    std::uint16_t level_ = 0;
};

}  // namespace stepper_sim::picture
