
#include <algorithm>
#include <array>
#include <filesystem>

#include "planner/units/units_text.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/machine/catalogue.hpp"
#include "stepper_sim/report/parts_text.hpp"

namespace stepper_sim::cli {

namespace {

constexpr auto kOptions = std::to_array<OptionRow>({
    {"KIND", "KIND", "motors, drivers or controllers; none: all of them", false, false},
    {"--sources", "", "add where each part's values come from", false, false},
    kJsonOption,
    kCatalogueOption,
});

/// Prints what is wrong with parts of this kind; false where anything is.
bool told(const machine::Catalogue& catalogue, std::string_view kind) {
    bool good = true;
    const auto tell = [&](std::string_view own, const auto& entries) {
        if (!kind.empty() && kind != own) return;
        for (const auto& entry : entries) {
            print_diagnostics(entry.part.diagnostics());
            good = good && static_cast<bool>(entry.part);
        }
    };
    tell("motors", catalogue.motors);
    tell("drivers", catalogue.drivers);
    tell("controllers", catalogue.controllers);
    return good;
}

Exit run(const Invocation& invocation) {
    const std::string kind = invocation.text("KIND");
    constexpr std::array<std::string_view, 3> kKinds{"motors", "drivers", "controllers"};
    if (!kind.empty() && std::find(kKinds.begin(), kKinds.end(), kind) == kKinds.end()) {
        print_error("parts: found '" + planner::printable(kind) +
                    "', expected motors, drivers or controllers");
        return Exit::unusable;
    }
    const bool sources = invocation.has("--sources");
    for (const std::filesystem::path& folder : catalogue_folders(invocation)) {
        std::error_code error;
        if (!std::filesystem::is_directory(folder, error)) continue;
        const machine::Catalogue catalogue = machine::read_catalogue(folder);
        const bool good = told(catalogue, kind);
        if (invocation.has("--json") &&
            !write_file(invocation.text("--json"), report::parts_json(catalogue, kind)))
            return Exit::unusable;
        if (!json_to_output(invocation) && !print(report::parts_text(catalogue, kind, sources)))
            return Exit::unusable;
        return good ? Exit::good : Exit::unusable;
    }
    print_error("parts: no catalogue folder found; name one with --catalogue FOLDER");
    return Exit::unusable;
}

}  // namespace

const CommandRow kPartsCommand{"parts",
                               "the catalogue of motors, drivers and controllers, with sources",
                               "stepper_sim parts motors --sources", kOptions, run};

}  // namespace stepper_sim::cli
