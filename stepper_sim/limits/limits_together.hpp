/// All groups of axes at their settings, judged together on every source: the search of one group does not see corners, programs and the
/// processor time of the others. A part of limits.hpp.
#pragma once

#include "stepper_sim/limits/group_search.hpp"

namespace stepper_sim::limits {

class LimitsTogether {
  public:
    /// Question, models, groups and what is shared must outlive it. `all`: the groups are all of the machine's, so that corners between them count.
    /// `motors`: bit m: what motor m does counts.
    LimitsTogether(const LimitsQuestion& question, const run::MotorModels& models,
                   std::span<const AxisGroup> groups, bool all, std::uint32_t motors,
                   SearchShared& shared);

    /// Lowers `settings` until everything is clear at the margin, and notes in the searches why. Returns the last answer.
    planner::Result<ProbeAnswer> settle(std::vector<GroupSettings>& settings, double margin,
                                        std::vector<GroupSearch>& searches, bool at_margin) const;
    /// Raises what is clear, one setting at a time, until a step more of any of them is not, and notes in the searches why: each was searched
    /// while the others stood elsewhere. Returns how often it raised one.
    planner::Result<int> raise(std::vector<GroupSettings>& settings,
                               std::vector<GroupSearch>& searches) const;

  private:
    struct Refusal;

    machine::Machine machine_at(const std::vector<GroupSettings>& settings) const;
    std::vector<run::ProgramSource> sources_of(const machine::Machine& machine) const;
    std::vector<run::ProgramSource> sources_beside(std::size_t g,
                                                   const machine::Machine& machine) const;
    planner::Result<ProbeAnswer> first_unclear(const machine::Machine& machine,
                                               std::span<const run::ProgramSource> sources,
                                               double margin, const ProbeAnswer& last_no) const;
    std::size_t group_of(int motor, const std::vector<GroupSettings>& settings) const;
    planner::Result<bool> raise_one(std::vector<GroupSettings>& settings, std::size_t g,
                                    const LimitedSetting& setting, GroupSearch& search,
                                    Refusal& refusal, ProbeAnswer& last_no) const;
    bool cure(std::vector<GroupSettings>& settings, std::size_t g, const ProbeAnswer& trouble,
              double margin, LoweredSettings& lowered) const;

    const LimitsQuestion& question_;
    const run::MotorModels& models_;
    std::span<const AxisGroup> groups_;
    bool all_;
    std::uint32_t motors_;
    SearchShared& shared_;
};

}  // namespace stepper_sim::limits
