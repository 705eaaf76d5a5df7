#include "stepper_sim/limits/settings_text.hpp"

#include <cmath>
#include <utility>

#include "stepper_sim/machine/edit_toml.hpp"
#include "stepper_sim/machine/setting.hpp"

namespace stepper_sim::limits {

namespace {

// Differences below are rounding of the unit's factor.
constexpr double kSame = 1e-9;

std::vector<machine::Setting> changes(const machine::Machine& wanted,
                                      const machine::Machine& present) {
    std::vector<machine::Setting> found;
    for (const machine::Axis& axis : present.axes)
        for (const machine::SettingKey key :
             {machine::SettingKey::max_speed, machine::SettingKey::max_acceleration,
              machine::SettingKey::speed_step}) {
            const double from = machine::present_value(present, axis.letter, key);
            const double to = machine::present_value(wanted, axis.letter, key);
            if (std::abs(to - from) > kSame * std::abs(from))
                found.push_back({axis.letter, key, to});
        }
    return found;
}

}  // namespace

std::vector<std::string> setting_lines(const machine::Machine& wanted,
                                       const machine::Machine& present) {
    std::vector<std::string> lines;
    for (const machine::Setting& setting : changes(wanted, present))
        lines.push_back(machine::line_text(setting));
    return lines;
}

planner::Result<std::string> with_settings(std::string_view text, const std::string& file,
                                           const machine::Machine& wanted,
                                           const machine::Machine& present) {
    const auto root = machine::reading::parse_toml(text, file);
    if (!root) return root.diagnostics();
    std::vector<machine::reading::TextEdit> edits;
    for (const machine::Setting& setting : changes(wanted, present)) {
        const std::string path = machine::path_text(setting.axis, setting.key);
        const machine::reading::Node* node = machine::reading::find_path(root.value(), path);
        if (node != nullptr) edits.push_back(machine::reading::value_span(text, *node));
        if (node == nullptr || edits.back().length == 0)
            return planner::Diagnostic{"machine/missing-key",
                                       node != nullptr ? node->place() : planner::Place{file, 0, 0},
                                       "no value to replace", path + " as a text",
                                       "write the settings into the machine file itself"};
        edits.back().with = '"' + machine::value_text(setting) + '"';
    }
    return machine::reading::edited(text, std::move(edits));
}

}  // namespace stepper_sim::limits
