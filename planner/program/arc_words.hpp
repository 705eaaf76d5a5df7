/// The circle an arc's words describe: from a centre (I J K) or from a radius (R). Works in the two plane coordinates only.
/// Model:   a circle through start and end; the sign of R chooses the shorter or the longer way round
/// Formula: centre format: c = p0 + (I, J); radius format: c = middle + n sqrt(R^2 - h^2)
/// Symbols: p0, p1 = start and end [m], middle = halfway between, h = half the chord [m], n = unit normal on the left of the chord
///          for G3 with R > 0 (sweep up to half a turn), on the right for G2; R < 0 swaps sides
/// Valid:   p0, p1 finite; a mismatch of the radii at start and end is graded by grade_mismatch()
/// Source:  NISTIR 6556, section 3.5.3 (from memory)
/// Checked by: NgcRules.CentreFormatExampleHasItsPublishedCentreAndRadius, NgcRules.SignOfTheRadiusChoosesTheSweep,
///             Interpreter.SmallArcMismatchIsANoteNotAnError
#pragma once

#include <cstdint>
#include <optional>

namespace planner {

struct PlanePoint {
    double first_m = 0.0, second_m = 0.0;
};

enum class Mismatch : std::uint8_t { none, small, wrong };

/// Start and end radius differ by `difference_m`: none within `tolerance_m`; small up to ten times
/// that, or 0.5 % of the radius; else wrong. (Real files: up to 5 um outside lathes.)
Mismatch grade_mismatch(double difference_m, double radius_m, double tolerance_m);

struct RadiusCentre {
    PlanePoint centre;
    double shortfall_m =
        0.0;  // how much the radius is shorter than half the chord; then the centre is the middle
};

/// Centre of an arc of the radius format. `start` and `end` differ.
RadiusCentre centre_from_radius(PlanePoint start, PlanePoint end, double radius_m, bool clockwise);

}  // namespace planner
