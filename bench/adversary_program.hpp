/// G-code of the adversary's cases: strokes, infill, cruises, corners, steady slow travel. Sizes in mm and s, as in the text.
#pragma once

#include <array>
#include <string>

#include "bench/adversary_cases.hpp"
#include "bench/random.hpp"

namespace stepper_sim::adversary {

/// What a program is drawn for.
struct Occasion {
    bool crossed = false;
    double speed_mm_s = 100.0, acceleration_mm_s2 = 1000.0, speed_step_mm_s = 5.0;
    double full_step_mm = 0.2;
    double microsteps = 16.0;
    // Small-swing frequencies of x and y: load on its belt, rotor and load as one, rotor and belt in series.
    std::array<double, 2> belt_hz{}, rigid_hz{}, series_hz{};
};

/// Where programs begin on either axis, in the middle of the travel.
inline constexpr double kStart_mm = 200.0;
inline constexpr double kTravel_mm = 400.0;

/// `about`: a few words on what was drawn are added.
std::string draw_program(bench::Random& random, Kind kind, const Occasion& occasion,
                         std::string& about);

}  // namespace stepper_sim::adversary
