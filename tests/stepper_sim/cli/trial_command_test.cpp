// The trial and fit commands as a user meets them: program and sheet, filled in, fitted, written back.
#include <gtest/gtest.h>

#include <filesystem>

#include <nlohmann/json.hpp>

#include "command_line.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim::samples;
using Json = nlohmann::json;

const std::string kMachine = std::string(STEPPER_SIM_CONFIGS) + "/machines/tray-printer.toml";
const std::string kTrials = std::string(STEPPER_SIM_CONFIGS) + "/trials/";

std::string text_of(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

class TrialFiles : public testing::Test {
  protected:
    TextFile here_{"", "here"};
    std::filesystem::path folder_ = here_.path().parent_path();
    std::string in_folder(const std::string& name) const { return (folder_ / name).string(); }
};

TEST_F(TrialFiles, WritesProgramSheetAndReadingSheetWithCautionsFirst) {
    const Ran ran = run_tool("trial " + kMachine + " --axis x --raise acceleration --out " +
                             in_folder("x.gcode"));
    EXPECT_EQ(ran.exit, 0) << ran.err;
    EXPECT_NE(ran.out.find("loss of steps is expected between rungs"), std::string::npos);
    EXPECT_NE(ran.out.find("what holds on every move is what `limits`"), std::string::npos);
    const std::string caution = "keep the emergency stop in reach";
    for (const char* name : {"x.gcode", "x.toml", "x.md"})
        EXPECT_LT(text_of(folder_ / name).find(caution), 200U) << name;
}

TEST_F(TrialFiles, ItsProgramPassesTheToolsOwnChecksOfTravelAndWords) {
    run_tool("trial " + kMachine + " --axis y --raise speed --out " + in_folder("y.gcode"));
    const Ran ran =
        run_tool("check --json - --no-dynamics " + kMachine + " " + in_folder("y.gcode"));
    const Json report = Json::parse(ran.out);
    for (const Json& finding : report.at("findings"))
        EXPECT_NE(finding.at("check"), "travel") << finding.dump();
}

// y.gcode has its sheet beside it as y.toml, which may be the machine's own name.
TEST_F(TrialFiles, WhatWasReadIsNeverWrittenOver) {
    std::filesystem::copy_file(kMachine, folder_ / "y.toml");
    const std::string before = text_of(folder_ / "y.toml");
    const Ran ran =
        run_tool("trial " + in_folder("y.toml") +
                 " --catalogue " STEPPER_SIM_CONFIGS " --axis y --raise acceleration --out " +
                 in_folder("y.gcode"));
    EXPECT_EQ(ran.exit, 2);
    EXPECT_NE(ran.err.find("y.toml: found the name of a file that was read"), std::string::npos)
        << ran.err;
    EXPECT_EQ(text_of(folder_ / "y.toml"), before);
    EXPECT_FALSE(std::filesystem::exists(folder_ / "y.gcode"));
}

TEST_F(TrialFiles, AFilledSheetIsFittedAndWrittenIntoACopyThatChecksLikeAny) {
    const Ran ran = run_tool("fit " + kMachine + " " + kTrials + "tray-printer-y.toml --write " +
                             in_folder("fitted.toml") + " --json " + in_folder("fit.json"));
    EXPECT_EQ(ran.exit, 0) << ran.err;
    EXPECT_NE(ran.out.find("axes.y.stiffness = "), std::string::npos) << ran.out;
    EXPECT_NE(ran.out.find("`limits` also judges corners of X and Y"), std::string::npos)
        << ran.out;
    const std::string fitted = text_of(folder_ / "fitted.toml");
    EXPECT_NE(fitted.find("tray-printer-y.toml"), std::string::npos);
    EXPECT_TRUE(fitted.starts_with("# A prediction is not a proof")) << fitted;
    EXPECT_TRUE(ran.out.ends_with("local rules come\nfirst.\n")) << ran.out;
    const Ran rates =
        run_tool("rates " + in_folder("fitted.toml") + " --catalogue " + STEPPER_SIM_CONFIGS);
    EXPECT_EQ(rates.exit, 0) << rates.err;
    // The JSON of the same run.
    const Json json = Json::parse(text_of(folder_ / "fit.json"));
    EXPECT_EQ(json.at("schema"), "stepper_sim.fit.1");
    const Json y = json.at("axes").at("y");
    EXPECT_LT(y.at("after").at("running_factor").at("spread").get<double>(),
              y.at("before").at("running_factor").at("spread").get<double>());
    EXPECT_FALSE(json.at("values").empty());
}

/// The machine with its axis y as an inline table, into which no line can be written.
std::string with_axis_y_on_one_line(std::string text) {
    const std::size_t from = text.find("[axes.y]\n"), to = text.find("[axes.z]\n");
    std::istringstream lines(text.substr(from, to - from));
    std::string line, values;
    std::getline(lines, line);
    while (std::getline(lines, line)) {
        line.resize(std::min(line.size(), line.find('#')));
        if (!line.empty()) values += (values.empty() ? "" : ", ") + line;
    }
    return text.replace(from, to - from, "[axes]\ny = { " + values + " }\n\n");
}

TEST_F(TrialFiles, AMachineFileWithoutPlaceForAValueStillGetsItsFit) {
    const std::string machine = in_folder("inline.toml");
    std::ofstream(machine) << with_axis_y_on_one_line(text_of(kMachine));
    const std::string base =
        "fit " + machine + " " + kTrials + "tray-printer-y.toml --catalogue " + STEPPER_SIM_CONFIGS;
    const Ran ran = run_tool(base);
    EXPECT_EQ(ran.exit, 0) << ran.err;
    EXPECT_NE(ran.err.find("no place to write axes.y."), std::string::npos) << ran.err;
    EXPECT_NE(ran.out.find("Fitted values"), std::string::npos) << ran.out;
    EXPECT_TRUE(Json::parse(run_tool(base + " --json -").out).at("limits").is_null());
    EXPECT_EQ(run_tool(base + " --write " + in_folder("out.toml")).exit, 2);
    EXPECT_FALSE(std::filesystem::exists(folder_ / "out.toml"));
}

TEST_F(TrialFiles, EarlierSheetsMakeTheNextTrialFiner) {
    const std::string base = "trial " + kMachine + " --axis y --raise acceleration --json -";
    const Json first = Json::parse(run_tool(base).out);
    const Json second =
        Json::parse(run_tool(base + " --after " + kTrials + "tray-printer-y.toml").out);
    EXPECT_LT(second.at("predicted_spread").get<double>(),
              0.5 * first.at("predicted_spread").get<double>());
}

TEST_F(TrialFiles, ContradictoryAndHostileSheetsEndInOneLineEach) {
    std::string sheet = text_of(kTrials + "tray-printer-y.toml");
    const std::size_t at = sheet.find("= \"held\"");
    ASSERT_NE(at, std::string::npos);
    std::ofstream(folder_ / "bad.toml") << sheet.replace(at, 8, "= \"lost\"");
    const Ran ran = run_tool("fit " + kMachine + " " + in_folder("bad.toml"));
    EXPECT_EQ(ran.exit, 2);
    EXPECT_NE(ran.err.find("bad.toml:"), std::string::npos) << ran.err;
    EXPECT_NE(ran.err.find("an answer that agrees with"), std::string::npos) << ran.err;
    std::ofstream(folder_ / "hostile.toml") << "axis = \"\x1b[31m\"\nraise = \"everything\"\n";
    const Ran hostile = run_tool("fit " + kMachine + " " + in_folder("hostile.toml"));
    EXPECT_EQ(hostile.exit, 2);
    EXPECT_EQ(hostile.err.find('\x1b'), std::string::npos);
    EXPECT_EQ(run_tool("fit " + kMachine + " " + in_folder("none.toml")).exit, 2);
}

TEST_F(TrialFiles, ASheetOfAnotherMachineWritesNothing) {
    const std::string plotter = std::string(STEPPER_SIM_CONFIGS) + "/machines/label-plotter.toml";
    const Ran ran = run_tool("fit " + plotter + " " + kTrials + "tray-printer-y.toml --write " +
                             in_folder("wrong.toml"));
    EXPECT_EQ(ran.exit, 2);
    EXPECT_NE(ran.err.find("tray-printer-y.toml:8:11: found 'Alder Street tray printer'"),
              std::string::npos)
        << ran.err;
    EXPECT_FALSE(std::filesystem::exists(folder_ / "wrong.toml"));
}

TEST_F(TrialFiles, WrongAxisOrQuestionIsSaidInOneLine) {
    const Ran axis = run_tool("trial " + kMachine + " --axis q --raise speed");
    EXPECT_EQ(axis.exit, 2);
    EXPECT_EQ(axis.err, "stepper_sim: --axis: found 'q', expected one of X, Y, Z, E\n");
    const Ran what = run_tool("trial " + kMachine + " --axis x --raise courage");
    EXPECT_EQ(what.exit, 2);
    EXPECT_EQ(what.err,
              "stepper_sim: --raise: found 'courage', expected one of speed, acceleration, step, "
              "resonance\n");
    EXPECT_EQ(run_tool("trial " + kMachine + " --axis e --raise speed").exit, 2);
}

}  // namespace
