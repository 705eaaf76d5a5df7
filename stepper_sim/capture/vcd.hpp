/// Edges as a value change dump, the trace format of IEEE Std 1364-2005 clause 18 (from memory):
/// header, one scope, one wire per line, $dumpvars, then "#time" and one change per row.
/// Streams: nothing is kept but the current levels. Names and levels: trace_lines.hpp.
#pragma once

#include <iosfwd>
#include <string>
#include <string_view>

#include "stepper_sim/capture/trace_lines.hpp"
#include "stepper_sim/controller/edge.hpp"

namespace stepper_sim::capture {

class VcdWriter final : public controller::EdgeSink {
  public:
    /// `letters`: axis letter of each motor slot; `unit_hz`: units of time per second, a power of
    /// ten of at most 1e12. Writes the header at once.
    VcdWriter(std::ostream& out, std::string_view letters, std::int64_t tick_hz,
              std::int64_t unit_hz);
    /// With the unit that suits the tick.
    VcdWriter(std::ostream& out, std::string_view letters, std::int64_t tick_hz)
        : VcdWriter(out, letters, tick_hz, decimal_unit_hz(tick_hz)) {}

    void take(std::span<const controller::Edge> edges) override;

  private:
    std::ostream& out_;
    UnitClock clock_;
    LineLevels levels_;
    std::int64_t at_ = 0;  // units already announced
    std::string text_;
};

}  // namespace stepper_sim::capture
