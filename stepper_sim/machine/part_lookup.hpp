/// Finds the part a machine file names and lays the machine's own values over it. Private to
/// stepper_sim/machine. A part is: "motors/NAME.toml" (a file), { name = ..., ... } (inline), or {
/// part = "motors/NAME.toml", rotor_inertia = ... } (a file, with some fields replaced whole).
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "stepper_sim/machine/field_reader.hpp"

namespace stepper_sim::machine::reading {

/// The folders that part names start from, in the order they are tried.
using SearchFolders = std::vector<std::filesystem::path>;

/// The machine file's folder, its parent folder, then the catalogue folders.
SearchFolders search_folders(const std::filesystem::path& machine_file,
                             const SearchFolders& catalogue);

struct FoundPart {
    Node table;
    std::string file;  // as the machine file names it; empty for an inline part
};

/// `node`: what the machine file says under `key`. Empty when there is no usable table, which is
/// then in `faults`. Errors: machine/no-file with the nearest existing name, those of
/// read_text_file and parse_toml, machine/wrong-type.
std::optional<FoundPart> find_part(const Node& node, const std::string& key,
                                   const SearchFolders& folders, Faults& faults);

}  // namespace stepper_sim::machine::reading
