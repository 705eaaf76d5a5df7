// The torque command as a user meets it: candidates side by side, in text, JSON and SVG.
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>
#include <numbers>

#include "command_line.hpp"
#include "stepper_sim/motor/voltage_limit.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim::samples;
using Json = nlohmann::json;

constexpr double kRounding_A = 1e-12;

const std::string kMachine = std::string(STEPPER_SIM_CONFIGS) + "/machines/tray-printer.toml";
const std::string kProgram = std::string(STEPPER_SIM_CONFIGS) + "/programs/wedge-marker.gcode";

std::string text_of(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

Json compared(const std::string& arguments) {
    const Ran ran = run_tool("torque " + kMachine + " --json - " + arguments);
    EXPECT_EQ(ran.exit, 0) << ran.err;
    EXPECT_EQ(ran.err, "");
    return Json::parse(ran.out);
}

Json candidate(const Json& json, const std::string& label) {
    for (const Json& c : json.at("candidates"))
        if (c.at("label") == label) return c;
    ADD_FAILURE() << "no candidate " << label;
    return {};
}

std::size_t count(const std::string& text, const std::string& what) {
    std::size_t times = 0;
    for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1))
        ++times;
    return times;
}

TEST(TorqueCommand, CornerSpeedFollowsTheFormulaFromTwelveToFortyEightVolts) {
    const Json json =
        compared("--axis y --swap supply='12 V' --swap supply='24 V' --swap supply='48 V'");
    const auto machine = stepper_sim::machine::read_machine(kMachine, {kConfigs});
    ASSERT_TRUE(machine);
    const stepper_sim::machine::Axis& axis = machine.value().axes[1];
    const double radius_m = axis.drive.travel_per_turn().value() / (2.0 * std::numbers::pi);
    double last = 0.0;
    for (const double volts : {12.0, 24.0, 48.0}) {
        const double corner =
            candidate(json, "supply=" + std::to_string(static_cast<int>(volts)) + " V")
                .at("base_speed_m_s")
                .get<double>();
        const double formula =
            stepper_sim::motor::base_rate_rad_s(stepper_sim::motor::motor_constants(axis.motor),
                                                axis.current.peak().value(), volts) *
            radius_m;
        constexpr double kPrinted = 1e-12;  // JSON keeps every digit
        EXPECT_NEAR(corner, formula, kPrinted);
        EXPECT_GT(corner, last);
        last = corner;
    }
}

TEST(TorqueCommand, DoublingCurrentDoublesTorqueAtLowSpeedAndLeavesTheHighSpeedLimit) {
    const Json json = compared(
        "--axis y --speed '1 mm/s' --speed '2 m/s' --swap current='0.5 A rms' "
        "--swap current='1 A rms'");
    const Json one = candidate(json, "current=1 A rms").at("points");
    const Json half = candidate(json, "current=0.5 A rms").at("points");
    const auto ratio = [&](std::size_t i) {
        return one[i].at("nominal_Nm").get<double>() / half[i].at("nominal_Nm").get<double>();
    };
    constexpr double kKnee = 0.01;  // the rounded knee at rest, (R I/V)^4/4 of either torque
    EXPECT_NEAR(ratio(0), 2.0, kKnee);
    // Far above both corners the supply and not the setting limits the current.
    constexpr double kAboveCorner = 0.1;
    EXPECT_NEAR(ratio(1), 1.0, kAboveCorner);
}

TEST(TorqueCommand, EachSwapIsACandidateAndPlusJoinsSeveral) {
    const Json json = compared(
        "--axis y --swap supply='36 V' --swap supply='30 V'+current='0.7 A peak'+microsteps=8");
    EXPECT_EQ(json.at("schema"), "stepper_sim.torque.1");
    ASSERT_EQ(json.at("candidates").size(), 3U);
    const Json joined = candidate(json, "supply=30 V+current=0.7 A peak+microsteps=8");
    EXPECT_EQ(joined.at("supply_V"), 30.0);
    EXPECT_EQ(joined.at("microsteps"), 8);
    EXPECT_NEAR(joined.at("current_rms_A").get<double>(), 0.7 / std::numbers::sqrt2, kRounding_A);
    EXPECT_EQ(candidate(json, "supply=36 V").at("microsteps"), 16);
}

TEST(TorqueCommand, PartsComeFromTheCatalogueByName) {
    const Json json = compared(
        "--axis y --swap motor=motors/qsh4218-51-10-049.toml --swap driver=drivers/tmc2209.toml");
    EXPECT_NE(candidate(json, "driver=drivers/tmc2209.toml").at("driver"),
              candidate(json, "as it is").at("driver"));
    EXPECT_NE(candidate(json, "motor=motors/qsh4218-51-10-049.toml").at("motor"),
              candidate(json, "as it is").at("motor"));
}

TEST(TorqueCommand, BestIsFirstAndBrokenRatingsAreLast) {
    const Json all =
        compared("--axis y --swap supply='12 V' --swap supply='90 V'").at("candidates");
    EXPECT_EQ(all.front().at("label"), "as it is");
    EXPECT_EQ(all.back().at("label"), "supply=90 V");
    EXPECT_FALSE(all.back().at("problems").empty());
}

