// Which of the machines that a machine may be a window is tried on: the first, and by what came of them the others.
#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "planner/units/bisect.hpp"
#include "stepper_sim/run/slip_judge.hpp"

namespace stepper_sim::run {

namespace {

constexpr double kTurn_rad = 2.0 * std::numbers::pi;
constexpr double kSoft = 0.0, kStiff = 1.0;
// Frequencies of neighbours on the spread differ less than a swing is wide.
constexpr double kSameShare = 0.12;
// A large swing is slower than a small one: a spring a little stiffer meets the same reversals.
constexpr double kStiffer = 0.15;
constexpr double kLessFriction = 1.0 - motor::kFrictionSpread,
                 kMoreFriction = 1.0 + motor::kFrictionSpread;
constexpr std::array kDampings{1.0 / 3.0, 3.0};
constexpr int kHalvings = 12;
// Of the reversals: a fifth of the natural frequency still builds up a swing where there is little friction.
constexpr int kHarmonics = 5;
// Guess: so far below the base speed the supply has twice the voltage that the currents need, and a chopper follows its reference
// as a sine regulator does: one run with a chopper, among the first, is enough.
constexpr double kFollowsShare = 0.5;
// Guesses: no other corner of the spread swings half as far again; nor, where a riskier window went through all of it, a tenth.
constexpr double kRoomShare = 0.67, kLikeRoomShare = 0.9;
// Nearer to the peak than this, a frequency between two corners may build up what neither shows: so many are tried.
constexpr double kCloseShare = 0.8;
constexpr int kFineShares = 9;

}  // namespace

double peak_of_torque_rad(const dynamics::AxisDynamics& axis) {
    return 0.5 * std::numbers::pi * (1.0 + 0.5 / axis.microsteps);
}

bool SlipJudge::any_chopper(const JudgedWindow& window) const {
    for (std::size_t i = 0; i < window.motor_count(); ++i)
        if (machine_.axes[window.slot(i)].driver.regulator == machine::Regulator::chopper)
            return true;
    return false;
}

/// Where on the spread the slow mode of this axis swings at this frequency, if anywhere.
std::optional<double> SlipJudge::share_at(std::size_t slot, double hz) const {
    const dynamics::SpringBand& band = springs_[slot];
    const auto slow_hz = [&](double share) {
        const dynamics::PlantVariant v{dynamics::BandEdge::low, 1.0 - rules_.margin, 1.0,
                                       band.stiffness(share), dynamics::SpringBand::mass(share)};
        return dynamics::vibration_modes(variant_of(v, slot)).mode[0].rate_rad_s / kTurn_rad;
    };
    if (hz <= slow_hz(kSoft) || hz >= slow_hz(kStiff)) return std::nullopt;
    return planner::bisect({kSoft, kStiff}, kHalvings,
                           [&](double share) { return slow_hz(share) < hz; })
        .holds;
}

/// Places on the spread where the plant swings with what shakes it: where the slow mode of an axis meets the reversals or a harmonic
/// of them, and where the screen found its largest ratio.
std::vector<double> SlipJudge::shares_of(const JudgedWindow& window) const {
    const SlipWindow& slip = window.slip;
    std::vector<double> shares;
    const auto add = [&](double share) {
        share = std::clamp(share, kSoft, kStiff);
        const bool there = std::ranges::any_of(
            shares, [&](double other) { return std::fabs(other - share) < kSameShare; });
        if (!there) shares.push_back(share);
    };
    for (int harmonic = 1; harmonic <= kHarmonics; ++harmonic)
        for (const double stiffer : {0.0, kStiffer})
            for (std::size_t i = 0; i < window.motor_count(); ++i) {
                const auto share = share_at(window.slot(i), harmonic * slip.reversal_rate_hz);
                if (share) add(*share + stiffer);
            }
    add(slip.window.worst_share);
    return shares;
}

/// With this question's margin, which may be another than the last one's.
std::vector<SlipJudge::Run> SlipJudge::suspect_run(const JudgedWindow& window) const {
    if (window.slip.motor != rules_.hints.suspect_motor) return {};
    Run run = *rules_.hints.suspect;
    if (run.variant.torque < 1.0) run.variant.torque = 1.0 - rules_.margin;
    return {run};
}

std::vector<SlipJudge::Run> SlipJudge::first_runs(const JudgedWindow& window) const {
    const dynamics::SpringBand& band = springs_[window.slot(0)];
    const std::vector<double> shares = shares_of(window);
    const double share = shares.front(), least = 1.0 - rules_.margin;
    const auto at = [&](dynamics::BandEdge edge, double torque, double friction) {
        return Run{
            {edge, torque, friction, band.stiffness(share), dynamics::SpringBand::mass(share)},
            dynamics::CurrentRegulator::dead_beat,
            1.0};
    };
    std::vector<Run> runs{
        {{dynamics::BandEdge::low, 1.0, 1.0, 1.0, 1.0}, dynamics::CurrentRegulator::dead_beat, 1.0},
        at(dynamics::BandEdge::low, least, kLessFriction),
        at(dynamics::BandEdge::low, least, kMoreFriction),
        at(dynamics::BandEdge::high, 1.0, kLessFriction)};
    if (window.slip.like_riskier) return runs;
    const auto elsewhere = [&](double other) {
        if (std::fabs(other - share) < kSameShare) return;
        runs.push_back(runs[1]);
        runs.back().variant.stiffness = band.stiffness(other);
        runs.back().variant.mass = dynamics::SpringBand::mass(other);
    };
    elsewhere(kSoft);
    elsewhere(kStiff);
    for (std::size_t i = 1; i < std::min(shares.size(), 2 * window.motor_count()); ++i)
        elsewhere(shares[i]);
    if (any_chopper(window)) {
        runs.push_back(runs[1]);
        runs.back().regulator = dynamics::CurrentRegulator::mixed_decay;
    }
    return runs;
}

/// Whether the first runs leave a doubt about the others.
bool SlipJudge::near_the_edge(const JudgedWindow& window) const {
    const SlipAnswer& answer = window.slip.answer;
    const double room_rad = (window.slip.like_riskier ? kLikeRoomShare : kRoomShare) *
                            peak_of_torque_rad(axis(dynamics::BandEdge::low, window.slot(0)));
    return answer.slips_anywhere() || window.slip.window.long_fast_stretch ||
           answer.peak_angle_rad > room_rad;
}

std::vector<SlipJudge::Run> SlipJudge::spread_runs(const JudgedWindow& window) const {
    const dynamics::SpringBand& band = springs_[window.slot(0)];
    const double least = 1.0 - rules_.margin;
    std::vector<Run> runs;
    const auto add = [&](dynamics::BandEdge edge, double torque, double friction, double share) {
        runs.push_back(
            {{edge, torque, friction, band.stiffness(share), dynamics::SpringBand::mass(share)},
             dynamics::CurrentRegulator::dead_beat,
             1.0});
    };
    for (const dynamics::BandEdge edge : {dynamics::BandEdge::low, dynamics::BandEdge::nominal})
        runs.push_back({{edge, 1.0, 1.0, 1.0, 1.0}, dynamics::CurrentRegulator::dead_beat, 1.0});
    std::vector<double> shares = shares_of(window);
    for (const double end : {kSoft, kStiff})
        if (std::ranges::none_of(shares, [&](double s) { return std::fabs(s - end) < kSameShare; }))
            shares.push_back(end);
    for (const double share : shares) {
        add(dynamics::BandEdge::low, least, kLessFriction, share);
        add(dynamics::BandEdge::high, 1.0, kLessFriction, share);
    }
    add(dynamics::BandEdge::nominal, 1.0, kLessFriction, shares.front());
    add(dynamics::BandEdge::low, least, kMoreFriction, shares.front());
    add(dynamics::BandEdge::low, least, kMoreFriction, kSoft);
    const std::size_t sine = runs.size();
    if (any_chopper(window) && window.slip.base_share > kFollowsShare)
        for (const std::size_t i : {std::size_t{0}, std::size_t{1}, std::size_t{2}, sine - 1}) {
            runs.push_back(runs[i]);
            runs.back().regulator = dynamics::CurrentRegulator::mixed_decay;
        }
    if (window.slip.window.long_fast_stretch)
        for (const double damping : kDampings)
            for (const std::size_t i : {std::size_t{1}, std::size_t{2}, std::size_t{3}}) {
                runs.push_back(runs[i]);
                runs.back().viscous_factor = damping;
            }
    return runs;
}

/// Whether a frequency between those of the spread's runs may decide.
bool SlipJudge::close_to_the_peak(const JudgedWindow& window) const {
    const SlipAnswer& answer = window.slip.answer;
    return answer.holds() && !window.slip.fast() &&
           answer.peak_angle_rad >
               kCloseShare * peak_of_torque_rad(axis(dynamics::BandEdge::low, window.slot(0)));
}

std::vector<SlipJudge::Run> SlipJudge::fine_runs(const JudgedWindow& window) const {
    const dynamics::SpringBand& band = springs_[window.slot(0)];
    std::vector<Run> runs;
    for (int i = 0; i < kFineShares; ++i) {
        const double share = i / (kFineShares - 1.0);
        const auto add = [&](dynamics::BandEdge edge, double torque) {
            runs.push_back({{edge, torque, kLessFriction, band.stiffness(share),
                             dynamics::SpringBand::mass(share)},
                            dynamics::CurrentRegulator::dead_beat,
                            1.0});
        };
        add(dynamics::BandEdge::low, 1.0 - rules_.margin);
        add(dynamics::BandEdge::low, 1.0);
        add(dynamics::BandEdge::nominal, 1.0);
    }
    return runs;
}

std::vector<SlipJudge::Run> SlipJudge::nominal_runs(const JudgedWindow& window) const {
    std::vector<Run> runs;
    for (const dynamics::BandEdge edge :
         {dynamics::BandEdge::low, dynamics::BandEdge::nominal, dynamics::BandEdge::high}) {
        runs.push_back({{edge, 1.0, 1.0, 1.0, 1.0}, dynamics::CurrentRegulator::dead_beat, 1.0});
        if (!any_chopper(window)) continue;
        runs.push_back(runs.back());
        runs.back().regulator = dynamics::CurrentRegulator::mixed_decay;
    }
    return runs;
}

}  // namespace stepper_sim::run
