#include "stepper_sim/machine/typical.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace stepper_sim::machine {

namespace {

// Makers' catalogues, from memory; the 2 mm pitch is assumed: 15 to 45 kN at 6 mm width.
constexpr auto kBelts = std::to_array<BeltType>({{"2mm", 2.0, 2500.0, 7500.0},
                                                 {"T2.5", 2.5, 6000.0, 7500.0},
                                                 {"T5", 5.0, 9000.0, 9000.0},
                                                 {"AT5", 5.0, 14000.0, 17500.0},
                                                 {"HTD3M", 3.0, 8000.0, 9000.0},
                                                 {"HTD5M", 5.0, 22000.0, 25300.0}});
// Guess: what brackets, clamps and shafts in series leave; where the carriage is nearest to the motor.
constexpr double kBeltLeft = 0.4, kNearest = 0.25;
constexpr double kScrewLeft = 0.15;
constexpr double kSteel_N_m2 = 206e9;
// Guess: classes of drives of unknown size. Belts of 6 to 10 mm on spans of 0.2 to 1 m; screws of 6 to 16 mm with nut and end bearing
// in series.
constexpr double kAnyBeltLow_N_m = 10e3, kAnyBeltHigh_N_m = 100e3;
constexpr double kAnyScrewLow_N_m = 1e6, kAnyScrewHigh_N_m = 30e6;

constexpr double kGravity_m_s2 = 9.80665;
constexpr double kRailLow = 0.002, kRailHigh = 0.003;   // makers of linear guides, from memory
constexpr double kSealLow_N = 0.15, kSealHigh_N = 5.0;  // likewise, of small carriages
constexpr double kPushLow_N = 5.0, kPushHigh_N = 50.0;  // Guess: filament through a nozzle

bool has_belt_sizes(const Drive& drive) {
    return belt_type(drive.belt_type) != nullptr && drive.belt_width && drive.belt_span;
}

bool has_screw_sizes(const Drive& drive) {
    return drive.screw_root && drive.screw_length;
}

/// Both sides of the belt, of one newton a metre a millimetre of width [1/m].
double sides_per_m(double span_m, double share) {
    return 1.0 / (share * span_m) + 1.0 / ((2.0 - share) * span_m);
}

}  // namespace

ClassBand class_band(double low, double high) {
    return {low, std::sqrt(low * high), high};
}

std::span<const BeltType> belt_types() {
    return kBelts;
}

const BeltType* belt_type(std::string_view name) {
    const auto* const found = std::find_if(kBelts.begin(), kBelts.end(),
                                           [&](const BeltType& type) { return type.name == name; });
    return found == kBelts.end() ? nullptr : found;
}

ClassBand typical_stiffness(const Drive& drive) {
    if (drive.belt_pitch && has_belt_sizes(drive)) {
        const BeltType& type = *belt_type(drive.belt_type);
        const double width_mm = 1e3 * drive.belt_width->value(), span_m = drive.belt_span->value();
        return class_band(kBeltLeft * type.rate_low_N_mm * width_mm * sides_per_m(span_m, 1.0),
                          type.rate_high_N_mm * width_mm * sides_per_m(span_m, kNearest));
    }
    if (drive.belt_pitch) return class_band(kAnyBeltLow_N_m, kAnyBeltHigh_N_m);
    if (!has_screw_sizes(drive)) return class_band(kAnyScrewLow_N_m, kAnyScrewHigh_N_m);
    const double root_m = drive.screw_root->value();
    const double one_end_N_m =
        0.25 * std::numbers::pi * root_m * root_m * kSteel_N_m2 / drive.screw_length->value();
    const double held = drive.screw_ends == ScrewEnds::fixed_fixed ? 4.0 : 1.0;
    return class_band(kScrewLeft * held * one_end_N_m, held * one_end_N_m);
}

std::string stiffness_source(const Drive& drive) {
    if (drive.belt_pitch)
        return has_belt_sizes(drive)
                   ? "spring rate, width and span of the belt, softer by brackets and clamps"
                   : "belts of 6 to 10 mm on spans of 0.2 to 1 m";
    return has_screw_sizes(drive) ? "pull on the screw's root, softer by nut and bearings"
                                  : "screws of 6 to 16 mm with nut and end bearing";
}

ClassBand typical_friction(planner::Mass mass, bool endless) {
    if (endless) return class_band(kPushLow_N, kPushHigh_N);
    const double weight_N = mass.value() * kGravity_m_s2;
    return class_band(kRailLow * weight_N + kSealLow_N, kRailHigh * weight_N + kSealHigh_N);
}

std::string friction_source(bool endless) {
    return endless ? "force that pushes filament through a nozzle"
                   : "0.002 to 0.003 of the weight and 0.15 to 5 N of seals";
}

}  // namespace stepper_sim::machine