TEST(TorqueCommand, EveryCandidateSaysWhatEndsItsRange) {
    const Json json = compared("--axis y --swap supply='12 V' --swap microsteps=256 --swap gear=4");
    for (const Json& c : json.at("candidates"))
        EXPECT_FALSE(c.at("binds").get<std::string>().empty()) << c;
    EXPECT_EQ(candidate(json, "microsteps=256").at("binds"), "controller");
    const Ran ran = run_tool("torque " + kMachine + " --axis y --swap microsteps=256");
    std::istringstream text(ran.out.substr(0, ran.out.find("top speed:")));
    std::size_t rows = 0;
    for (std::string line; std::getline(text, line);)
        for (const char* end : {" torque", " controller", " driver", " tick", " curve's end"})
            if (line.ends_with(end)) ++rows;
    EXPECT_EQ(rows, 2U) << ran.out;
}

TEST(TorqueCommand, SaysWhereAFigureLiesBeyondThePublishedCurve) {
    const std::string arguments =
        " --axis y --swap motor=motors/qsh4218-51-10-049.toml --speed '9 m/s'";
    const Json json = compared(arguments);
    const bool beyond =
        std::any_of(json.at("candidates").begin(), json.at("candidates").end(),
                    [](const Json& c) { return c.at("points")[0].at("beyond_curve").get<bool>(); });
    ASSERT_TRUE(beyond) << json;
    EXPECT_NE(run_tool("torque " + kMachine + arguments).out.find("past the curve"),
              std::string::npos);
}

TEST(TorqueCommand, TextFitsEightyColumns) {
    for (const char* axis : {"x", "y", "z", "e"}) {
        const Ran ran = run_tool(
            "torque " + kMachine + " " + kProgram + " --axis " + axis +
            " --swap supply='12 V' --swap motor=motors/qsh4218-51-10-049.toml+supply='48 V'"
            "+current='2.8 A peak'+gear=2 --swap current='40 A rms' --speed '0.5 mm/s' "
            "--speed '1234.5 mm/s'");
        EXPECT_EQ(ran.exit, 0) << ran.err;
        std::istringstream text(ran.out);
        for (std::string line; std::getline(text, line);)
            EXPECT_LE(line.size(), 80U) << line;
    }
}

TEST(TorqueCommand, PlotIsAnSvgThatStandsAlone) {
    const TextFile place("", "here");
    const auto file = place.path().parent_path() / "plot.svg";
    const Ran ran = run_tool("torque " + kMachine + " " + kProgram +
                             " --axis y --swap supply='12 V' --plot " + file.string());
    ASSERT_EQ(ran.exit, 0) << ran.err;
    const std::string svg = text_of(file);
    EXPECT_TRUE(svg.starts_with("<svg "));
    EXPECT_TRUE(svg.ends_with("</svg>\n"));
    EXPECT_EQ(svg.find("<script"), std::string::npos);
    EXPECT_EQ(count(svg, "<text"), count(svg, "</text>"));
    EXPECT_EQ(count(svg, "<polygon"), 2U);
    EXPECT_GT(count(svg, "<circle"), 10U) << "the program's cloud";
    EXPECT_NE(ran.out.find("Asked by the program"), std::string::npos);
}

TEST(TorqueCommand, PlotIsWholeOrAbsent) {
    const Ran ran = run_tool("torque " + kMachine + " --plot /nowhere/plot.svg");
    EXPECT_EQ(ran.exit, 2);
    EXPECT_FALSE(std::filesystem::exists("/nowhere/plot.svg"));
}

TEST(TorqueCommand, RefusesWhatItCannotReadInOneLineThatNamesTheOption) {
    for (const char* arguments : {"--swap supply",
                                  "--swap supply=24",
                                  "--swap supply='-3 V'",
                                  "--swap supply='24 A'",
                                  "--swap current='1.2 A'",
                                  "--swap current='500 A rms'",
                                  "--swap microsteps=2.5",
                                  "--swap microsteps=0",
                                  "--swap gear=none",
                                  "--swap volts='24 V'",
                                  "--swap motor=",
                                  "--swap motor=motors",
                                  "--swap motor=motors/none.toml",
                                  "--swap supply='24 V'+supply='12 V'",
                                  "--swap ''",
                                  "--speed 200",
                                  "--speed '0 mm/s'",
                                  "--speed '-5 mm/s'",
                                  "--axis q",
                                  "--axis ''",
                                  "--margin 120%"}) {
        const Ran ran = run_tool("torque " + kMachine + " " + arguments);
        EXPECT_EQ(ran.exit, 2) << arguments;
        EXPECT_EQ(ran.out, "") << arguments;
        EXPECT_EQ(std::count(ran.err.begin(), ran.err.end(), '\n'), 1) << arguments << ran.err;
        const std::string text = arguments;
        EXPECT_NE(ran.err.find(text.substr(0, text.find(' '))), std::string::npos) << ran.err;
        EXPECT_NE(ran.err.find("expected"), std::string::npos) << ran.err;
    }
}

}  // namespace
