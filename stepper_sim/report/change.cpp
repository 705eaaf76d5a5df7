#include "stepper_sim/report/change.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "stepper_sim/run/slip_cure.hpp"

namespace stepper_sim::report {

namespace {

/// "torque of motor Y"
std::string about(const check::Finding& finding) {
    return finding.motor != 0 ? fmt::format("{} of {}", finding.check, finding.motor)
                              : finding.check;
}

std::string left_words(const check::Findings& left) {
    constexpr std::size_t kNamed = 3;
    std::vector<std::string> names;
    for (const check::Finding& finding : left)
        if (finding.grade == left.front().grade &&
            std::find(names.begin(), names.end(), about(finding)) == names.end())
            names.push_back(about(finding));
    std::string out;
    for (std::size_t i = 0; i < std::min(names.size(), kNamed); ++i)
        out += (out.empty() ? "" : ", ") + names[i];
    if (names.size() > kNamed) out += fmt::format(" and {} more", names.size() - kNamed);
    return out;
}

std::string cured_words(const check::ChangeFirst& first) {
    if (first.left.empty()) return "checked again with it: clear";
    return fmt::format("checked again with it: {} is gone; still {} for {}", about(first.answers),
                       check::to_word(check::verdict_of(first.left)), left_words(first.left));
}

}  // namespace

std::vector<std::string> change_first_lines(const check::Report& report) {
    const check::ChangeFirst& first = report.change_first;
    std::vector<std::string> lines;
    for (const check::SettingChange& setting : first.change.settings)
        lines.push_back(machine::line_text(setting.to));
    if (lines.empty() && first.cure == check::Cure::not_checked && first.answers.lower)
        lines.push_back("lower " + machine::path_text(first.answers.motor, *first.answers.lower));
    return lines;
}

std::string change_first_said(const check::Report& report) {
    const check::ChangeFirst& first = report.change_first;
    switch (first.cure) {
        case check::Cure::not_needed:
            return {};
        case check::Cure::none_known:
            return "No single change was found that cures this; see the findings.";
        case check::Cure::none_cures:
            return fmt::format(
                "No single change was found that cures this; {} {} made on a copy and checked "
                "again.",
                first.tried, first.tried == 1 ? "was" : "were");
        case check::Cure::not_checked:
            return fmt::format("not checked again: programs of more than {} moves are not{}",
                               run::kMostCureMoves,
                               first.change.settings.empty() ? ", and how far was not sought" : "");
        case check::Cure::cures:
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

}  // namespace stepper_sim::report
