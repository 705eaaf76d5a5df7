#include "stepper_sim/machine/catalogue.hpp"

#include <algorithm>

#include "stepper_sim/machine/read_parts.hpp"

namespace stepper_sim::machine {
namespace {

namespace fs = std::filesystem;

template <class Part>
std::vector<CatalogueEntry<Part>> read_all(const fs::path& folder, const std::string& kind,
                                           planner::Result<Part> (*read)(const fs::path&)) {
    std::vector<fs::path> files;
    std::error_code error;
    fs::directory_iterator entry(folder / kind, error);
    for (; !error && entry != fs::directory_iterator(); entry.increment(error)) {
        if (entry->path().extension() == ".toml") {
            files.push_back(entry->path());
        }
    }
    std::sort(files.begin(), files.end());
    std::vector<CatalogueEntry<Part>> entries;
    entries.reserve(files.size());
    for (const fs::path& file : files) {
        entries.push_back({kind + '/' + file.filename().string(), read(file)});
    }
    return entries;
}

}  // namespace

Catalogue read_catalogue(const fs::path& folder) {
    return {read_all<MotorPart>(folder, "motors", read_motor),
            read_all<DriverPart>(folder, "drivers", read_driver),
            read_all<ControllerPart>(folder, "controllers", read_controller)};
}

}  // namespace stepper_sim::machine
