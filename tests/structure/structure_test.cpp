// The rules of DEVELOPERS.md that a machine can check: which way includes point, how long files are, what a physics header says.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

namespace {

namespace fs = std::filesystem;

const fs::path kRoot = fs::path(STEPPER_SIM_TESTS_DIR).parent_path();

std::string text_of(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream out;
    out << in.rdbuf();
    return out.str();
}

std::vector<fs::path> sources(const std::vector<std::string>& folders) {
    std::vector<fs::path> found;
    for (const std::string& folder : folders)
        for (const auto& entry : fs::recursive_directory_iterator(kRoot / folder)) {
            const std::string extension = entry.path().extension().string();
            if (extension == ".hpp" || extension == ".cpp" || extension == ".h" ||
                extension == ".c")
                found.push_back(entry.path());
        }
    return found;
}

/// "planner/path" of ".../planner/path/move.hpp".
std::string folder_of(const fs::path& file) {
    const fs::path relative = fs::relative(file, kRoot);
    auto part = relative.begin();
    const std::string top = (part++)->string();
    return top + "/" + part->string();
}

const std::map<std::string, std::set<std::string>> kMayInclude{
    {"planner/units", {}},
    {"planner/program", {"planner/units"}},
    {"planner/path", {"planner/units", "planner/program"}},
    {"planner/lookahead", {"planner/units", "planner/program", "planner/path"}},
    {"planner/profile", {"planner/units", "planner/program", "planner/path", "planner/lookahead"}},
    {"planner/kinematics",
     {"planner/units", "planner/program", "planner/path", "planner/lookahead", "planner/profile"}},
    {"stepper_sim/machine", {"planner"}},
    {"stepper_sim/pulse", {}},
    {"stepper_sim/controller", {"planner", "stepper_sim/machine", "stepper_sim/pulse"}},
    {"stepper_sim/motor", {"planner", "stepper_sim/machine"}},
    {"stepper_sim/dynamics", {"planner", "stepper_sim/machine", "stepper_sim/motor"}},
    {"stepper_sim/check",
     {"planner", "stepper_sim/machine", "stepper_sim/controller", "stepper_sim/motor",
      "stepper_sim/dynamics", "stepper_sim/pulse"}},
    {"stepper_sim/tune",
     {"planner", "stepper_sim/machine", "stepper_sim/controller", "stepper_sim/motor",
      "stepper_sim/dynamics", "stepper_sim/check"}},
    {"stepper_sim/report", {"planner", "stepper_sim/check", "stepper_sim/tune"}},
    {"stepper_sim/cli", {"planner", "stepper_sim"}},
};

TEST(Structure, IncludesPointOneWay) {
    const std::regex include(R"(#include "((planner|stepper_sim)/[a-z_]+)/)");
    for (const fs::path& file : sources({"planner", "stepper_sim"})) {
        const std::string own = folder_of(file);
        ASSERT_TRUE(kMayInclude.contains(own)) << "new folder " << own << ": add it to the table";
        const std::string text = text_of(file);
        for (std::sregex_iterator it(text.begin(), text.end(), include), end; it != end; ++it) {
            const std::string used = (*it)[1], top = (*it)[2];
            const std::set<std::string>& allowed = kMayInclude.at(own);
            EXPECT_TRUE(used == own || allowed.contains(used) || allowed.contains(top))
                << file << " includes " << used;
        }
    }
}

TEST(Structure, NoFileIsLongerThanFiveHundredLines) {
    for (const fs::path& file : sources({"planner", "stepper_sim", "tests", "bench"})) {
        const std::string text = text_of(file);
        EXPECT_LE(std::count(text.begin(), text.end(), '\n'), 500) << file;
    }
}

TEST(Structure, EveryHeaderOpensWithWhatItIs) {
    for (const fs::path& file : sources({"planner", "stepper_sim"}))
        if (file.extension() == ".hpp") {
            EXPECT_TRUE(text_of(file).starts_with("///")) << file;
        }
}

TEST(Structure, PhysicsHeadersSayModelFormulaSymbolsValidSourceAndTest) {
    for (const fs::path& file : sources({"planner", "stepper_sim"})) {
        const std::string text = text_of(file);
        if (text.find("/// Model:") == std::string::npos) continue;
        for (const char* label :
             {"/// Formula:", "/// Symbols:", "/// Valid:", "/// Source:", "/// Checked by:"})
            EXPECT_NE(text.find(label), std::string::npos) << file << " lacks '" << label << "'";
    }
}

TEST(Structure, LibrariesDoNotPrintOrExit) {
    const std::regex speech(R"(std::(cout|cerr|exit|abort|quick_exit)\b|\bprintf\(|fmt::print\()");
    for (const fs::path& file : sources({"planner", "stepper_sim"})) {
        if (folder_of(file) == "stepper_sim/cli") continue;
        EXPECT_FALSE(std::regex_search(text_of(file), speech)) << file;
    }
}

TEST(Structure, OnlyTheFixedNamesStandAtTheTop) {
    const std::set<std::string> allowed{"CMakeLists.txt", "README.md",   "DEVELOPERS.md",
                                        "planner",        "stepper_sim", "tests",
                                        "bench",          "configs",     "build"};
    for (const auto& entry : fs::directory_iterator(kRoot)) {
        const std::string name = entry.path().filename().string();
        EXPECT_TRUE(name.starts_with(".") || allowed.contains(name)) << name;
    }
}

}  // namespace
