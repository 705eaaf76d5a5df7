/// Edges as comma-separated values with a header: one row for every moment at which a line changes,
/// with the levels of all lines from then on and the program line of the last change. The first row
/// is the state at time 0. Streams. Names and levels: trace_lines.hpp.
///     time_s,x_step,y_step,x_dir,y_dir,line
///     0.000000000,0,0,1,1,0
#pragma once

#include <iosfwd>
#include <string>
#include <string_view>

#include "stepper_sim/capture/trace_lines.hpp"
#include "stepper_sim/controller/edge.hpp"

namespace stepper_sim::capture {

class EdgeCsvWriter final : public controller::EdgeSink {
  public:
    /// `letters`: axis letter of each motor slot. Writes the header at once; time is in nanoseconds.
    EdgeCsvWriter(std::ostream& out, std::string_view letters, std::int64_t tick_hz);

    void take(std::span<const controller::Edge> edges) override;
    /// Writes the last row.
    void finish();

  private:
    void write_row();

    std::ostream& out_;
    UnitClock clock_;
    LineLevels levels_;
    std::int64_t at_ns_ = 0;
    std::uint64_t line_ = 0;
    std::string text_;
};

}  // namespace stepper_sim::capture
