#include "stepper_sim/limits/corner_watch.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "planner/profile/motion.hpp"
#include "stepper_sim/dynamics/screen_move.hpp"
#include "stepper_sim/run/slip_screen.hpp"

namespace stepper_sim::limits {

namespace {

constexpr double kNoJump_m_s = 1e-9;  // rounding of the planner's speeds

}  // namespace

CornerWatch::CornerWatch(const machine::Machine& machine, const run::MotorModels& models) {
    for (int slot = 0; slot < static_cast<int>(machine.axes.size()); ++slot) {
        axes_.push_back({run::motor_screen(machine, models, slot, dynamics::BandEdge::low,
                                           dynamics::Ringing::measured),
                         dynamics::rad_per_m(models.loads, slot),
                         {}});
        // Ratios are another business: below an endless floor none is looked for.
        axes_.back().screen.ratio_floor(std::numeric_limits<double>::infinity());
    }
}

void CornerWatch::push(std::span<const planner::MotorMove> moves) {
    for (const planner::MotorMove& move : moves) {
        for (std::size_t slot = 0; slot < axes_.size(); ++slot) {
            AxisWatch& axis = axes_[slot];
            axis.last_unit = axis.unit;
            axis.unit = (move.tool_end_m[slot] - move.tool_start_m[slot]) / move.length_m;
            axis.ringing_m =
                dynamics::screen_move(axis.screen, move, static_cast<int>(slot), axis.rad_per_m)
                    .corner_ringing_m;
        }
        const bool flows = moves_ && move.rest_before_s < 0.0;
        moves_ = true;
        if (!flows) {
            end_rises();
            fall_ = {};
        } else if (!move.arc_chord && move.profile.count > 0) {
            corner(move);
        }
        for (const planner::Phase& piece : planner::phases_of(move.profile))
            phase(piece);
        duration_s_ = move.start.seconds() + move.profile.duration_s;
    }
}

void CornerWatch::finish(double rest_s) {
    end_rises();
    duration_s_ += rest_s;
}

void CornerWatch::corner(const planner::MotorMove& move) {
    const double speed_m_s = planner::speed_at(move.profile, 0.0);
    Corner sharpest;
    for (AxisWatch& axis : axes_) {
        const double jump_m_s = std::fabs(axis.unit * speed_m_s - axis.last_unit * last_speed_m_s_);
        // What rings on at another axis's corner is no trouble of this corner.
        if (jump_m_s < kNoJump_m_s) continue;
        const Corner seen{move.line, jump_m_s, axis.ringing_m, fall_.lost_s()};
        if (seen.ringing_m > axis.most_ringing.corner.ringing_m)
            axis.most_ringing = {seen, {}, true};
        if (jump_m_s > sharpest.jump_m_s) sharpest = seen;
    }
    // A corner passed while the speed rises from another is not the one that costs the time.
    if (sharpest.line != 0 && (fall_.time_s > 0.0 || !last_corner_.rising))
        last_corner_ = {sharpest, {}, true};
}

void CornerWatch::phase(const planner::Phase& phase) {
    last_speed_m_s_ = planner::end_speed(phase);
    const double top_m_s = std::max(planner::start_speed(phase), last_speed_m_s_);
    for (AxisWatch& axis : axes_)
        axis.top_speed_m_s = std::max(axis.top_speed_m_s, top_m_s * std::fabs(axis.unit));
    if (!(phase.duration_s > 0.0)) return;
    if (last_speed_m_s_ < planner::start_speed(phase))
        fall_.add(phase);
    else
        fall_ = {};
    if (last_speed_m_s_ <= planner::start_speed(phase)) return end_rises();
    last_corner_.rise.add(phase);
    for (AxisWatch& axis : axes_)
        axis.most_ringing.rise.add(phase);
}

void CornerWatch::end_rises() {
    for (AxisWatch& axis : axes_)
        axis.most_ringing.end_rise();
    if (!last_corner_.rising) return;
    last_corner_.end_rise();
    if (last_corner_.corner.dwell_s > longest_dwell_.dwell_s) longest_dwell_ = last_corner_.corner;
}

void CornerWatch::Watched::end_rise() {
    if (rising) corner.dwell_s += rise.lost_s();
    rising = false;
}

void CornerWatch::Stretch::add(const planner::Phase& phase) {
    time_s += phase.duration_s;
    length_m += planner::phase_length(phase);
    top_m_s = std::max({top_m_s, planner::start_speed(phase), planner::end_speed(phase)});
}

double CornerWatch::Stretch::lost_s() const {
    return top_m_s > 0.0 ? std::max(0.0, time_s - length_m / top_m_s) : 0.0;
}

}  // namespace stepper_sim::limits
