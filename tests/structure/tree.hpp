/// The project's own files, for the tests that read them.
#pragma once

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

namespace tree {

inline const std::filesystem::path kRoot =
    std::filesystem::path(STEPPER_SIM_TESTS_DIR).parent_path();

inline std::string text_of(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream out;
    out << in.rdbuf();
    return out.str();
}

}  // namespace tree
