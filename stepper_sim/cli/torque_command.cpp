#include <fmt/core.h>

#include <algorithm>
#include <array>

#include "planner/units/units_text.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/proposal.hpp"
#include "stepper_sim/cli/swap_text.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/limits/asked_cloud.hpp"
#include "stepper_sim/machine/catalogue.hpp"
#include "stepper_sim/report/part_ranking_text.hpp"
#include "stepper_sim/report/text.hpp"
#include "stepper_sim/report/torque_table.hpp"

namespace stepper_sim::cli {

namespace {

constexpr auto kOptions = std::to_array<OptionRow>({
    kMachineOption,
    {"PROGRAM", "FILE", "G-code programs whose torque is set against the curves", false, true},
    {"--axis", "LETTER", "the axis to judge; default: the machine's first", false, false},
    {"--speed", "SPEED",
     "compare at SPEED, such as \"200 mm/s\", as often as you like; default: a quarter, half and "
     "all of the axis's top speed",
     false, true},
    {"--swap", "KEY=VALUE",
     "add a candidate with motor=FILE, driver=FILE, supply=\"36 V\", current=\"1.2 A rms\" (or "
     "peak), microsteps=32 or gear=2; each --swap is a candidate of its own, '+' joins several "
     "into one: supply=\"48 V\"+current=\"2 A rms\"",
     false, true},
    {"--rank-parts", "",
     "rank every motor and driver of the catalogue that fits the axis, by what each is worth in "
     "time",
     false, false},
    kMarginOption,
    {"--plot", "FILE",
     "draw the best six candidates' torque, and the programs' as dots, to an SVG file", false,
     false},
    kJsonOption,
    kCatalogueOption,
});

constexpr double kPlotRoom = 1.1;  // so that the last point is not on the frame

std::optional<std::vector<double>> speeds_of(const Invocation& invocation) {
    std::vector<double> speeds;
    const std::vector<std::string> texts = invocation.all("--speed");
    for (const std::string& text : texts) {
        const auto speed = planner::parse_quantity<planner::Speed>(text, {"--speed", 0, 0});
        if (!speed)
            print_diagnostics(speed.diagnostics());
        else if (!(speed.value().value() > 0.0 && speed.value().value() <= machine::kMaxSpeed_m_s))
            print_error("--speed: found '" + planner::printable(text) +
                        "', expected a speed above zero, at most 100 m/s");
        else
            speeds.push_back(speed.value().value());
    }
    if (speeds.size() != texts.size()) return std::nullopt;
    return speeds;
}

std::optional<std::vector<limits::Swap>> swaps_of(const Invocation& invocation) {
    std::vector<limits::Swap> swaps;
    bool good = true;
    for (const std::string& text : invocation.all("--swap")) {
        if (auto swap = swap_of(text, invocation))
            swaps.push_back(std::move(*swap));
        else
            good = false;
    }
    if (!good) return std::nullopt;
    return swaps;
}

std::optional<std::vector<limits::AskedPoint>> asked_of(const machine::Machine& machine, int slot,
                                                        const Invocation& invocation) {
    std::vector<limits::AskedPoint> asked;
    bool good = true;
    for (const std::string& file : invocation.all("PROGRAM")) {
        Progress progress("reading " + planner::printable(file, 40));
        const auto cloud =
            limits::asked_cloud(machine, slot, file, [&](double share) { progress.share(share); });
        progress.done();
        if (cloud)
            asked.insert(asked.end(), cloud.value().begin(), cloud.value().end());
        else
            print_diagnostics(cloud.diagnostics());
        good = good && static_cast<bool>(cloud);
    }
    if (!good) return std::nullopt;
    return asked;
}

std::string to_svg(const report::Comparison& comparison) {
    double top_m_s = 0.0;
    for (const limits::AskedPoint& point : comparison.asked)
        top_m_s = std::max(top_m_s, point.speed_m_s);
    for (const limits::Candidate& candidate : comparison.candidates) {
        top_m_s = std::max(top_m_s, candidate.top_speed_nominal_m_s);
        for (const limits::SpeedPoint& point : candidate.points)
            top_m_s = std::max(top_m_s, point.speed_m_s);
    }
    return report::torque_plot_svg(comparison.candidates, comparison.asked, kPlotRoom * top_m_s);
}

bool write_all(const report::Comparison& comparison, const Invocation& invocation) {
    if (invocation.has("--plot") && !write_file(invocation.text("--plot"), to_svg(comparison)))
        return false;
    if (invocation.has("--json") &&
        !write_file(invocation.text("--json"), report::torque_json(comparison)))
        return false;
    if (json_to_output(invocation) || invocation.text("--plot") == "-") return true;
    std::string text = report::torque_text(comparison.candidates, comparison.margin);
    if (!comparison.asked.empty()) text += report::asked_text(comparison.asked);
    if (comparison.ranking)
        text += report::part_ranking_text(*comparison.ranking, comparison.axis.letter,
                                          comparison.margin);
    return print(report::with_caution(std::move(text)));
}

/// Nothing, with errors printed, where no catalogue or program can be read.
std::optional<limits::PartRanking> ranking_of(const machine::Machine& machine, int slot,
                                              double margin, const Invocation& invocation) {
    for (const std::filesystem::path& folder : catalogue_folders(invocation)) {
        std::error_code error;
        if (!std::filesystem::is_directory(folder, error)) continue;
        Progress progress("ranking parts");
        auto ranking = limits::rank_parts(machine, slot, machine::read_catalogue(folder),
                                          programs_of(invocation), margin,
                                          [&](double share) { progress.share(share); });
        progress.done();
        print_diagnostics(ranking.diagnostics());
        return ranking ? std::optional(std::move(ranking).value()) : std::nullopt;
    }
    print_error("--rank-parts: no catalogue folder found; name one with --catalogue FOLDER");
    return std::nullopt;
}

Exit run(const Invocation& invocation) {
    if (json_to_output(invocation) && invocation.text("--plot") == "-") {
        print_error("--plot: found '-' beside --json -, expected standard output for one of them");
        return Exit::unusable;
    }
    const auto margin = margin_of(invocation);
    const auto speeds = speeds_of(invocation);
    const auto swaps = swaps_of(invocation);
    const auto machine = machine_of(invocation);
    if (!margin || !speeds || !swaps || !machine) return Exit::unusable;
    const auto slot = axis_of(*machine, invocation);
    if (!slot) return Exit::unusable;
    auto asked = asked_of(*machine, *slot, invocation);
    if (!asked) return Exit::unusable;

    const machine::Axis& axis = machine->axes[static_cast<std::size_t>(*slot)];
    limits::ComparisonQuestion question{*speeds, std::nullopt, *margin};
    if (question.speeds_m_s.empty())
        for (const double share : {0.25, 0.5, 1.0})
            question.speeds_m_s.push_back(share * axis.settings.max_speed.value());
    std::optional<limits::PartRanking> ranking;
    if (invocation.has("--rank-parts") &&
        !(ranking = ranking_of(*machine, *slot, *margin, invocation)))
        return Exit::unusable;
    const report::Comparison comparison{
        *machine,          axis,
        *margin,           limits::compare_motors(*machine, *slot, *swaps, question),
        std::move(*asked), invocation.all("PROGRAM"),
        std::move(ranking)};
    return write_all(comparison, invocation) ? Exit::good : Exit::unusable;
}

}  // namespace

const CommandRow kTorqueCommand{
    "torque",
    "motors, drivers, supplies and currents for an axis side by side: torque, margin, top speed",
    "stepper_sim torque configs/machines/tray-printer.toml --axis y --swap supply=\"36 V\"",
    kOptions, run};

}  // namespace stepper_sim::cli
