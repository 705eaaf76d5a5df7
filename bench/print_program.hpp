/// A print as programs look on disk, of any length: outlines of short moves with fill lines between,
/// 0.98 mm median move, a quarter under 0.5 mm, two in five corners over 60 degrees (a survey of 81
/// public programs). Words of the open standard only. Same seed, same bytes.
#pragma once

#include <cmath>
#include <cstdint>
#include <cstdio>
#include <numbers>
#include <string>

#include "bench/random.hpp"

namespace stepper_sim::bench {

/// `moves` lines of motion inside a square of 100 mm; `feed_mm_min` throughout.
inline std::string print_program(std::size_t moves, double feed_mm_min, std::uint64_t seed = 61) {
    constexpr double kMedian_mm = 0.98, kSpread = 1.0, kLongest_mm = 8.0;
    constexpr double kExtruded_per_mm = 0.033, kLayer_mm = 0.2, kTop_mm = 100.0;
    constexpr std::size_t kMovesPerLayer = 4000;
    Random draw(seed);
    std::string text = "G21\nG90\nG0 X60 Y60 Z0.2\n";
    char line[96];
    double x = 60.0, y = 60.0, z = kLayer_mm, e = 0.0, heading = 0.0;
    for (std::size_t i = 0; i < moves;) {
        const bool sharp = draw.chance(0.41);
        heading += sharp ? draw.between(1.05, std::numbers::pi) * (draw.chance(0.5) ? -1.0 : 1.0)
                         : 0.25 * draw.normal();
        const double length =
            std::fmin(kLongest_mm, kMedian_mm * std::exp(kSpread * draw.normal()));
        const double to_x = x + length * std::cos(heading), to_y = y + length * std::sin(heading);
        if (std::fabs(to_x - 70.0) > 50.0 || std::fabs(to_y - 70.0) > 50.0) {
            heading = std::atan2(70.0 - y, 70.0 - x);
            continue;
        }
        x = to_x;
        y = to_y;
        e += kExtruded_per_mm * length;
        const int size = i == 0
                             ? std::snprintf(line, sizeof line, "G1 X%.3f Y%.3f E%.5f F%.0f\n", x,
                                             y, e, feed_mm_min)
                             : std::snprintf(line, sizeof line, "G1 X%.3f Y%.3f E%.5f\n", x, y, e);
        text.append(line, static_cast<std::size_t>(size));
        if (++i % kMovesPerLayer == 0 && z < kTop_mm) {
            z += kLayer_mm;
            text += "G0 Z" + std::to_string(z) + "\n";
        }
    }
    return text;
}

}  // namespace stepper_sim::bench
