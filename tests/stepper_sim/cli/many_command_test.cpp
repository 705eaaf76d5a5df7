// check and limits over folders and several machines: a table, one exit status, no error that hides another.
#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "command_line.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/layout.hpp"
#include "tests/stepper_sim/samples.hpp"
#include "tests/stepper_sim/temp_folder.hpp"

namespace {

using namespace stepper_sim::samples;
using stepper_sim::samples::TempFolder;
using Json = nlohmann::json;

constexpr const char* kSquare = "G21 G90\nG0 X10 Y10 Z1\nG1 X60 F6000\nY60\nX10\nY10\nM2\n";

const std::string kCatalogue = " --catalogue " + std::string(STEPPER_SIM_CONFIGS) + " ";

/// One axis, so that a search takes a second or two.
std::string one_axis() {
    const std::string text(kBench);
    return text.substr(0, text.find("[axes.y]"));
}

void expect_eighty_columns(const std::string& text) {
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);)
        EXPECT_LE(stepper_sim::report::columns(line), stepper_sim::report::kTextWidth) << line;
}

int times(const std::string& part, const std::string& text) {
    int count = 0;
    for (std::size_t at = 0; (at = text.find(part, at)) != std::string::npos; ++at)
        ++count;
    return count;
}

TEST(ManyCommand, AFolderGivesARowForEveryMachineAndProgram) {
    const TempFolder folder;
    folder.write("bench.toml", std::string(kBench));
    folder.write("second.toml", changed("name = \"bench\"", "name = \"other\""));
    folder.write("square.nc", kSquare);
    folder.write("parts/a-program-with-a-name-that-is-longer-than-its-column.gcode", kSquare);
    folder.write("read-me.txt", "");
    const Ran ran = run_tool("check " + folder.path().string() + kCatalogue);
    EXPECT_EQ(ran.exit, 0) << ran.err;
    EXPECT_EQ(ran.err, "");
    EXPECT_TRUE(ran.out.starts_with("clear: 4 clear\n")) << ran.out;
    EXPECT_NE(ran.out.find("read-me.txt: neither TOML nor"), std::string::npos) << ran.out;
    EXPECT_NE(ran.out.find("bench.toml: bench\n"), std::string::npos) << ran.out;
    EXPECT_NE(ran.out.find("second.toml: other\n"), std::string::npos) << ran.out;
    // A row stays a row: begin and end of a long name in it, the whole name below.
    EXPECT_EQ(times("\n  a-program-wi...-column.gcode    clear  ", ran.out), 2) << ran.out;
    EXPECT_EQ(times("\n    a-program-with-a-name-that-is-longer-than-its-column.gcode\n", ran.out),
              2)
        << ran.out;
    expect_eighty_columns(ran.out.substr(ran.out.find("\n\n", ran.out.find("Left out"))));
}

TEST(ManyCommand, OneBadFileIsReportedAndHidesNothing) {
    const TempFolder folder;
    folder.write("bench.toml", std::string(kBench));
    folder.write("broken.toml", "name = \n");
    folder.write("a.nc", "G21\nG1 X--5 F100\n");
    folder.write("b.nc", kSquare);
    folder.write("c.nc", "G21 G90\nG1 X1000 F6000\n");
    const Ran ran = run_tool("check " + folder.path().string() + kCatalogue);
    EXPECT_EQ(ran.exit, 2);
    EXPECT_TRUE(ran.out.starts_with("unusable: 2 unusable, 1 fault, 1 clear\n")) << ran.out;
    EXPECT_NE(ran.out.find("travel: "), std::string::npos) << ran.out;
    const std::string quiet_errors =
        run_tool("check --quiet " + folder.path().string() + kCatalogue).err;
    for (const char* place : {"a.nc:2:", "broken.toml:1:"}) {
        EXPECT_EQ(times(place, ran.out + ran.err), 1) << ran.out << ran.err;
        EXPECT_EQ(times(place, quiet_errors), 1) << quiet_errors;
    }
}

