// The rules of DEVELOPERS.md#how-the-code-is-written that a machine can check, and which way includes point.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <filesystem>
#include <map>
#include <regex>
#include <set>
#include <string>
#include <vector>

#include "tree.hpp"

namespace {

namespace fs = std::filesystem;

using tree::kRoot;
using tree::text_of;

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
    {"stepper_sim/motor", {"planner", "stepper_sim/machine"}},
    {"stepper_sim/controller", {"planner", "stepper_sim/machine"}},
    {"stepper_sim/dynamics", {"planner", "stepper_sim/machine", "stepper_sim/motor"}},
    {"stepper_sim/run",
     {"planner", "stepper_sim/machine", "stepper_sim/motor", "stepper_sim/controller",
      "stepper_sim/dynamics"}},
    {"stepper_sim/check",
     {"planner", "stepper_sim/machine", "stepper_sim/motor", "stepper_sim/controller",
      "stepper_sim/dynamics", "stepper_sim/run"}},
    {"stepper_sim/picture",
     {"planner", "stepper_sim/machine", "stepper_sim/motor", "stepper_sim/controller",
      "stepper_sim/dynamics", "stepper_sim/run", "stepper_sim/check"}},
    {"stepper_sim/capture",
     {"planner", "stepper_sim/machine", "stepper_sim/motor", "stepper_sim/controller",
      "stepper_sim/dynamics", "stepper_sim/run", "stepper_sim/check"}},
    {"stepper_sim/limits",
     {"planner", "stepper_sim/machine", "stepper_sim/motor", "stepper_sim/controller",
      "stepper_sim/dynamics", "stepper_sim/run", "stepper_sim/check"}},
    {"stepper_sim/trial",
     {"planner", "stepper_sim/machine", "stepper_sim/motor", "stepper_sim/controller",
      "stepper_sim/dynamics", "stepper_sim/run", "stepper_sim/check", "stepper_sim/capture",
      "stepper_sim/limits"}},
    {"stepper_sim/report",
     {"planner", "stepper_sim/machine", "stepper_sim/motor", "stepper_sim/controller",
      "stepper_sim/dynamics", "stepper_sim/run", "stepper_sim/check", "stepper_sim/picture",
      "stepper_sim/capture", "stepper_sim/limits", "stepper_sim/trial"}},
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

// line_steps.hpp is C++14, so its room's name stands on a line of its own.
TEST(Structure, EveryRoomHasTheNamespaceOfItsName) {
    const std::regex opened(R"(\nnamespace (stepper_sim[a-z_:]*)(?: \{\nnamespace ([a-z_]+))? \{)");
    for (const fs::path& file : sources({"stepper_sim"})) {
        const std::string room =
            "stepper_sim::" + folder_of(file).substr(sizeof "stepper_sim/" - 1);
        const std::string text = text_of(file);
        std::smatch found;
        if (!std::regex_search(text, found, opened)) continue;
        const std::string name =
            found[2].matched ? found[1].str() + "::" + found[2].str() : found[1].str();
        EXPECT_TRUE(name == room || name.starts_with(room + "::")) << file << " opens " << name;
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

constexpr std::array kLabels{"Model:", "Formula:", "Symbols:", "Valid:", "Source:", "Checked by:"};

/// Every header of these holds a formula, but for those of the table.
const std::vector<std::string> kRoomsOfFormulas{
    "planner/path",      "planner/lookahead",      "planner/profile",     "planner/kinematics",
    "stepper_sim/motor", "stepper_sim/controller", "stepper_sim/dynamics"};
const std::map<std::string, std::string> kNoFormula{
    {"planner/path/move.hpp", "plain data: what path hands to lookahead"},
    {"planner/lookahead/planned_move.hpp", "plain data: limits, and what lookahead hands on"},
    {"planner/kinematics/motor_moves.hpp", "joins the stages: lookahead, profile, kinematics"},
    {"stepper_sim/controller/edge.hpp", "plain data: what leaves the pins"},
    {"stepper_sim/controller/edge_order.hpp", "puts edges in order of time"},
    {"stepper_sim/controller/motor_merge.hpp", "puts steps of several motors in order of time"},
    {"stepper_sim/controller/styles.hpp", "names the makers of the styles"},
    {"stepper_sim/controller/timing.hpp", "plain data: extremes and where they were seen"},
};

/// What follows a label up to the next one or the end of the comment; nothing where it is not there.
std::string said_after(const std::string& label, const std::string& text) {
    const std::regex any("/// [A-Z][a-z]+( by)?:");
    std::string said;
    bool open = false;
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
        const bool begins = line.starts_with("/// " + label);
        if (open && (!line.starts_with("///") ||
                     std::regex_search(line, any, std::regex_constants::match_continuous)))
            break;
        open = open || begins;
        if (open) said += line.substr(begins ? 4 + label.size() : 3) + '\n';
    }
    return said;
}

bool has_word(const std::string& text) {
    return std::any_of(text.begin(), text.end(),
                       [](char c) { return std::isalnum(static_cast<unsigned char>(c)) != 0; });
}

TEST(Structure, HeadersOfRoomsWithFormulasSayAllSixThingsOrStandInTheTable) {
    for (const fs::path& file : sources({"planner", "stepper_sim"})) {
        if (file.extension() != ".hpp") continue;
        const std::string text = text_of(file);
        const auto says = [&](const char* label) { return has_word(said_after(label, text)); };
        const bool any = std::any_of(kLabels.begin(), kLabels.end(), says);
        const bool excused = kNoFormula.contains(fs::relative(file, kRoot).generic_string());
        EXPECT_FALSE(any && excused) << file << " says a formula: take it out of the table";
        const bool must =
            std::count(kRoomsOfFormulas.begin(), kRoomsOfFormulas.end(), folder_of(file)) > 0 &&
            !excused;
        if (!any && !must) continue;
        for (const char* label : kLabels)
            EXPECT_TRUE(says(label)) << file << " says nothing after '/// " << label << "'";
    }
    for (const auto& [file, why] : kNoFormula)
        EXPECT_TRUE(fs::exists(kRoot / file)) << file << " (" << why << ')';
}

/// "Suite.Case", and "Suite.*" for all of a suite.
std::set<std::string> names_of_tests() {
    const std::regex test(R"((TEST|TEST_F|TEST_P|RC_GTEST_PROP)\(\s*(\w+),\s*(\w+))");
    std::set<std::string> names;
    for (const fs::path& file : sources({"tests"})) {
        const std::string text = text_of(file);
        for (std::sregex_iterator it(text.begin(), text.end(), test), end; it != end; ++it) {
            names.insert((*it)[2].str() + '.' + (*it)[3].str());
            names.insert((*it)[2].str() + ".*");
        }
    }
    return names;
}

TEST(Structure, WhatChecksAFormulaIsThere) {
    const std::set<std::string> tests = names_of_tests();
    const std::regex test(R"([A-Z]\w*\.(\w+|\*))"), path(R"([a-z_]+(/\w+)+\.(cpp|py|mjs))"),
        between(R"(^[\s,;/]+)");
    for (const fs::path& file : sources({"planner", "stepper_sim"})) {
        std::string said = said_after("Checked by:", text_of(file));
        for (std::smatch found; has_word(said); said = found.suffix()) {
            said = std::regex_replace(said, between, "");
            const auto front = std::regex_constants::match_continuous;
            if (std::regex_search(said, found, path, front)) {
                EXPECT_TRUE(fs::exists(kRoot / found.str())) << file << ": " << found.str();
            } else if (std::regex_search(said, found, test, front)) {
                EXPECT_TRUE(tests.contains(found.str())) << file << ": " << found.str();
            } else {
                ADD_FAILURE() << file << ": neither a test nor a file: " << said;
                break;
            }
        }
    }
}

TEST(Structure, LibrariesDoNotPrintOrExit) {
    const std::regex speech(R"(std::(cout|cerr|exit|abort|quick_exit)\b|\bprintf\(|fmt::print\()");
    for (const fs::path& file : sources({"planner", "stepper_sim"})) {
        if (folder_of(file) == "stepper_sim/cli") continue;
        EXPECT_FALSE(std::regex_search(text_of(file), speech)) << file;
    }
}

/// What a link to a heading of a document says after '#': lower case, words joined by '-', no other signs.
std::set<std::string> anchors_of(const std::string& document) {
    std::set<std::string> anchors;
    std::istringstream lines(text_of(kRoot / document));
    for (std::string line; std::getline(lines, line);) {
        if (!line.starts_with("#")) continue;
        std::string anchor;
        for (const char c : line.substr(std::min(line.find_first_not_of("# "), line.size()))) {
            if (c == ' ') anchor += '-';
            if (std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '-')
                anchor += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
        }
        anchors.insert(anchor);
    }
    return anchors;
}

TEST(Structure, PointersIntoTheDocumentsNameAHeadingThatIsThere) {
    const std::map<std::string, std::set<std::string>> anchors{
        {"README.md", anchors_of("README.md")},
        {"DEVELOPERS.md", anchors_of("DEVELOPERS.md")},
        {"bench/RESULTS.md", anchors_of("bench/RESULTS.md")}};
    const std::regex pointer(R"((README\.md|DEVELOPERS\.md|bench/RESULTS\.md)(#([a-z0-9-]+))?)"),
        own(R"(\]\(#([^)]+)\))");
    const std::regex comment("//.*");
    for (const fs::path& file : sources({"planner", "stepper_sim", "tests", "bench"})) {
        const std::string text = text_of(file);
        for (std::sregex_iterator line(text.begin(), text.end(), comment), end; line != end;
             ++line) {
            const std::string said = line->str();
            for (std::sregex_iterator it(said.begin(), said.end(), pointer); it != end; ++it)
                EXPECT_TRUE(anchors.at((*it)[1]).contains((*it)[3])) << file << ": " << said;
        }
    }
    for (const auto& [document, headings] : anchors) {
        const std::string text = text_of(kRoot / document);
        const std::regex other(R"(\]\((README\.md|DEVELOPERS\.md|bench/RESULTS\.md)#([^)]+)\))");
        for (std::sregex_iterator it(text.begin(), text.end(), own), end; it != end; ++it)
            EXPECT_TRUE(headings.contains((*it)[1])) << document << ": " << it->str();
        for (std::sregex_iterator it(text.begin(), text.end(), other), end; it != end; ++it)
            EXPECT_TRUE(anchors.at((*it)[1]).contains((*it)[2])) << document << ": " << it->str();
    }
}

/// A comment that sends its reader to a file names one that is there. Tests cite files of others too.
TEST(Structure, FilesNamedInCommentsExist) {
    std::set<std::string> names;
    for (const char* folder : {"planner", "stepper_sim", "tests", "bench", "configs"})
        for (const auto& entry : fs::recursive_directory_iterator(kRoot / folder))
            names.insert(entry.path().filename().string());
    const std::regex comment("//.*"), named(R"(\b([a-z0-9_]+\.(hpp|cpp|py|mjs))\b)");
    for (const fs::path& file : sources({"planner", "stepper_sim", "bench"})) {
        const std::string text = text_of(file);
        for (std::sregex_iterator line(text.begin(), text.end(), comment), end; line != end;
             ++line) {
            const std::string said = line->str();
            for (std::sregex_iterator it(said.begin(), said.end(), named); it != end; ++it)
                EXPECT_TRUE(names.contains((*it)[1])) << file << ": " << said;
        }
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
