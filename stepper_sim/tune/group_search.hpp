/// The limits of one group of axes on its own worst-case moves, in the order that limits.hpp gives. A part of limits.hpp.
#pragma once

#include "stepper_sim/tune/axis_group.hpp"
#include "stepper_sim/tune/limits.hpp"

namespace stepper_sim {

enum class LoweredSettings : std::uint8_t { acceleration, speed, all };

/// What keeps each of the three settings from being higher.
struct GroupReasons {
    ProbeAnswer speed, acceleration, step;
};

struct GroupFound {
    bool holds = false;         // some settings do
    bool keeps_margin = false;  // at some share of them the margin is kept
    GroupSettings just_holds;
    double share = 1.0;  // of them that keeps the margin
    GroupReasons reasons, reasons_with_margin;
    std::string why_not;  // where `holds` or `keeps_margin` is false
};

class GroupSearch {
  public:
    /// Machine and models must outlive it.
    GroupSearch(const Machine& machine, const MotorModels& models, const AxisGroup& group,
                double margin)
        : machine_(machine), models_(models), group_(group), margin_(margin) {}

    void run();

    const GroupFound& found() const { return found_; }
    const AxisGroup& group() const { return group_; }
    /// The settings with margin that belong to these just holding ones.
    GroupSettings lowered(const GroupSettings& just_holding) const;
    /// What all axes together gave for a reason to lower this group further.
    void note_cure(const ProbeAnswer& answer, LoweredSettings which, bool at_margin);
    AxisLimits axis_limits(int slot, const AxisSettings& present, const AxisSettings& just_holds,
                           const AxisSettings& with_margin) const;

  private:
    ProbeAnswer ask(const GroupSettings& settings, double margin);
    ProbeAnswer ask_of_settings(const GroupSettings& settings) const;
    std::optional<double> raise(GroupSettings at, double GroupSettings::*setting, double cap,
                                double first_share, ProbeAnswer& beyond);
    GroupSettings start() const;
    double reachable_m_s(double acceleration_m_s2) const;
    bool find_just_holds();
    bool find_base(GroupSettings& at);
    void find_acceleration(GroupSettings& at);
    void find_speed(GroupSettings& at);
    void find_step(GroupSettings& at);
    void find_margin();

    const Machine& machine_;
    const MotorModels& models_;
    const AxisGroup& group_;
    double margin_;
    GroupFound found_;
    std::string last_trouble_;  // name of the moves that were not clear last: asked first
};

}  // namespace stepper_sim
