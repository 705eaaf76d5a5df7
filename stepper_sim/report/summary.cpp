#include "stepper_sim/report/summary.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <utility>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/json.hpp"
#include "stepper_sim/report/json_text.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/report/text.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::report {

namespace {

constexpr std::string_view kUnusable = "unusable";
constexpr std::size_t kNameColumns = 28;  // leaves room for the other columns
constexpr std::size_t kNameBytes = 76;    // a line, indented

std::string_view verdict_word(const check::PairReport& pair) {
    return pair.report ? check::to_word(pair.report->verdict) : kUnusable;
}

/// What is used most of what there is, on the low figure.
struct WorstUse {
    char motor = 0;
    std::string_view of;
    double use = -1.0;
};

WorstUse worst_use(const check::Report& report) {
    WorstUse worst;
    const auto consider = [&](char motor, std::string_view of, double use) {
        if (use > worst.use) worst = {motor, of, use};
    };
    for (const check::MotorSummary& motor : report.motors) {
        consider(motor.letter, "torque", motor.torque_use_peak);
        consider(motor.letter, "step", motor.speed_step_use_peak);
        if (motor.screened) consider(motor.letter, "swing", motor.modal_ratio_peak);
    }
    return worst;
}

/// The finding that made the verdict.
const check::Finding* reason(const check::Report& report) {
    return report.verdict != check::Verdict::clear ? &report.findings.front() : nullptr;
}

std::string reason_text(const check::PairReport& pair) {
    if (!pair.report) return first_error(pair.errors);
    const check::Finding* finding = reason(*pair.report);
    if (finding == nullptr) return {};
    // The first clause tells what and where; the rest is for the pair's own report.
    return fmt::format("{}: {}", finding->check,
                       finding->message.substr(0, finding->message.find(';')));
}

std::string program_name(const check::PairReport& pair) {
    if (pair.program.empty()) return pair.report ? "settings alone" : "-";
    return planner::printable(std::filesystem::path(pair.program).filename().string(), kNameBytes);
}

/// Begin and end of a name: whole characters (UTF-8).
std::string shortened(std::string_view name) {
    constexpr std::string_view kGap = "...";
    constexpr std::size_t kHead = (kNameColumns - kGap.size()) / 2;
    constexpr std::size_t kTail = kNameColumns - kGap.size() - kHead;
    const auto from = [&](std::size_t column) {
        std::size_t at = 0;
        while (columns(name.substr(0, at + 1)) <= column)
            ++at;
        return at;
    };
    return std::string(name.substr(0, from(kHead))) + std::string(kGap) +
           std::string(name.substr(from(columns(name) - kTail)));
}

std::vector<std::string> row_of(const check::PairReport& pair) {
    std::string name = program_name(pair);
    if (columns(name) > kNameColumns) name = shortened(name);  // whole on a line of its own
    std::vector<std::string> row{"  " + name, std::string(verdict_word(pair)), "-", "-", "-"};
    if (!pair.report) return row;
    const check::Report& report = *pair.report;
    if (report.has_program) row[2] = planner::format_duration(report.program.duration_s);
    if (report.has_program || report.worst_case) {
        const WorstUse worst = worst_use(report);
        row[3] = fmt::format("{} {} {}", worst.motor, worst.of, check::words::percent(worst.use));
    }
    const check::Finding* finding = reason(report);
    if (finding != nullptr && finding->line != 0) row[4] = std::to_string(finding->line);
    return row;
}

Json json_of(const check::PairReport& pair) {
    Json out{{"machine", pair.machine}};
    out["program"] = pair.program.empty() ? Json(nullptr) : Json(pair.program);
    out["verdict"] = verdict_word(pair);
    out["reason"] = reason_text(pair);
    out["errors"] = Json::array();
    for (const planner::Diagnostic& error : pair.errors)
        out["errors"].push_back(planner::to_line(error));
    out["worst"] = nullptr;
    out["report"] = nullptr;
    if (!pair.report) return out;
    const WorstUse worst = worst_use(*pair.report);
    if (pair.report->has_program || pair.report->worst_case)
        out["worst"] = {
            {"motor", planner::axis_key(worst.motor)}, {"of", worst.of}, {"use", worst.use}};
    out["report"] = Json::parse(to_json(*pair.report));
    return out;
}

}  // namespace

