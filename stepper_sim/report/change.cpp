#include "stepper_sim/report/change.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "stepper_sim/run/slip_cure.hpp"

namespace stepper_sim {

namespace {

/// "torque of motor Y"
std::string about(const Finding& finding) {
    return finding.motor != 0 ? fmt::format("{} of {}", finding.check, finding.motor)
                              : finding.check;
}

std::string left_words(const Findings& left) {
    constexpr std::size_t kNamed = 3;
    std::vector<std::string> names;
    for (const Finding& finding : left)
        if (finding.grade == left.front().grade &&
            std::find(names.begin(), names.end(), about(finding)) == names.end())
            names.push_back(about(finding));
    std::string out;
    for (std::size_t i = 0; i < std::min(names.size(), kNamed); ++i)
        out += (out.empty() ? "" : ", ") + names[i];
    if (names.size() > kNamed) out += fmt::format(" and {} more", names.size() - kNamed);
    return out;
}

std::string cured_words(const ChangeFirst& first) {
    if (first.left.empty()) return "checked again with it: clear";
    return fmt::format("checked again with it: {} is gone; still {} for {}", about(first.answers),
                       to_word(verdict_of(first.left)), left_words(first.left));
}

}  // namespace

std::vector<std::string> change_first_lines(const Report& report) {
    const ChangeFirst& first = report.change_first;
    std::vector<std::string> lines;
    for (const SettingChange& setting : first.change.settings)
        lines.push_back(line_text(setting.to));
    if (lines.empty() && first.cure == Cure::not_checked && first.answers.lower)
        lines.push_back("lower " + path_text(first.answers.motor, *first.answers.lower));
    return lines;
}

std::string change_first_said(const Report& report) {
    const ChangeFirst& first = report.change_first;
    switch (first.cure) {
        case Cure::not_needed:
            return {};
        case Cure::none_known:
            return "No single change was found that cures this; see the findings.";
        case Cure::none_cures:
            return fmt::format(
                "No single change was found that cures this; {} {} made on a copy and checked "
                "again.",
                first.tried, first.tried == 1 ? "was" : "were");
        case Cure::not_checked:
            return fmt::format("not checked again: programs of more than {} moves are not{}",
                               kMostCureMoves,
                               first.change.settings.empty() ? ", and how far was not sought" : "");
        case Cure::cures:
            break;
    }
    return cured_words(first);
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
