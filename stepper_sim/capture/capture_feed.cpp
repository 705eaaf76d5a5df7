#include "stepper_sim/capture/capture_feed.hpp"

#include <cmath>

#include "stepper_sim/controller/ceiling.hpp"

namespace stepper_sim::capture {
namespace {

constexpr std::size_t kMostAtOnce = std::size_t{1}
                                    << 20U;  // changes at one time that are put in order

/// The least that counts: what the driver needs, less what the trace cannot tell.
std::int64_t limit_ps(double needed_s, std::int64_t resolution_ps) {
    const std::int64_t rounding_ps = 1;  // edges stand on picoseconds
    const double most_s = 1e3;
    if (!(needed_s > 0.0) || needed_s > most_s) return 0;
    return std::llround(needed_s * kPicoseconds_per_s) - resolution_ps - rounding_ps;
}

LineLimits limits_of(const machine::DriverPart& driver, std::int64_t resolution_ps) {
    const auto of = [&](const std::optional<planner::Time>& needed) {
        return limit_ps(needed.value_or(planner::Time()).value(), resolution_ps);
    };
    return {of(driver.step_high_min), of(driver.step_low_min), of(driver.setup_min),
            of(driver.hold_min),
            limit_ps(1.0 / controller::driver_ceiling_hz(driver, planner::Time()), resolution_ps)};
}

Level turned_over(Level level, bool inverted) {
    if (!inverted || level == Level::unknown) return level;
    return level == Level::high ? Level::low : Level::high;
}

}  // namespace

CaptureFeed::CaptureFeed(TraceReader& reader, const machine::Machine& machine,
                         std::vector<MotorLines> motors, std::int64_t resolution_ps)
    : reader_(&reader), motors_(std::move(motors)) {
    for (const MotorLines& motor : motors_) {
        const machine::Axis& axis = machine.axes[motor.slot];
        trackers_.emplace_back(limits_of(axis.driver, resolution_ps));
        inverted_.push_back(axis.step_line.inverted);
        inverted_.push_back(axis.direction_line.inverted);
    }
    known_.resize(inverted_.size());
}

void CaptureFeed::apply(const LevelChange& change) {
    const std::size_t motor = change.line / 2U;
    const Level level = turned_over(change.level, inverted_[change.line]);
    if (known_[change.line] && first_edge_ps_ == INT64_MAX) first_edge_ps_ = change.time_ps;
    known_[change.line] = level != Level::unknown;
    if (change.line % 2U == 0)
        trackers_[motor].step_level(level, change.time_ps, &pulses[motors_[motor].slot]);
    else
        trackers_[motor].direction_level(level, change.time_ps);
}

void CaptureFeed::hand_on(std::size_t count) {
    for (std::size_t begin = 0, end = 0; begin < count; begin = end) {
        while (end < count && changes_[end].time_ps == changes_[begin].time_ps)
            ++end;
        for (const unsigned kind : {1U, 0U})  // direction lines have odd numbers
            for (std::size_t i = begin; i < end; ++i)
                if (changes_[i].line % 2U == kind) apply(changes_[i]);
    }
    changes_.erase(changes_.begin(), changes_.begin() + static_cast<std::ptrdiff_t>(count));
}

bool CaptureFeed::read() {
    if (over_) return false;
    if (!reader_->read(changes_)) {
        over_ = true;
        hand_on(changes_.size());
        for (MotorTracker& tracker : trackers_)
            tracker.finish();
        time_ps_ = INT64_MAX;
        return false;
    }
    // Changes at the latest time may go on in the next piece.
    const std::int64_t now_ps = reader_->last_time_ps();
    std::size_t count = changes_.size();
    if (count < kMostAtOnce)
        while (count > 0 && changes_[count - 1].time_ps == now_ps)
            --count;
    hand_on(count);
    time_ps_ = now_ps - 1;
    return true;
}

}  // namespace stepper_sim::capture