std::string machine_heading(const std::string& file, const std::string& name) {
    std::string heading = planner::printable(file, kNameBytes);
    if (!name.empty()) heading += ": " + planner::printable(name, kNameBytes);
    return wrapped(heading, 2, 0);
}

std::string first_error(std::span<const planner::Diagnostic> errors) {
    if (errors.empty()) return {};
    std::string said = planner::to_line(errors.front());
    if (errors.size() > 1) said += fmt::format("; and {} more", errors.size() - 1);
    return said;
}

std::string left_out_text(std::span<const machine::LeftOut> left_out) {
    if (left_out.empty()) return {};
    std::string out = "\nLeft out\n";
    for (const machine::LeftOut& file : left_out)
        out += "  " +
               wrapped(fmt::format("{}: {}", planner::printable(file.file, kNameBytes), file.why),
                       4, 2);
    return out;
}

std::string_view verdict_word(const Summary& summary) {
    const auto worst = check::worst_verdict(summary.pairs);
    return worst && summary.all_read ? check::to_word(*worst) : kUnusable;
}

std::string summary_line(const Summary& summary) {
    std::string counts;
    for (const std::string_view word :
         {kUnusable, check::to_word(check::Verdict::fault), check::to_word(check::Verdict::thin),
          check::to_word(check::Verdict::clear)}) {
        const auto count = std::count_if(
            summary.pairs.begin(), summary.pairs.end(),
            [&](const check::PairReport& pair) { return verdict_word(pair) == word; });
        if (count > 0) counts += fmt::format("{}{} {}", counts.empty() ? "" : ", ", count, word);
    }
    return fmt::format("{}: {}\n", verdict_word(summary), counts);
}

std::string summary_text(const Summary& summary) {
    std::string out = summary_line(summary);
    // One table, so that the columns of all machines stand in line; its lines are then dealt out to them.
    std::vector<std::vector<std::string>> rows{{"  program", "verdict", "time", "worst", "line"}};
    for (const check::PairReport& pair : summary.pairs)
        rows.push_back(row_of(pair));
    const std::string lines = table(rows);
    std::size_t at = 0;
    const auto next_line = [&] {
        const std::size_t from = std::exchange(at, lines.find('\n', at) + 1);
        return lines.substr(from, at - from);
    };
    out += '\n' + next_line();
    const std::string* machine = nullptr;
    for (const check::PairReport& pair : summary.pairs) {
        if (machine == nullptr || *machine != pair.machine)
            out +=
                '\n' + machine_heading(pair.machine, pair.report ? pair.report->machine_name : "");
        machine = &pair.machine;
        out += next_line();
        if (const std::string name = program_name(pair); columns(name) > kNameColumns)
            out += "    " + name + '\n';
        if (const std::string why = reason_text(pair); !why.empty())
            out += "    " + wrapped(why, 4, 4);
    }
    return out + left_out_text(summary.left_out) + '\n' +
           wrapped(
               "worst: the largest share, on the low figure, of the torque available, of the speed "
               "step the rotor follows or of the "
               "swing it bears; `check` with one machine and its programs shows the whole report",
               0, 0) +
           '\n' + wrapped(kCaution, 0, 0);
}

std::string summary_json(const Summary& summary) {
    Json out{{"schema", "stepper_sim.checks.1"},
             {"version", kVersion},
             {"verdict", verdict_word(summary)},
             {"margin", summary.margin}};
    out["pairs"] = Json::array();
    for (const check::PairReport& pair : summary.pairs)
        out["pairs"].push_back(json_of(pair));
    out["left_out"] = Json::array();
    for (const machine::LeftOut& file : summary.left_out)
        out["left_out"].push_back({{"file", file.file}, {"why", file.why}});
    return json_text(out);
}

}  // namespace stepper_sim::report