TEST(ManyCommand, ErrorsThatTheTableHasNoRoomForAreToldBesideIt) {
    const TempFolder folder;
    folder.write("bench.toml", std::string(kBench));
    folder.write("second.toml", std::string(kBench));
    folder.write("a.nc", "G21\nG1 X--5 F100\nG1 X1 X2\n");
    const Ran ran = run_tool("check " + folder.path().string() + kCatalogue);
    EXPECT_EQ(times("a.nc:2:", ran.out), 2) << ran.out;  // a row for each machine
    EXPECT_EQ(times("a.nc:2:", ran.err), 0) << ran.err;
    EXPECT_EQ(times("a.nc:3:", ran.out), 0) << ran.out;
    EXPECT_EQ(times("a.nc:3:", ran.err), 1) << ran.err;
}

TEST(ManyCommand, TheWorstVerdictIsTheExitStatus) {
    const TempFolder folder;
    folder.write("a-thin.toml", changed("steps_per_mm = 80", "steps_per_mm = 80.5"));
    folder.write("bench.toml", std::string(kBench));
    const std::string folder_name = folder.path().string();
    const std::string check = "check --quiet " + folder_name + kCatalogue;
    EXPECT_EQ(run_tool(check).out, "thin: 1 thin, 1 clear\n");
    EXPECT_EQ(run_tool(check).exit, 0);
    EXPECT_EQ(run_tool(check + "--strict").exit, 1);
    folder.write("fault.toml", changed("supply = \"24 V\"", "supply = \"36 V\""));
    EXPECT_EQ(run_tool(check).exit, 1);
    EXPECT_TRUE(run_tool(check).out.starts_with("fault: 1 fault, 1 thin, 1 clear"));
}

TEST(ManyCommand, WhatOnlyOneMachineCanHaveIsRefused) {
    const TempFolder folder;
    folder.write("bench.toml", one_axis());
    for (const std::string arguments :
         {"check --html page.html ", "check --svg pictures ", "check --md - ", "check --limits ",
          "limits --write new.toml "}) {
        const Ran ran = run_tool(arguments + folder.path().string() + kCatalogue);
        EXPECT_EQ(ran.exit, 2) << arguments;
        EXPECT_EQ(ran.out, "") << arguments;
        EXPECT_NE(ran.err.find("expected one machine file"), std::string::npos) << ran.err;
    }
}

TEST(ManyCommand, OneMachineAndItsProgramsAreReportedAsEver) {
    const TextFile machine(kBench, "bench.toml"), first(kSquare), second(kSquare);
    const Ran ran =
        run_tool("check --json - " + machine.name() + " " + first.name() + " " + second.name());
    const Json report = Json::parse(ran.out);
    EXPECT_EQ(report.at("schema"), "stepper_sim.check.1");
    EXPECT_EQ(report.at("program").at("files"), Json({first.name(), second.name()}));
    EXPECT_EQ(report.at("program").at("lines"), 14);
}

TEST(ManyCommand, LimitsOfSeveralMachinesLeaveOutWhatCannotBeUsed) {
    const TempFolder folder;
    folder.write("bench.toml", one_axis());
    folder.write("broken.toml", "name = \n");
    const std::string program = folder.write("line.nc", "G21 G90\nG1 X60 F6000\nX10\n");
    folder.write("other-axis.nc", "G21 G90\nG1 A60 F6000\n");
    const std::string json = folder.path() / "limits.json";
    const Ran ran = run_tool("limits " + folder.path().string() + kCatalogue + "--json " + json);
    EXPECT_EQ(ran.exit, 2);
    for (const char* where : {"other-axis.nc:2:", "broken.toml:1:"}) {
        EXPECT_NE(ran.out.find(where), std::string::npos) << ran.out;
        EXPECT_EQ(ran.err.find(where), std::string::npos) << "told twice\n" << ran.err;
    }
    const Json machines = Json::parse(std::ifstream(json)).at("machines");
    ASSERT_EQ(machines.size(), 2U);
    EXPECT_EQ(machines[0].at("errors").size(), 1U);
    const Json limits = machines[0].at("limits");
    EXPECT_EQ(limits.at("programs"), Json({program}));
    EXPECT_TRUE(machines[1].at("limits").is_null());
    // The table shows the very values, and why the rest is missing.
    const double speed_m_s = limits.at("axes").at("x").at("max_speed_m_s").at("with_margin");
    EXPECT_NE(ran.out.find("  " + stepper_sim::check::words::mm_s(speed_m_s) + "  "),
              std::string::npos)
        << ran.out;
    EXPECT_NE(ran.out.find("unusable: "), std::string::npos) << ran.out;
}

}  // namespace
