#include "stepper_sim/cli/inputs.hpp"

#include <cctype>
#include <cmath>
#include <system_error>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/machine/read_machine.hpp"

namespace stepper_sim::cli {

std::vector<std::filesystem::path> catalogue_folders(const Invocation& invocation) {
    std::vector<std::filesystem::path> folders;
    for (const std::string& folder : invocation.all("--catalogue"))
        folders.emplace_back(folder);
    std::error_code error;
    const std::filesystem::path program = std::filesystem::read_symlink("/proc/self/exe", error);
    if (!error)
        folders.push_back(program.parent_path().parent_path() / "share" / "stepper_sim" /
                          "configs");
    folders.emplace_back(STEPPER_SIM_CONFIGS);
    return folders;
}

std::optional<machine::Machine> machine_of(const Invocation& invocation) {
    return machine_at(invocation.text("MACHINE"), invocation);
}

std::optional<machine::Machine> machine_at(const std::string& file, const Invocation& invocation) {
    auto machine = machine::read_machine(file, catalogue_folders(invocation));
    if (machine) return std::move(machine).value();
    print_diagnostics(machine.diagnostics());
    return std::nullopt;
}

std::optional<double> margin_of(const Invocation& invocation) {
    if (!invocation.has("--margin")) return run::kDefaultMargin;
    const std::string text = invocation.text("--margin");
    // Without its sign a number below 1 is a share and one from 2 on a percentage; between them it may be meant either way.
    constexpr double kSharesBelow = 1.0, kPercentFrom = 2.0;
    if (const auto read = planner::parse_number(text)) {
        const bool bare = text.find('%') == std::string::npos;
        double value = read.value();
        const bool unclear = bare && value >= kSharesBelow && value < kPercentFrom;
        if (bare && value >= kPercentFrom) value /= 100.0;
        if (!unclear && value >= 0.0 && value < 1.0) return value;
    }
    print_error("--margin: found '" + planner::printable(text) +
                "', expected a share from 0 up to 1 or a percentage such as 20%");
    return std::nullopt;
}

std::optional<int> axis_of(const machine::Machine& machine, const Invocation& invocation) {
    if (!invocation.has("--axis")) return 0;
    const std::string text = invocation.text("--axis");
    std::string letters;
    for (std::size_t i = 0; i < machine.axes.size(); ++i) {
        const char letter = machine.axes[i].letter;
        if (text.size() == 1 && std::toupper(static_cast<unsigned char>(text[0])) == letter)
            return static_cast<int>(i);
        letters += (letters.empty() ? "" : ", ") + std::string(1, letter);
    }
    print_error("--axis: found '" + planner::printable(text) + "', expected one of " + letters);
    return std::nullopt;
}

bool json_to_output(const Invocation& invocation) {
    return invocation.text("--json") == "-";
}

}  // namespace stepper_sim::cli
