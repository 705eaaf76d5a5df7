#include "stepper_sim/capture/capture_agree.hpp"

#include <algorithm>
#include <cstdlib>

namespace stepper_sim::capture {

std::size_t count_until(const std::deque<PlannedPulse>& plan, std::int64_t trace_ps,
                        const CaptureClock& clock) {
    const auto place = std::partition_point(plan.begin(), plan.end(), [&](const PlannedPulse& one) {
        return clock.to_trace(one.time_ps) <= trace_ps;
    });
    return static_cast<std::size_t>(place - plan.begin());
}

int found_at(const std::deque<PlannedPulse>& plan, std::size_t& i, const CapturedPulse& pulse,
             const CaptureClock& clock, std::int64_t resolution_ps) {
    while (i + 1 < plan.size() && clock.to_trace(plan[i + 1].time_ps) <= pulse.time_ps)
        ++i;
    std::size_t nearest = i;
    std::int64_t away = std::abs(pulse.time_ps - clock.to_trace(plan[i].time_ps));
    std::int64_t interval = 8 * kMostTolerance_ps;
    if (i + 1 < plan.size()) {
        const std::int64_t above = std::abs(clock.to_trace(plan[i + 1].time_ps) - pulse.time_ps);
        if (above < away) nearest = i + 1;
        away = std::min(away, above);
        interval = std::min(interval, plan[i + 1].time_ps - plan[i].time_ps);
    }
    const bool near = away <= std::max(interval / 8, 2 * resolution_ps);
    return near ? plan[nearest].direction * pulse.direction : 0;
}

double Agreement::share() const {
    const std::size_t most = std::max(asked, planned);
    return most > 0 ? static_cast<double>(same + opposite) / static_cast<double>(most) : 0.0;
}

Agreement agreement(const std::deque<PlannedPulse>& plan, std::span<const CapturedPulse> seen,
                    const CaptureClock& clock, std::int64_t begin_ps, std::int64_t end_ps,
                    std::int64_t resolution_ps) {
    Agreement agreed;
    agreed.asked = seen.size();
    if (plan.empty()) return agreed;
    std::size_t i = std::max<std::size_t>(count_until(plan, begin_ps, clock), 1) - 1;
    for (const CapturedPulse& pulse : seen) {
        const int way = found_at(plan, i, pulse, clock, resolution_ps);
        agreed.same += way > 0 ? 1U : 0U;
        agreed.opposite += way < 0 ? 1U : 0U;
    }
    agreed.planned =
        count_until(plan, end_ps, clock) - count_until(plan, begin_ps - 2 * resolution_ps, clock);
    return agreed;
}

}  // namespace stepper_sim::capture
