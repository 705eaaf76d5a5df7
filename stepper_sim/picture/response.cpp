#include "stepper_sim/picture/response.hpp"

#include <cmath>
#include <complex>
#include <numbers>

#include "stepper_sim/dynamics/band_edge.hpp"

namespace stepper_sim::picture {

namespace {

constexpr double kLowest_hz = 1.0, kHighest_hz = 1000.0;
constexpr int kBins = 120;            // 12 an octave
constexpr int kResponsePoints = 400;  // finer than a peak at 2 % damping is wide

double frequency_hz(double share) {
    return kLowest_hz * std::pow(kHighest_hz / kLowest_hz, share);
}

double swing(const dynamics::VibrationModes& modes, double rate_rad_s) {
    std::complex<double> sum;
    for (const dynamics::VibrationMode& mode : modes.used())
        sum += mode.rotor_shape * mode.participation /
               std::complex<double>(mode.rate_rad_s * mode.rate_rad_s - rate_rad_s * rate_rad_s,
                                    2.0 * mode.damping * mode.rate_rad_s * rate_rad_s);
    return std::abs(sum);
}

}  // namespace

void add_response(const machine::Machine& machine, const run::MotorModels& models,
                  std::size_t motor, MotorRecord& record) {
    const auto modes_at = [&](dynamics::BandEdge edge) {
        return dynamics::vibration_modes(dynamics::axis_dynamics(
            machine, models.loads, models.available[motor], static_cast<int>(motor), edge));
    };
    const dynamics::VibrationModes low = modes_at(dynamics::BandEdge::low),
                                   nominal = modes_at(dynamics::BandEdge::nominal),
                                   high = modes_at(dynamics::BandEdge::high);
    const auto first_hz = [](const dynamics::VibrationModes& modes) {
        return modes.mode[0].rate_rad_s / (2.0 * std::numbers::pi);
    };
    record.natural_low_hz = first_hz(low);
    record.natural_hz = first_hz(nominal);
    record.natural_high_hz = first_hz(high);
    for (int i = 0; i <= kResponsePoints; ++i) {
        const double hz = frequency_hz(static_cast<double>(i) / kResponsePoints);
        const double rate = 2.0 * std::numbers::pi * hz;
        record.response.push_back({hz, swing(low, rate) / swing(low, 0.0),
                                   swing(nominal, rate) / swing(nominal, 0.0),
                                   swing(high, rate) / swing(high, 0.0)});
    }
}

std::vector<ReversalBin> reversal_bins() {
    std::vector<ReversalBin> bins;
    bins.reserve(kBins);
    for (int i = 0; i < kBins; ++i)
        bins.push_back({frequency_hz(static_cast<double>(i) / kBins),
                        frequency_hz(static_cast<double>(i + 1) / kBins), 0});
    return bins;
}

void count_reversal(double after_s, std::vector<ReversalBin>& bins) {
    if (!(after_s > 0.0)) return;
    const double hz = 0.5 / after_s;
    const double place = std::log(hz / kLowest_hz) / std::log(kHighest_hz / kLowest_hz) *
                         static_cast<double>(bins.size());
    if (place < 0.0 || place >= static_cast<double>(bins.size())) return;
    ++bins[static_cast<std::size_t>(place)].count;
}

}  // namespace stepper_sim::picture
