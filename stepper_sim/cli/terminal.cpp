#include "stepper_sim/cli/terminal.hpp"

#include <fmt/core.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>

#include "planner/units/units_text.hpp"
#include "stepper_sim/cli/output_file.hpp"

namespace stepper_sim::cli {

namespace {

constexpr double kShowAfter_s = 1.0;
constexpr double kRedrawEvery_s = 0.1, kLineEvery_s = 5.0;
constexpr double kEstimateFromShare = 0.02;  // before this the remaining time is noise

bool everywhere = false;

double now_s() {
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch())
        .count();
}

bool write_all(std::FILE* file, std::string_view text) {
    return std::fwrite(text.data(), 1, text.size(), file) == text.size() && std::fflush(file) == 0;
}

}  // namespace

void print_error(std::string_view text) {
    fmt::print(stderr, "stepper_sim: {}\n", text);
}

void print_diagnostics(std::span<const planner::Diagnostic> diagnostics) {
    for (const planner::Diagnostic& diagnostic : diagnostics)
        print_error(planner::to_line(diagnostic));
}

bool print(std::string_view text) {
    if (write_all(stdout, text)) return true;
    print_error(fmt::format("cannot write to standard output: {}", std::strerror(errno)));
    return false;
}

bool write_file(const std::string& path, std::string_view content) {
    OutputFile file(path);
    file.stream().write(content.data(), static_cast<std::streamsize>(content.size()));
    return file.finish();
}

bool use_colour() {
    const char* no_colour = std::getenv("NO_COLOR");
    const char* term = std::getenv("TERM");
    return isatty(STDOUT_FILENO) != 0 && (no_colour == nullptr || *no_colour == '\0') &&
           term != nullptr && std::string_view(term) != "dumb";
}

Progress::Progress(std::string what)
    : what_(std::move(what)),
      started_s_(now_s()),
      terminal_(isatty(STDERR_FILENO) != 0),
      wanted_(terminal_ || everywhere) {}

void Progress::show_everywhere() {
    everywhere = true;
}

void Progress::share(double done) {
    if (!wanted_) return;
    const std::lock_guard lock(one_at_a_time_);
    const double now = now_s();
    const double spent_s = now - started_s_;
    if (spent_s < kShowAfter_s || now - shown_s_ < (terminal_ ? kRedrawEvery_s : kLineEvery_s))
        return;
    shown_s_ = now;
    std::string line = fmt::format("{}: {:.0f} %", what_, 100.0 * done);
    if (done > kEstimateFromShare)
        line += fmt::format(", about {} left",
                            planner::format_duration(std::ceil(spent_s * (1.0 - done) / done)));
    fmt::print(stderr, fmt::runtime(terminal_ ? "\r\033[K{}" : "{}\n"), line);
    std::fflush(stderr);
}

void Progress::done() {
    const std::lock_guard lock(one_at_a_time_);
    if (terminal_ && shown_s_ > 0.0) {
        fmt::print(stderr, "\r\033[K");
        std::fflush(stderr);
    }
}

}  // namespace stepper_sim::cli
