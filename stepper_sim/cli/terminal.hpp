/// The only place that prints: standard output with its failures noticed, one-line errors, colour where it is wanted, progress.
#pragma once

#include <cstdint>
#include <mutex>
#include <span>
#include <string>
#include <string_view>

#include "planner/units/diagnostic.hpp"

namespace stepper_sim::cli {

/// "stepper_sim: TEXT" on standard error.
void print_error(std::string_view text);
/// One line for each diagnostic.
void print_diagnostics(std::span<const planner::Diagnostic> diagnostics);

/// Writes to standard output; false, with an error printed, when that fails (closed pipe, full disk).
[[nodiscard]] bool print(std::string_view text);

/// Writes a whole file beside its place and renames it, so that a half-written one is never taken for whole; "-" is standard
/// output. False, with an error printed, when that fails.
[[nodiscard]] bool write_file(const std::string& path, std::string_view content);

/// Colour is used on a terminal unless NO_COLOR is set and not empty, or TERM is "dumb".
bool use_colour();

/// A progress line on standard error, from one second of work on: on a terminal redrawn, at most ten times a second; elsewhere only
/// where it is asked for, a line every five seconds. Any thread may call with the share done, 0 to 1. The last call must be `done`.
class Progress {
  public:
    explicit Progress(std::string what);
    /// From now on also where standard error is no terminal.
    static void show_everywhere();
    void share(double done);
    void done();

  private:
    std::mutex one_at_a_time_;
    std::string what_;
    double started_s_;
    double shown_s_ = 0.0;
    bool terminal_, wanted_;
};

}  // namespace stepper_sim::cli
