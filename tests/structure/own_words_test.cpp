// The project's words and numbers are its own: examples use program words of the open standard or made-up ones of four digits, and the
// shipped machines have numbers that nobody's product has.
#include <gtest/gtest.h>

#include <filesystem>
#include <regex>
#include <set>
#include <string>
#include <vector>

#include "tree.hpp"

namespace {

namespace fs = std::filesystem;

using tree::kRoot;
using tree::text_of;

/// All that people read or write by hand.
std::vector<fs::path> texts() {
    const std::set<std::string> kinds{".cpp", ".hpp",  ".py",    ".js",  ".md",  ".toml",
                                      ".txt", ".dict", ".gcode", ".ngc", ".css", ".html"};
    std::vector<fs::path> found{kRoot / "README.md", kRoot / "DEVELOPERS.md"};
    for (const char* folder : {"planner", "stepper_sim", "tests", "bench", "configs"})
        for (auto it = fs::recursive_directory_iterator(kRoot / folder);
             it != fs::recursive_directory_iterator(); ++it) {
            if (it->path().filename() == "node_modules") it.disable_recursion_pending();
            if (it->is_regular_file() && kinds.contains(it->path().extension().string()))
                found.push_back(it->path());
        }
    return found;
}

/// Every match of `words` in the tree whose first group is not among `allowed`.
void expect_only(const std::regex& words, const std::set<std::string>& allowed,
                 const std::set<std::string>& leave_out = {}) {
    for (const fs::path& file : texts()) {
        if (leave_out.contains(file.filename().string())) continue;
        const std::string text = text_of(file);
        for (std::sregex_iterator it(text.begin(), text.end(), words), end; it != end; ++it)
            EXPECT_TRUE(allowed.contains((*it)[1]))
                << fs::relative(file, kRoot) << ": " << it->str();
    }
}

// M words of RS274/NGC, NISTIR 6556 section 3.6 (from memory), also with a leading zero; four digits beginning with 7 are ours.
// A word with a point is a mistake that a test makes, M732 begins one of ours, and M12 is where a picture's path begins.
TEST(OwnWords, OtherWordsThanTheStandardsHaveFourDigits) {
    expect_only(std::regex(R"(\bM((?!7[0-9]{3}(?![0-9]))[0-9]+)(?![.0-9]))"),
                {"0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "30", "48", "49", "60", "00",
                 "01", "04", "12", "732"},
                {"check-markdown-pictures.txt"});
}

// G words of RS274/NGC, ibid. section 3.5, with those of its family that pass beside them or are refused by name (README, the machine
// file).
TEST(OwnWords, OtherGWordsThanTheStandardsHaveFourDigits) {
    expect_only(std::regex(R"(\bG((?!7[0-9]{3}(?![0-9]))[0-9]+(?:\.[0-9])?)\b)"),
                {"0",  "1",    "2",  "3",    "4",  "5",    "10",   "15",   "16",   "17",   "18",
                 "19", "20",   "21", "28",   "30", "33",   "33.1", "38.2", "38.3", "38.5", "40",
                 "41", "41.1", "42", "42.1", "43", "43.1", "49",   "50",   "51",   "52",   "53",
                 "54", "55",   "56", "57",   "58", "59",   "59.1", "59.2", "59.3", "61",   "61.1",
                 "64", "73",   "76", "80",   "81", "82",   "83",   "84",   "85",   "86",   "87",
                 "88", "89",   "90", "90.1", "91", "91.1", "92",   "92.1", "92.2", "92.3", "93",
                 "94", "98",   "99", "00",   "01", "0.5"});
}

void expect_says(const char* file, const std::vector<std::string>& lines) {
    const std::string text = text_of(kRoot / "configs" / file);
    for (const std::string& line : lines)
        EXPECT_NE(text.find(line), std::string::npos) << file << ": " << line;
}

TEST(OwnWords, ShippedMachinesHaveNumbersOfTheirOwn) {
    expect_says("machines/tag-router.toml",
                {"deviation = \"0.03 mm\"", "lookahead_moves = 24", "arc_tolerance = \"0.008 mm\"",
                 "\"280 mm\"]", "\"210 mm\"]"});
    for (const char* printer : {"machines/tray-printer.toml", "machines/tray-printer-hurried.toml"})
        expect_says(printer,
                    {"\"205 mm\"]", "\"190 mm\"]", "\"165 mm\"]", "speed_step = \"9 mm/s\"",
                     "speed_step = \"7 mm/s\"", "speed_step = \"0.6 mm/s\""});
    expect_says("controllers/cortex-m3-72mhz-fixed-rate.toml", {"base_rate = \"40 kHz\""});
    expect_says("controllers/cortex-m4-168mhz-fixed-rate.toml", {"base_rate = \"80 kHz\""});
}

// Base speed belongs to the motor, corners to the path.
TEST(OwnWords, AMotorHasABaseSpeed) {
    for (const fs::path& file : texts()) {
        const std::string where = fs::relative(file, kRoot).string();
        if (!where.starts_with("stepper_sim/motor") && !where.starts_with("stepper_sim/dynamics"))
            continue;
        EXPECT_EQ(text_of(file).find("corner speed"), std::string::npos) << where;
    }
}

}  // namespace
