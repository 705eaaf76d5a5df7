// The limits command as a user meets it: values, reasons, the lines to change, a changed machine file.
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>

#include "../check/samples.hpp"
#include "command_line.hpp"
#include "stepper_sim/report/corners_text.hpp"

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
    for (const Json& line : json.at("change")) {
        const std::string value = line.get<std::string>();
        EXPECT_NE(text.find(value.substr(value.find('"'))), std::string::npos) << line;
    }
    const Ran check = run_tool("check " + changed_file + " --quiet --strict");
    EXPECT_EQ(check.exit, 0) << check.out;
    EXPECT_TRUE(check.out.starts_with("clear: on short worst-case moves")) << check.out;
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

/// Without Z.
std::string two_axes() {
    const std::string text(kBench);
    return text.substr(0, text.find("[axes.z]"));
}

// X stops where Y starts, at 5 mm/s, long after it started: it rings by v/w (corner_quality_test.cpp works w out).
TEST(LimitsCommand, PrintsTheRingingOfACornerByTheClosedForm) {
    const std::string text = two_axes();
    const TextFile machine(text, "bench.toml"), program("G21 G90\nG1 X100 F300\nY100\n");
    const std::string asked = "limits " + machine.name() + " " + program.name();
    const Json corners = Json::parse(run_tool(asked + " --json -").out).at("corners");
    const auto stepper = machine_from(text);
    const auto& axis = stepper.axes[0];
    const double radius_m = axis.drive.travel_per_turn().value() / 6.283185307179586;
    const double inertia_kg_m2 =
        axis.motor.rotor_inertia->value() + axis.load.mass.value() * radius_m * radius_m;
    const double low_Nm = stepper_sim::motor_models(stepper).available[0].low_Nm(0.0);
    const double ringing_m = 5e-3 / std::sqrt(50.0 * low_Nm / inertia_kg_m2);
    const Json x = corners.at("axes").at("x");
    EXPECT_EQ(x.at("speed_step_m_s").at(3), 5e-3);
    const Json now = x.at("most_ringing").at(3);
    EXPECT_EQ(now.at("line"), 3);
    EXPECT_NEAR(now.at("ringing_m").get<double>() / ringing_m, 1.0, 1e-3) << "damping";
    const std::string out = run_tool(asked).out;
    const std::size_t table = out.find("X: the corner that rings most");
    ASSERT_NE(table, std::string::npos) << out;
    const std::string row = out.substr(out.find("\n5 mm/s", table), 81);
    EXPECT_NE(row.find(stepper_sim::ringing_text(ringing_m)), std::string::npos) << row;
    EXPECT_NE(row.find(" now"), std::string::npos) << row;
}

TEST(LimitsCommand, RefusesProgramsItCannotRead) {
    const TextFile machine(one_axis(), "bench.toml");
    const Ran ran = run_tool("limits " + machine.name() + " no-such-program.ngc");
    EXPECT_EQ(ran.exit, 2);
    EXPECT_EQ(ran.out, "");
    EXPECT_NE(ran.err.find("no-such-program.ngc"), std::string::npos) << ran.err;
}

}  // namespace
