#include "stepper_sim/limits/settings_text.hpp"

#include <cmath>
#include <utility>

#include "stepper_sim/machine/edit_toml.hpp"
#include "stepper_sim/machine/setting.hpp"

namespace stepper_sim {

namespace {

// Differences below are rounding of the unit's factor.
constexpr double kSame = 1e-9;

std::vector<Setting> changes(const Machine& wanted, const Machine& present) {
    std::vector<Setting> found;
    for (const Axis& axis : present.axes)
        for (const SettingKey key :
             {SettingKey::max_speed, SettingKey::max_acceleration, SettingKey::speed_step}) {
            const double from = present_value(present, axis.letter, key);
            const double to = present_value(wanted, axis.letter, key);
            if (std::abs(to - from) > kSame * std::abs(from))
                found.push_back({axis.letter, key, to});
        }
    return found;
}

}  // namespace

std::vector<std::string> setting_lines(const Machine& wanted, const Machine& present) {
    std::vector<std::string> lines;
    for (const Setting& setting : changes(wanted, present))
        lines.push_back(line_text(setting));
    return lines;
}

planner::Result<std::string> with_settings(std::string_view text, const std::string& file,
                                           const Machine& wanted, const Machine& present) {
    const auto root = reading::parse_toml(text, file);
    if (!root) return root.diagnostics();
    std::vector<reading::TextEdit> edits;
    for (const Setting& setting : changes(wanted, present)) {
        const std::string path = path_text(setting.axis, setting.key);
        const reading::Node* node = reading::find_path(root.value(), path);
        if (node != nullptr) edits.push_back(reading::value_span(text, *node));
        if (node == nullptr || edits.back().length == 0)
            return planner::Diagnostic{"machine/missing-key",
                                       node != nullptr ? node->place() : planner::Place{file, 0, 0},
                                       "no value to replace", path + " as a text",
                                       "write the settings into the machine file itself"};
        edits.back().with = '"' + value_text(setting) + '"';
    }
    return reading::edited(text, std::move(edits));
}

}  // namespace stepper_sim
