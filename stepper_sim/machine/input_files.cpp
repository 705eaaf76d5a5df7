#include "stepper_sim/machine/input_files.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <filesystem>

#include "stepper_sim/machine/text_file.hpp"
#include "stepper_sim/machine/toml_node.hpp"

namespace stepper_sim::machine {

namespace {

namespace fs = std::filesystem;

std::string ending_of(const fs::path& file) {
    std::string ending = file.extension().string();
    std::transform(ending.begin(), ending.end(), ending.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    return ending;
}

bool ends_as_program(const std::string& ending) {
    return !ending.empty() && ending.find(' ') == std::string::npos &&
           (" " + std::string(kProgramEndings) + " ").find(" " + ending + " ") != std::string::npos;
}

/// One that cannot be read may be meant as a machine.
bool may_be_machine(const fs::path& file) {
    const auto text = reading::read_text_file(file);
    if (!text) return true;
    const auto root = reading::parse_toml(text.value(), file.generic_string());
    if (!root) return true;
    // Neither parts nor trial sheets have any of these.
    constexpr std::array kMachineKeys{"axes", "kinematics", "planning"};
    return std::any_of(kMachineKeys.begin(), kMachineKeys.end(), [&](const char* key) {
        return reading::find_field(root.value(), key) != nullptr;
    });
}

void add_once(const fs::path& file, std::vector<std::string>& files) {
    const bool known = std::any_of(files.begin(), files.end(), [&](const std::string& other) {
        return fs::path(other).lexically_normal() == file.lexically_normal();
    });
    if (!known) files.push_back(file.generic_string());
}

class Search {
  public:
    explicit Search(InputFiles& files) : files_(files) {}

    void look_through(const fs::path& folder) {
        std::error_code error;
        std::vector<fs::directory_entry> entries;
        for (fs::directory_iterator entry(folder, error), end; !error && entry != end;
             entry.increment(error))
            entries.push_back(*entry);
        if (error)
            files_.errors.push_back({"files/unreadable-folder",
                                     {folder.generic_string(), 0, 0},
                                     error.message(),
                                     "a folder to read",
                                     "check its permissions"});
        std::sort(entries.begin(), entries.end());
        for (const fs::directory_entry& entry : entries)
            add(entry);
    }

  private:
    void leave_out(const fs::path& file, std::string why) {
        files_.left_out.push_back({file.generic_string(), std::move(why)});
    }

    void add(const fs::directory_entry& entry) {
        std::error_code error;
        const fs::path& path = entry.path();
        if (path.filename().string().starts_with('.')) return leave_out(path, "hidden");
        if (entry.is_directory(error))
            // A link may lead back up.
            return entry.is_symlink(error) ? leave_out(path, "a link to a folder")
                                           : look_through(path);
        const std::string ending = ending_of(path);
        if (!entry.is_regular_file(error)) return leave_out(path, "not a regular file");
        if (ends_as_program(ending)) return add_once(path, files_.programs);
        if (ending != ".toml") return leave_out(path, "neither TOML nor G-code by its ending");
        if (!may_be_machine(path)) return leave_out(path, "TOML, but no machine");
        add_once(path, files_.machines);
    }

    InputFiles& files_;
};

}  // namespace

planner::Result<InputFiles> input_files(std::span<const std::string> given) {
    InputFiles files;
    for (const std::string& name : given) {
        std::error_code error;
        if (fs::is_directory(name, error)) {
            files.has_folder = true;
            const auto count = [&] { return files.machines.size() + files.programs.size(); };
            const std::size_t before = count(), errors_before = files.errors.size();
            Search(files).look_through(name);
            if (count() == before && files.errors.size() == errors_before)
                files.errors.push_back({"files/empty-folder",
                                        {name, 0, 0},
                                        "a folder without machines and programs",
                                        "machine files (.toml) or programs (.gcode, .nc ...)",
                                        {}});
            continue;
        }
        const bool first = &name == given.data();
        add_once(name, first || ending_of(name) == ".toml" ? files.machines : files.programs);
    }
    if (!files.machines.empty()) return files;
    if (!files.errors.empty()) return files.errors;
    return planner::Diagnostic{"files/no-machine",
                               {given.empty() ? std::string() : given.front(), 0, 0},
                               "no machine file",
                               "a machine file (TOML with axes)",
                               "name one, or a folder with one"};
}

}  // namespace stepper_sim::machine
