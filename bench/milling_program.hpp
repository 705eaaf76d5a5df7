/// A finishing cut as programs look on disk, of any length: parallel lines over a wavy surface in moves
/// of 0.04 mm, the smallest that such programs commonly have (common practice, no source). Words of the
/// open standard only. Same length, same bytes.
#pragma once

#include <cmath>
#include <cstdio>
#include <string>

namespace stepper_sim::bench {

/// `moves` lines of motion inside a square of 100 mm; `feed_mm_min` throughout.
inline std::string milling_program(std::size_t moves, double feed_mm_min) {
    constexpr double kMove_mm = 0.04, kStepover_mm = 0.4, kFrom_mm = 20.0, kTo_mm = 120.0;
    constexpr double kDepth_mm = 1.5, kHeight_mm = 5.0, kWave_1_mm = 0.11, kSkew = 0.7;
    std::string text = "G21\nG90\nG0 X20 Y20 Z10\n";
    char line[96];
    double x = kFrom_mm, y = kFrom_mm, along = kMove_mm;
    for (std::size_t i = 0; i < moves; ++i) {
        x += along;
        if (x < kFrom_mm || x > kTo_mm) {
            x -= along;
            along = -along;
            y = y + kStepover_mm > kTo_mm ? kFrom_mm : y + kStepover_mm;
        }
        const double z = kHeight_mm + kDepth_mm * std::sin(kWave_1_mm * (x + kSkew * y));
        const int size = i == 0
                             ? std::snprintf(line, sizeof line, "G1 X%.3f Y%.3f Z%.4f F%.0f\n", x,
                                             y, z, feed_mm_min)
                             : std::snprintf(line, sizeof line, "G1 X%.3f Y%.3f Z%.4f\n", x, y, z);
        text.append(line, static_cast<std::size_t>(size));
    }
    return text;
}

}  // namespace stepper_sim::bench
