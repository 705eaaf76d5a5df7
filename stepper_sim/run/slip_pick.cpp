#include "stepper_sim/run/slip_pick.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <tuple>

namespace stepper_sim::run {

namespace {

// Guesses: windows that differ by less than these are alike.
constexpr double kRatioStep = 1.25, kRateStep = 1.6, kLengthStep = 4.0;
constexpr double kSlowest_rad_s = 0.1, kShortest_s = 0.01;
constexpr double kShareSteps = 3.0;

int rung(double value, double least, double step) {
    return static_cast<int>(std::floor(std::log(std::max(value, least) / least) / std::log(step)));
}

auto kind_of(std::size_t motor, const dynamics::Window& w) {
    constexpr double kLeastRatio = 0.1;
    return std::tuple(motor, w.long_fast_stretch, rung(w.ratio, kLeastRatio, kRatioStep),
                      rung(std::fabs(w.ratio_rate_rad_s), kSlowest_rad_s, kRateStep),
                      static_cast<int>(std::lround(w.worst_share * kShareSteps)),
                      rung(w.end_s - w.begin_s, kShortest_s, kLengthStep));
}

}  // namespace

WindowKinds::WindowKinds(std::span<const MotorScreen> screens) {
    std::map<decltype(kind_of(0, dynamics::Window{})), std::size_t> kinds;
    for (std::size_t m = 0; m < screens.size(); ++m)
        for (const dynamics::Window& window : screens[m].windows) {  // riskiest first
            const auto [kind, is_new] = kinds.try_emplace(kind_of(m, window), kinds.size());
            if (is_new) kinds_.push_back({m, 0, 0, true, true});
            candidates_.push_back({m, kind->second, window, kinds_[kind->second].size++});
        }
    std::ranges::stable_sort(candidates_, [](const PickedWindow& a, const PickedWindow& b) {
        return dynamics::window_risk(a.window) > dynamics::window_risk(b.window);
    });
}

std::vector<PickedWindow> WindowKinds::spokesmen(std::size_t most) const {
    std::vector<PickedWindow> picked;
    // One of each kind before the second of any.
    for (std::uint64_t rank = 0; rank < kSpokesmen; ++rank)
        for (const PickedWindow& candidate : candidates_)
            if (candidate.rank == rank && picked.size() < most) picked.push_back(candidate);
    return picked;
}

std::vector<PickedWindow> WindowKinds::doubtful(std::size_t most) const {
    std::vector<PickedWindow> picked;
    for (const PickedWindow& candidate : candidates_) {
        const Kind& kind = kinds_[candidate.kind];
        if (candidate.rank >= kSpokesmen && kind.holds && !kind.vouches() && picked.size() < most)
            picked.push_back(candidate);
    }
    return picked;
}

void WindowKinds::take(const PickedWindow& picked, const SlipWindow& judged) {
    constexpr double kRoom_rad = 0.5 * std::numbers::pi;
    Kind& kind = kinds_[picked.kind];
    const SlipAnswer& answer = judged.answer;
    ++kind.simulated;
    kind.holds = kind.holds && answer.holds();
    kind.has_room = kind.has_room && !picked.window.cut_off &&
                    (judged.fast() || answer.peak_angle_rad <= kRoom_rad);
}

std::uint64_t WindowKinds::vouched_for(std::size_t motor) const {
    std::uint64_t count = 0;
    for (const Kind& kind : kinds_)
        if (kind.motor == motor && kind.vouches()) count += kind.size - kind.simulated;
    return count;
}

}  // namespace stepper_sim::run
