/// The limits of one group of axes on its own worst-case moves, in the order that limits.hpp gives. A part of limits.hpp.
/// Model:   each setting searched with the others standing; above a cap more of it has no effect
/// Formula: cap of the speed = sqrt(a L); margin: all three times the largest share <= 1 - margin that keeps it
/// Symbols: a = acceleration [m/s^2], L = travel [m]
/// Valid:   found to kFoundTo (highest.hpp); where no twentieth keeps the margin none is proposed
/// Source:  from rest to rest inside the travel the speed peaks half way: Newton
/// Checked by: Limits.ProposedIsClearAndAboveJustHoldsIsNot, GroupSearch.ASettingOfNoneIsNotRaised
#pragma once

#include <array>

#include "stepper_sim/limits/axis_group.hpp"
#include "stepper_sim/limits/limits.hpp"

namespace stepper_sim::limits {

enum class LoweredSettings : std::uint8_t { acceleration, speed, all };

/// What keeps each of the three settings from being higher.
struct GroupReasons {
    ProbeAnswer speed, acceleration, step;
};

/// One of the three settings, and the reason that belongs to it.
struct LimitedSetting {
    double GroupSettings::*value;
    ProbeAnswer GroupReasons::*reason;
};

inline constexpr LimitedSetting kAccelerationSetting{&GroupSettings::acceleration_m_s2,
                                                     &GroupReasons::acceleration};
inline constexpr LimitedSetting kSpeedSetting{&GroupSettings::speed_m_s, &GroupReasons::speed};
inline constexpr LimitedSetting kStepSetting{&GroupSettings::step_m_s, &GroupReasons::step};
inline constexpr std::array kLimitedSettings{kAccelerationSetting, kSpeedSetting, kStepSetting};

/// Above it more of a setting has no effect.
struct SettingCap {
    double value;
    run::Binding binds;
    const char* why;
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
    /// Machine, models and what is shared must outlive it.
    GroupSearch(const machine::Machine& machine, const run::MotorModels& models,
                const AxisGroup& group, double margin, SearchShared& shared)
        : machine_(machine), models_(models), group_(group), margin_(margin), shared_(shared) {}

    void run();

    const GroupFound& found() const { return found_; }
    const AxisGroup& group() const { return group_; }
    /// The settings with margin that belong to these just holding ones.
    GroupSettings lowered(const GroupSettings& just_holding) const;
    /// Do these settings hold on the group's own worst-case moves?
    ProbeAnswer ask(const GroupSettings& settings, double margin);
    /// One setting a step higher, at most as high as it has an effect; false where it is there already, which is then the reason.
    bool raise(const LimitedSetting& setting, GroupSettings& at);
    /// Why a setting that just holds cannot be a step higher.
    void note_beyond(const LimitedSetting& setting, const ProbeAnswer& answer);
    /// What all axes together gave for a reason to lower this group further.
    void note_cure(const ProbeAnswer& answer, LoweredSettings which, bool at_margin);
    AxisLimits axis_limits(int slot, const machine::AxisSettings& present,
                           const machine::AxisSettings& just_holds,
                           const machine::AxisSettings& with_margin) const;

  private:
    ProbeAnswer ask_of_settings(const GroupSettings& settings) const;
    std::optional<double> search(GroupSettings at, const LimitedSetting& setting, double cap,
                                 double first_share, ProbeAnswer& beyond);
    SettingCap cap_of(const LimitedSetting& setting, const GroupSettings& at) const;
    std::optional<double> search_to_cap(const GroupSettings& at, const LimitedSetting& setting,
                                        double first_share);
    double reachable_m_s(double acceleration_m_s2) const;
    bool find_just_holds();
    bool find_base(GroupSettings& at);
    void find_acceleration(GroupSettings& at);
    void find_speed(GroupSettings& at);
    void find_step(GroupSettings& at);
    void find_margin();

    const machine::Machine& machine_;
    const run::MotorModels& models_;
    const AxisGroup& group_;
    double margin_;
    GroupFound found_;
    SearchShared& shared_;
    ProbeAnswer last_no_;  // what was not clear last is asked first
};

}  // namespace stepper_sim::limits
