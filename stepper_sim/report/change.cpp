#include "stepper_sim/report/change.hpp"

#include <algorithm>
#include <cctype>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim {

namespace {

constexpr std::string_view kAxes = "axes.", kSettings = ".settings.";

std::string now_of(const Report& report, char axis, std::string_view key) {
    for (const SettingsSummary& now : report.settings) {
        if (now.letter != axis) continue;
        if (key == "max_speed") return words::mm_s(now.max_speed_m_s);
        if (key == "max_acceleration") return words::mm_s2(now.max_acceleration_m_s2);
        if (key == "speed_step") return words::mm_s(now.speed_step_m_s);
        if (key == "steps_per_mm") return planner::format_number(now.steps_per_mm, 6);
        if (key == "microsteps") return std::to_string(now.microsteps);
        if (key == "current") return planner::format_number(now.current_rms_A, 3) + " A RMS";
    }
    return {};
}

SettingChange part_of(const Report& report, std::string_view line) {
    SettingChange change;
    change.line = line;
    const std::size_t equals = std::min(line.find(" = "), line.size());
    std::string_view left = line.substr(0, equals);
    std::string_view right = line.substr(std::min(equals + 3, line.size()));
    if (right.size() >= 2 && right.front() == '"') right = right.substr(1, right.size() - 2);
    change.to = right;
    change.key = left;
    if (left.starts_with(kAxes) && left.size() > kAxes.size() + 1) {
        change.axis =
            static_cast<char>(std::toupper(static_cast<unsigned char>(left[kAxes.size()])));
        left.remove_prefix(kAxes.size() + 1);
        if (left.starts_with(kSettings))
            left.remove_prefix(kSettings.size());
        else if (left.starts_with("."))
            left.remove_prefix(1);
        change.key = left;
        change.now = now_of(report, change.axis, left);
    }
    return change;
}

}  // namespace

std::vector<SettingChange> changes_of(const Report& report, std::string_view change) {
    std::vector<SettingChange> changes;
    while (!change.empty()) {
        const std::size_t next = change.find(", axes.");
        changes.push_back(part_of(report, change.substr(0, next)));
        change = next == std::string_view::npos ? std::string_view() : change.substr(next + 2);
    }
    return changes;
}

const Finding* first_change(const Report& report) {
    for (const Finding& finding : report.findings)
        if (!finding.change.empty() && finding.grade != Grade::note) return &finding;
    return nullptr;
}

std::string setting_name(std::string_view key) {
    if (key == "max_acceleration") return "acceleration";
    if (key == "max_speed") return "top speed";
    std::string name(key);
    std::replace(name.begin(), name.end(), '_', ' ');
    std::replace(name.begin(), name.end(), '-', ' ');
    return name;
}

}  // namespace stepper_sim
