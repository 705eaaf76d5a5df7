/// What a screw passes back when the load drives it, from its efficiency alone.
///
/// Model:   load on an inclined plane wrapped round the screw; thread friction as a friction angle
/// Formula: raising T = F r tan(lambda + phi), lowering T = -F r tan(lambda - phi); eta = tan(lambda)/tan(lambda + phi), so of the
///          load's work tan(lambda - phi)/tan(lambda) ~ 2 - 1/eta reaches the motor (<= 0: self-locking)
/// Symbols: F = axial force [N], r = mean thread radius [m], lambda = lead angle, phi = friction angle [rad], eta = raising efficiency
/// Valid:   low by 2 tan(phi)^2 (0.02 at friction 0.1, whatever the lead)
/// Source:  R. Budynas, K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed., sec. 8-2,
///          eqs. 8-1, 8-2 and 8-4 (from memory); 2 - 1/eta is the ball-screw makers' form (from memory; follows
///          from tan(l+p) + tan(l-p) ~ 2 tan(l))
/// Checked by: Screw.BackEfficiencyFromEfficiencyMatchesTheThreadForFineLeads, ScrewExamples.FineLeadLocksAndCoarseLeadDoesNot
#pragma once

namespace stepper_sim::motor {

/// Share of the load's work that reaches the motor when the load drives; <= 0: the screw locks and
/// the motor must push.
constexpr double back_efficiency(double raising_efficiency) {
    return 2.0 - 1.0 / raising_efficiency;
}

}  // namespace stepper_sim::motor
