/// How fast the path may run through the junction of two moves.
/// The speed along the path is the same on both sides; what jumps there is the speed of each axis.
/// Model:   speed step: each axis may change its speed at once by a given step.
///          deviation: the corner is rounded by an arc tangent to both legs, run at constant speed.
///          The arc passes the corner at no more than the deviation and uses no more than half of
///          either leg, so that two corners never share a piece; the axes must supply the
///          centripetal acceleration in the direction of the corner's bisector.
/// Formula: speed step: v = min_i step_i / |u2_i - u1_i|
///          deviation, with t = u / |u|, s = |t2 - t1| / 2 = sin(turn / 2), c = |t1 + t2| / 2:
///          the arc's middle is r (1/c - 1) from the corner: r <= d c / (1 - c) = d c (1 + c) / s^2
///          it touches the legs r s / c from the corner:     r <= min(l1, l2) / 2 * c / s
///          along n = (t2 - t1) / 2s the axes allow          a = min_i amax_i / |n_i|
///          v^2 = a r / max(|u1|, |u2|)^2
///          and v^2 <= 8 d min_i(amax_i / |u2_i - u1_i|) / |u2 - u1|, the parabolic blend of the
///          same deviation, which binds only where the legs measure their length differently
///          (a filament-only move beside an XYZ move)
/// Symbols: u1, u2 = axis displacement per metre of path before and after [-], d = deviation [m],
///          r = radius of the arc [m], l1, l2 = lengths of the legs, all axes counted [m],
///          amax = acceleration limits [m/s^2]
/// Valid:   both rules cap the result at either move's nominal speed. By deviation a straight
///          continuation is free and a reversal stops. The arc only sets the speed: the path keeps
///          its sharp corner. Away from the bisector the arc may ask a weak axis for a little more.
/// Source:  the fillet of two lines, r (1/cos(turn/2) - 1) away from their corner: plane geometry, as used to blend straight paths in
///          L. Biagiotti, C. Melchiorri, Trajectory Planning for Automatic Machines and Robots (2008), ch. 8 (from memory); v^2 = a r:
///          Newton; the rest derived here
/// Checked by: Corner.RightAngleByDeviationMatchesTheArc, Corner.NoAxisJumpsMoreThanItsStep
#pragma once

#include <span>
#include <string_view>

#include "planner/lookahead/move_limits.hpp"

namespace planner {

/// All that a rule for corners is.
struct CornerRuleRow {
    std::string_view name;  // in a machine file
    double (*speed_m_s)(const InverseLimits& limits, const MoveLimits& before,
                        const MoveLimits& after);  // infinite where nothing turns
    double power;  // the speed through a corner goes with the rule's setting to this power
    bool
        of_each_axis;  // it has a setting for each axis: the jump of that axis; else one of the path
};

/// In the order of CornerRule.
std::span<const CornerRuleRow> corner_rules();

inline const CornerRuleRow& row_of(CornerRule rule) {
    return corner_rules()[static_cast<std::size_t>(rule)];
}

/// Highest path speed through the junction of two moves [m/s], by the rule `limits.corner`. Whether
/// the second move starts from rest is for the caller to know (Move::rest_before_s).
double plan_corner_speed(const InverseLimits& limits, const MoveLimits& before,
                         const MoveLimits& after);

}  // namespace planner
