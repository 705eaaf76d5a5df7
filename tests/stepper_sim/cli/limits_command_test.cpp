// The limits command as a user meets it: values, reasons, the lines to change, a changed machine file.
#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "command_line.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim::samples;
using Json = nlohmann::json;

/// One axis, so that a search takes a second or two.
std::string one_axis() {
    const std::string text(kBench);
    return text.substr(0, text.find("[axes.y]"));
}

std::string text_of(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

TEST(LimitsCommand, WritesAMachineFileThatCheckCallsClear) {
    const TextFile machine(one_axis(), "bench.toml");
    const std::string changed_file = (machine.path().parent_path() / "changed.toml").string();
    const Ran ran = run_tool("limits " + machine.name() + " --write " + changed_file + " --json -");
    ASSERT_EQ(ran.exit, 0) << ran.err;
    const Json json = Json::parse(ran.out);
    EXPECT_EQ(json.at("schema"), "stepper_sim.limits.1");
    EXPECT_TRUE(json.at("clear").get<bool>());
    const Json x = json.at("axes").at("x");
    for (const char* key : {"max_speed_m_s", "max_acceleration_m_s2", "speed_step_m_s"}) {
        EXPECT_LT(x.at(key).at("with_margin"), x.at(key).at("just_holds")) << key;
        EXPECT_FALSE(x.at(key).at("why").get<std::string>().empty()) << key;
        EXPECT_NE(x.at(key).at("binds"), "nothing") << key;
    }
    const std::string text = text_of(changed_file);
    EXPECT_NE(text, one_axis());
    EXPECT_TRUE(text.starts_with("# A prediction is not a proof")) << text;
    for (const Json& line : json.at("change")) {
        const std::string value = line.get<std::string>();
        EXPECT_NE(text.find(value.substr(value.find('"'))), std::string::npos) << line;
    }
    const Ran check = run_tool("check " + changed_file + " --quiet --strict");
    EXPECT_EQ(check.exit, 0) << check.out;
    EXPECT_TRUE(check.out.starts_with("clear: no lost steps expected on the worst short moves"))
        << check.out;
}

TEST(LimitsCommand, TextFitsEightyColumnsAndNamesTheLinesToChange) {
    const TextFile machine(one_axis(), "bench.toml");
    const Ran ran = run_tool("limits " + machine.name());
    ASSERT_EQ(ran.exit, 0) << ran.err;
    EXPECT_NE(ran.out.find("axes.x.settings.max_speed = "), std::string::npos) << ran.out;
    EXPECT_NE(ran.out.find("`check` says clear"), std::string::npos) << ran.out;
    std::istringstream text(ran.out);
    for (std::string line; std::getline(text, line);)
        EXPECT_LE(line.size(), 80U) << line;
}

TEST(LimitsCommand, TimeOfALongProgramFitsEightyColumns) {
    const TextFile machine(one_axis(), "bench.toml");
    const TextFile program("G21 G90\nG1 F6000 X100\nX0\nG4 P40000\n", "long.gcode");
    const Ran ran = run_tool("limits " + machine.name() + " " + program.name());
    ASSERT_EQ(ran.exit, 0) << ran.err;
    const std::size_t alone = ran.out.find("Time over one setting alone");
    ASSERT_NE(alone, std::string::npos) << ran.out;
    EXPECT_NE(ran.out.find("any setting alone: less than 0.1 %", alone), std::string::npos);
    EXPECT_NE(ran.out.find("11 h 7 min  11 h 7 min"), std::string::npos) << ran.out;
    std::istringstream text(ran.out);
    for (std::string line; std::getline(text, line);)
        EXPECT_LE(line.size(), 80U) << line;
}

TEST(LimitsCommand, RefusesProgramsItCannotRead) {
    const TextFile machine(one_axis(), "bench.toml");
    const Ran ran = run_tool("limits " + machine.name() + " no-such-program.ngc");
    EXPECT_EQ(ran.exit, 2);
    EXPECT_EQ(ran.out, "");
    EXPECT_NE(ran.err.find("no-such-program.ngc"), std::string::npos) << ran.err;
}

}  // namespace
