#include "stepper_sim/check/slip_pick.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <tuple>

namespace stepper_sim {

namespace {

// Guesses: windows that differ by less than these are alike. Ratios and speeds in steps of a quarter, lengths in octaves.
constexpr double kRatioStep = 1.25, kRateStep = 1.25, kLengthStep = 2.0;
constexpr double kSlowest_rad_s = 0.1, kShortest_s = 0.01;
constexpr double kShareSteps = 6.0;

int rung(double value, double least, double step) {
    return static_cast<int>(std::floor(std::log(std::max(value, least) / least) / std::log(step)));
}

auto kind_of(std::size_t motor, const Window& w) {
    constexpr double kLeastRatio = 0.1;
    return std::tuple(motor, w.long_fast_stretch, rung(w.ratio, kLeastRatio, kRatioStep),
                      rung(std::fabs(w.ratio_rate_rad_s), kSlowest_rad_s, kRateStep),
                      static_cast<int>(std::lround(w.worst_share * kShareSteps)),
                      rung(w.end_s - w.begin_s, kShortest_s, kLengthStep));
}

}  // namespace

Picked pick_windows(std::span<const MotorScreen> screens, int most_windows) {
    Picked picked;
    std::map<decltype(kind_of(0, Window{})), std::size_t> kinds;
    struct Candidate {
        PickedWindow window;
        std::uint64_t round;  // how many of its kind are riskier
    };
    std::vector<Candidate> candidates;
    for (std::size_t m = 0; m < screens.size(); ++m)
        for (const Window& window : screens[m].windows) {  // riskiest first
            const auto [kind, is_new] = kinds.try_emplace(kind_of(m, window), kinds.size());
            if (is_new) picked.kind_sizes.push_back(0);
            candidates.push_back(
                {{m, kind->second, window}, picked.kind_sizes[kind->second]++});
        }
    // First the spokesmen of all kinds, the riskiest kinds first; then what is left, by risk.
    std::stable_sort(candidates.begin(), candidates.end(),
                     [](const Candidate& a, const Candidate& b) {
                         const bool first_a = a.round < kSpokesmen, first_b = b.round < kSpokesmen;
                         if (first_a != first_b) return first_a;
                         if (first_a && a.round != b.round) return a.round < b.round;
                         return window_risk(a.window.window) > window_risk(b.window.window);
                     });
    const auto most = static_cast<std::size_t>(std::max(most_windows, 0));
    // What only repeats a kind is simulated last and as budget allows: half of it at most.
    if (candidates.size() > most) candidates.resize(most);
    for (Candidate& candidate : candidates)
        picked.windows.push_back(candidate.window);
    return picked;
}

void count_likes(const Picked& picked, std::span<const SlipWindow> judged, SlipResult& result) {
    constexpr double kRoom_rad = 0.5 * std::numbers::pi;
    std::vector<std::uint64_t> simulated(picked.kind_sizes.size());
    std::vector<bool> vouches(picked.kind_sizes.size(), true);
    std::vector<std::size_t> motor(picked.kind_sizes.size());
    for (std::size_t i = 0; i < picked.windows.size(); ++i) {
        const std::size_t kind = picked.windows[i].kind;
        const SlipAnswer& answer = judged[i].answer;
        ++simulated[kind];
        motor[kind] = picked.windows[i].motor;
        const bool roomy = judged[i].fast() || answer.peak_angle_rad <= kRoom_rad;
        vouches[kind] = vouches[kind] && answer.holds() && !answer.slips_anywhere() && roomy &&
                        !picked.windows[i].window.cut_off;
    }
    for (std::size_t kind = 0; kind < simulated.size(); ++kind)
        if (vouches[kind] && simulated[kind] >= kSpokesmen)
            result.motors[motor[kind]].like_simulated += picked.kind_sizes[kind] - simulated[kind];
}

}  // namespace stepper_sim
