/// Reads a recorded trace of digital lines piece by piece: a value change dump (IEEE Std 1364-2005
/// clause 18, from memory: scopes, vectors, x and z, any timescale) or comma-separated values with
/// a header line, the time in the first column, in rows of samples or of changes. Memory does not
/// grow with the file. It knows names and levels, not motors: what lines mean is
/// stepper_sim/capture/capture.hpp's business. Our own writers: vcd.hpp, edge_csv.hpp.
#pragma once

#include <cstdint>
#include <iosfwd>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/capture/trace_text.hpp"

namespace stepper_sim::capture {

enum class Level : std::uint8_t { low, high, unknown };  // unknown: x, z or an empty field

/// A selected line takes another level than it had; the first level of a line is also told.
struct LevelChange {
    std::int64_t time_ps = 0;
    std::uint16_t line = 0;  // place in the selection
    Level level = Level::unknown;
};

inline constexpr double kPicoseconds_per_s = 1e12;
inline constexpr std::int64_t kMaxTraceTime_ps = 4'000'000'000'000'000'000;  // 46 days
inline constexpr std::size_t kMaxChannels = 65536;

class TraceReader {
  public:
    explicit TraceReader(TraceText text) : text_(std::move(text)) {}
    virtual ~TraceReader() = default;

    /// Names of the lines in the trace: "scope.name", vectors as "bus[7:0]".
    virtual std::vector<std::string> channels() const = 0;
    /// The lines to tell of. A name fits a line's whole name or what follows its scopes; "bus[3]"
    /// is one bit of a vector. Errors: trace/no-such-channel, trace/ambiguous-channel,
    /// trace/not-a-line.
    [[nodiscard]] virtual std::vector<planner::Diagnostic> select(
        std::span<const std::string> names) = 0;
    /// Appends the next changes, in time order, and returns whether there may be more. Errors:
    /// trace/syntax, trace/time, trace/truncated.
    virtual bool read(std::vector<LevelChange>& changes) = 0;

    /// Why reading ended early; empty when it did not.
    const std::vector<planner::Diagnostic>& errors() const { return errors_; }
    /// The step of the trace's clock: its timescale, the last decimal place of its times or, in rows
    /// of samples, the time between them.
    std::int64_t resolution_ps() const { return resolution_ps_; }
    std::int64_t last_time_ps() const { return now_ps_; }
    std::uint64_t bytes_read() const { return text_.bytes_read(); }

  protected:
    /// Takes the time of what follows; an error when it is out of range or runs backwards.
    bool advance_to_ps(std::int64_t to_ps, const planner::Place& place, std::string_view found);
    bool advance_to(double time_ps, const planner::Place& place, std::string_view found);
    void set_level(std::uint16_t line, Level level, std::vector<LevelChange>& changes);
    void select_lines(std::size_t count) { levels_.assign(count, kNotYet); }
    void fail(planner::Diagnostic diagnostic) { errors_.push_back(std::move(diagnostic)); }

    TraceText text_;
    std::int64_t resolution_ps_ = 1;
    std::int64_t now_ps_ = 0;
    bool begun_ = false;  // a time was seen

  private:
    static constexpr std::uint8_t kNotYet = 255;
    std::vector<std::uint8_t> levels_;
    std::vector<planner::Diagnostic> errors_;
};

/// Opens a trace; `name` is what diagnostics call it, and `in` must outlive the reader.
/// Errors: trace/empty, trace/syntax, trace/truncated, trace/time, trace/too-large.
planner::Result<std::shared_ptr<TraceReader>> open_trace(std::istream& in, const std::string& name);

/// The two formats, for open_trace().
planner::Result<std::shared_ptr<TraceReader>> open_vcd(TraceText text);
planner::Result<std::shared_ptr<TraceReader>> open_csv(TraceText text);

/// "x_step, y_step and 3 more", for messages.
std::string listed(const std::vector<std::string>& names);

/// trace/no-such-channel: a line that is asked for and not among those of the trace.
planner::Diagnostic no_such_line(const std::string& trace, const std::string& name,
                                 const std::vector<std::string>& lines);

}  // namespace stepper_sim::capture
