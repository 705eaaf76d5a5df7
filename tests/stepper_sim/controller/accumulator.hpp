/// The accumulator of one motor under a periodic interrupt: every period adds the distance of
/// that period, and a step falls due when the fraction overflows. Freestanding C++14, integers
/// only. At most one step leaves in a period; the rest stays owed, so none is ever lost. A
/// reference core for firmware: the program computes the same steps in closed form
/// (stepper_sim/controller/fixed_rate.cpp), and a test holds the two together.
/// Bound: a step leaves within one period after it falls due.
#pragma once

// NOLINTBEGIN(modernize-*): C++14, and avr-gcc has neither <cstdint> nor <array>
#include <stdint.h>

namespace stepper_sim {
namespace controller {

class Accumulator {
  public:
    /// Half a step of lead: a step falls due midway between two whole positions.
    void begin() {
        fraction_ = uint32_t{1} << 31;
        owed_ = 0;
    }

    /// One period. `whole` steps and `fraction` / 2^32 of a step are added; a narrower
    /// accumulator passes its bits left-aligned. Returns whether to step now.
    bool next(uint16_t whole, uint32_t fraction) {
        fraction_ += fraction;
        owed_ = static_cast<uint16_t>(owed_ + whole + (fraction_ < fraction ? 1 : 0));
        if (owed_ == 0) return false;
        --owed_;
        return true;
    }

    uint16_t owed() const { return owed_; }

  private:
    uint32_t fraction_ = uint32_t{1} << 31;
    uint16_t owed_ = 0;
};

}  // namespace controller
}  // namespace stepper_sim
// NOLINTEND(modernize-*)
