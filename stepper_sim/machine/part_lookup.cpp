#include "stepper_sim/machine/part_lookup.hpp"

#include <algorithm>
#include <map>

#include "stepper_sim/machine/nearest.hpp"
#include "stepper_sim/machine/text_file.hpp"

namespace stepper_sim::machine::reading {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMaxPartName = 1000;

bool is_there(const fs::path& file) {
    std::error_code error;
    return fs::status(file, error).type() != fs::file_type::not_found;
}

/// The names of the part files beside the one that is missing, as a machine file would write them.
std::vector<std::string> names_near(const fs::path& name, const SearchFolders& folders) {
    std::vector<std::string> names;
    for (const fs::path& folder : folders) {
        std::error_code error;
        fs::directory_iterator entry(folder / name.parent_path(), error);
        for (; !error && entry != fs::directory_iterator(); entry.increment(error)) {
            if (entry->path().extension() == ".toml") {
                names.push_back((name.parent_path() / entry->path().filename()).generic_string());
            }
        }
    }
    std::sort(names.begin(), names.end());
    names.erase(std::unique(names.begin(), names.end()), names.end());
    return names;
}

std::string where_looked(const fs::path& name, const SearchFolders& folders) {
    const std::string near = nearest(name.generic_string(), names_near(name, folders));
    if (!near.empty()) {
        return "did you mean \"" + near + '"';
    }
    std::string text = "looked in";
    for (const fs::path& folder : folders) {
        text += (&folder == folders.data() ? " " : ", ") +
                (folder.empty() ? "." : folder.generic_string());
    }
    return text;
}

std::optional<Node> load(const Node& node, const std::string& key, const SearchFolders& folders,
                         Faults& faults) {
    const std::string expected = "the file of a part for " + key;
    const auto refuse = [&](const char* id, std::string hint) {
        faults.add({id, node.place(), shown(node), expected, std::move(hint)});
        return std::nullopt;
    };
    const bool name_ok = !node.text.empty() && node.text.size() <= kMaxPartName &&
                         node.text.find('\0') == std::string::npos;
    if (!name_ok) {
        return refuse("machine/no-file", "");
    }
    for (const fs::path& folder : folders) {
        const fs::path file = folder / node.text;
        if (!is_there(file)) {
            continue;
        }
        const planner::Result<std::string> text = read_text_file(file);
        if (!text) {
            const planner::Diagnostic& why = text.diagnostics().front();
            return refuse(why.id.c_str(),
                          planner::printable(file.generic_string()) + " is " + why.found);
        }
        planner::Result<Node> root = parse_toml(text.value(), file.generic_string());
        if (!root) {
            faults.add(root.diagnostics());
            return std::nullopt;
        }
        return std::move(root).value();
    }
    return refuse("machine/no-file", where_looked(node.text, folders));
}

void lay_over(Node& part, const Node& machine_values) {
    std::map<std::string, Field> fields;
    for (Field& field : part.fields) {
        fields.insert_or_assign(field.name, std::move(field));
    }
    for (const Field& field : machine_values.fields) {
        if (field.name != "part") {
            fields.insert_or_assign(field.name, field);
        }
    }
    part.fields.clear();
    for (auto& [name, field] : fields) {
        part.fields.push_back(std::move(field));
    }
}

}  // namespace

SearchFolders search_folders(const fs::path& machine_file, const SearchFolders& catalogue) {
    const fs::path own = machine_file.parent_path();
    SearchFolders folders = {own, own / ".."};
    folders.insert(folders.end(), catalogue.begin(), catalogue.end());
    return folders;
}

std::optional<FoundPart> find_part(const Node& node, const std::string& key,
                                   const SearchFolders& folders, Faults& faults) {
    if (node.kind == Node::Kind::text) {
        std::optional<Node> table = load(node, key, folders, faults);
        if (!table) {
            return std::nullopt;
        }
        return FoundPart{std::move(*table), node.text};
    }
    if (node.kind != Node::Kind::table) {
        faults.add({"machine/wrong-type", node.place(), shown(node),
                    "the name of a part file, or a table, for " + key, ""});
        return std::nullopt;
    }
    const Node* part = find_field(node, "part");
    if (part == nullptr) {
        return FoundPart{node, ""};
    }
    if (part->kind != Node::Kind::text) {
        faults.add({"machine/wrong-type", part->place(), shown(*part),
                    "the name of a part file for " + key + ".part", ""});
        return std::nullopt;
    }
    std::optional<Node> table = load(*part, key + ".part", folders, faults);
    if (!table) {
        return std::nullopt;
    }
    lay_over(*table, node);
    return FoundPart{std::move(*table), part->text};
}

}  // namespace stepper_sim::machine::reading
