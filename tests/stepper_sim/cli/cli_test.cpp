// The commands as a user meets them: exit status, one-line errors, JSON, files that are whole or absent.
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <nlohmann/json.hpp>
#include <thread>

#include "command_line.hpp"
#include "stepper_sim/report/layout.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim::samples;
namespace fs = std::filesystem;

const std::string kMachines = std::string(STEPPER_SIM_CONFIGS) + "/machines/";
const std::string kPrograms = std::string(STEPPER_SIM_CONFIGS) + "/programs/";
constexpr std::string_view kSquare = "G21 G90\nG0 X10 Y10 Z1\nG1 X60 F6000\nY60\nX10\nY10\nM2\n";

/// The sample machine beside the catalogue's part files, which it names.
struct Bench {
    explicit Bench(const std::string& text = std::string(kBench)) : file(text, "bench.toml") {}
    std::string name() const { return file.name(); }
    TextFile file;
};

std::size_t lines_of(const std::string& text) {
    return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

void expect_refused(const std::string& arguments, const std::string& said) {
    const Ran ran = run_tool(arguments);
    EXPECT_EQ(ran.exit, 2) << arguments << "\n" << ran.err;
    EXPECT_EQ(lines_of(ran.err), 1U) << arguments << "\n" << ran.err;
    EXPECT_NE(ran.err.find(said), std::string::npos) << ran.err;
    EXPECT_EQ(ran.out, "") << arguments;
}

TEST(CheckCommand, ClearMachineExitsWithZeroAndLeadsWithTheVerdict) {
    const Bench bench;
    const TextFile program(kSquare);
    const Ran ran = run_tool("check " + bench.name() + " " + program.name());
    EXPECT_EQ(ran.exit, 0) << ran.err;
    EXPECT_TRUE(ran.out.starts_with("clear")) << ran.out;
    EXPECT_EQ(ran.err, "");
}

TEST(CheckCommand, FaultExitsWithOne) {
    const Bench bench(changed("supply = \"24 V\"", "supply = \"36 V\""));
    EXPECT_EQ(run_tool("check " + bench.name()).exit, 1);
}

TEST(CheckCommand, ThinExitsWithZeroUnlessStrict) {
    const Bench bench(changed("steps_per_mm = 80", "steps_per_mm = 80.5"));
    EXPECT_EQ(run_tool("check " + bench.name()).exit, 0);
    EXPECT_EQ(run_tool("check --strict " + bench.name()).exit, 1);
}

TEST(CheckCommand, TextFitsEightyColumnsOnEveryShippedMachine) {
    for (const auto& machine : fs::directory_iterator(kMachines))
        for (const char* program : {"wedge-marker.gcode", "oak-tag-inch.gcode", ""}) {
            const Ran ran = run_tool("check --windows 4 " + machine.path().string() +
                                     (*program != '\0' ? " " + kPrograms + program : ""));
            std::istringstream text(ran.out);
            for (std::string line; std::getline(text, line);)
                EXPECT_LE(line.size(), 80U) << machine.path() << ": " << line;
        }
}

TEST(CheckCommand, QuietPrintsOneLine) {
    const Bench bench;
    const Ran ran = run_tool("check --quiet " + bench.name());
    EXPECT_EQ(lines_of(ran.out), 1U) << ran.out;
}

TEST(CheckCommand, JsonHasEveryKeyOfTheDesign) {
    const Bench bench;
    const TextFile program(kSquare);
    const Ran ran = run_tool("check --json - " + bench.name() + " " + program.name());
    const auto json = nlohmann::json::parse(ran.out);
    EXPECT_EQ(json.at("schema"), "stepper_sim.check.1");
    EXPECT_EQ(json.at("verdict"), "clear");
    EXPECT_EQ(json.at("machine").at("name"), "bench");
    EXPECT_EQ(json.at("program").at("lines"), 7);
    for (const char* key : {"peak_speed_m_s", "peak_acceleration_m_s2", "end_position_m",
                            "min_position_m", "max_position_m"})
        EXPECT_TRUE(json.at("axes").at("x").contains(key)) << key;
    for (const char* key :
         {"steps", "net_steps", "peak_step_rate_hz", "driver_ceiling_hz", "controller_ceiling_hz",
          "min_interval_s", "torque_use_peak", "base_speed_m_s"})
        EXPECT_TRUE(json.at("motors").at("x").contains(key)) << key;
    for (const char* key : {"style", "load_peak", "late_pulses", "lateness_peak_s"})
        EXPECT_TRUE(json.at("controller").contains(key)) << key;
    EXPECT_EQ(json.at("motors").at("x").at("net_steps"), 800);  // ends at X 10 mm, 80 steps/mm
}

TEST(CheckCommand, JsonWithHostileNamesStaysJson) {
    const Bench bench(changed("name = \"bench\"", "name = \"</script>\\\"; DROP\""));
    const auto json = nlohmann::json::parse(run_tool("check --json - " + bench.name()).out);
    EXPECT_TRUE(json.contains("verdict"));
}

TEST(CheckCommand, EveryBadProgramIsOneLineWithPlaceAndExitTwo) {
    const Bench bench;
    const auto refused = [&](std::string_view text, const std::string& said) {
        const TextFile program(text, "bad.ngc");
        expect_refused("check " + bench.name() + " " + program.name(), said);
    };
    refused("", "bad.ngc");
    refused(std::string_view("G1 X5\0 F100\n", 12), "bad.ngc:1:");
    refused(std::string("\x7f\x45\x4c\x46\x02\x01\x01\0\0\0\0", 11), "bad.ngc:1:");
    refused("G21\nG1 X1e400 F100\n", "bad.ngc:2:");
    refused("G21\nG1 Xnan F100\n", "bad.ngc:2:");
    refused("G21\nG1 X--5 F100\n", "bad.ngc:2:");
    refused("G21 G90\nG1 X5 A3 F100\n", "bad.ngc:2:");
    refused("G21 G90\nG0 G1 X5 F100\n", "bad.ngc:2:");
    refused("G21 G90\nG1 X5 F100\nG2 X50 Y0 R3\n", "bad.ngc:3:");
    refused("G21\nG1 X" + std::string(1 << 20, '5') + "\n", "bad.ngc:2:");
}

TEST(CheckCommand, UnreadableInputIsOneLineAndExitTwo) {
    const Bench bench;
    expect_refused("check " + bench.name() + " /nonexistent.ngc", "/nonexistent.ngc");
    expect_refused("check /nonexistent.toml", "/nonexistent.toml");
    const fs::path empty =
        fs::temp_directory_path() / ("stepper_sim-empty-" + std::to_string(getpid()));
    fs::create_directory(empty);
    expect_refused("check " + empty.string(), empty.string());
    expect_refused("rates " + empty.string(), "a folder");
    fs::remove(empty);
    const fs::path fifo =
        fs::temp_directory_path() / ("stepper_sim-fifo-" + std::to_string(getpid()));
    ASSERT_EQ(mkfifo(fifo.c_str(), 0600), 0);
    expect_refused("check " + bench.name() + " " + fifo.string(), "not a regular file");
    expect_refused("check " + fifo.string(), fifo.string());
    fs::remove(fifo);
}

TEST(CheckCommand, MistypedOptionsSayWhatAndExitTwo) {
    const Bench bench;
    expect_refused("check --marign 0.2 " + bench.name(), "--marign");
    expect_refused("chekc " + bench.name(), "chekc");
    expect_refused("check --margin 1.5 " + bench.name(), "--margin");
    expect_refused("check --margin nan " + bench.name(), "--margin");
    expect_refused("check --limits " + bench.name(), "'stepper_sim limits' prints them");
    expect_refused("check", "MACHINE");
}

TEST(CheckCommand, AMarginIsReadAsItIsPrinted) {
    const Bench bench;
    for (const char* margin : {"0.3", "30%", "'30 %'", "30", "2", "'30  %'"})
        EXPECT_NE(
            run_tool("check --no-dynamics --margin " + std::string(margin) + " " + bench.name())
                .exit,
            2)
            << margin;
    // One is either all or a hundredth, and 1.5 neither a share nor likely meant as a percentage.
    for (const char* margin : {"1", "1.5", "100", "100%", "-0.1"})
        expect_refused("check --margin " + std::string(margin) + " " + bench.name(), "--margin");
}

TEST(CheckCommand, AProgramInTheMachinesPlaceIsSaidToBeOne) {
    const TextFile part("G21 G90\nG0 X10\n", "part.gcode");
    expect_refused("check " + part.name(), "the first file must be a machine file (.toml)");
}

TEST(CheckCommand, FullDiskAndMissingFolderAreErrors) {
    const Bench bench;
    const Ran full = run_tool("check " + bench.name() + " >/dev/full");
    EXPECT_EQ(full.exit, 2);
    EXPECT_NE(full.err.find("cannot write to standard output"), std::string::npos) << full.err;
    const Ran file = run_tool("check --json /nonexistent/report.json " + bench.name());
    EXPECT_EQ(file.exit, 2);
    EXPECT_NE(file.err.find("/nonexistent/report.json"), std::string::npos) << file.err;
}

// The shell's status of a pipeline is that of its last command, so the tool's own goes through a file.
TEST(CheckCommand, AReaderThatLeavesIsAnErrorNotACrash) {
    const Bench bench;
    const auto status =
        std::filesystem::temp_directory_path() / ("stepper_sim-status-" + std::to_string(getpid()));
    const std::string line = "{ sleep 0.3; " STEPPER_SIM_PROGRAM " check " + bench.name() +
                             " 2>/dev/null; echo $? >" + status.string() + "; } | true";
    ASSERT_EQ(std::system(line.c_str()), 0);
    int exit = -1;
    for (int tries = 0; exit < 0 && tries < 100; ++tries) {
        std::ifstream(status) >> exit;
        if (exit < 0) std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
    std::filesystem::remove(status);
    EXPECT_EQ(exit, 2);
}

TEST(CheckCommand, JsonIntoADeviceLeavesTheDevice) {
    const Bench bench;
    const auto pipe =
        std::filesystem::temp_directory_path() / ("stepper_sim-fifo-" + std::to_string(getpid()));
    ASSERT_EQ(mkfifo(pipe.c_str(), 0600), 0);
    const Ran ran = run_tool("check " + bench.name() + " --json " + pipe.string() +
                             " >/dev/null & timeout 60 cat " + pipe.string());
    EXPECT_TRUE(std::filesystem::is_fifo(pipe));
    EXPECT_NE(ran.out.find("\"schema\""), std::string::npos) << ran.out << ran.err;
    std::filesystem::remove(pipe);
}

TEST(CheckCommand, ColourNeverGoesIntoAPipe) {
    const Bench bench(changed("supply = \"24 V\"", "supply = \"36 V\""));
    EXPECT_EQ(run_tool("check " + bench.name()).out.find('\033'), std::string::npos);
}

// What moves a machine is told with the same caution, whichever command tells it.
TEST(Caution, EndsEveryTextOfFigures) {
    const std::string end = "local rules come\nfirst.\n";
    const std::string machine = kMachines + "label-plotter.toml";
    const std::string program = std::string(STEPPER_SIM_CONFIGS) + "/programs/seed-labels.gcode";
    for (const std::string& command : {"rates " + machine, "torque " + machine + " --axis x",
                                       "pulses " + machine + " " + program + " --to \"0.2 s\""}) {
        const Ran ran = run_tool(command);
        EXPECT_EQ(ran.exit, 0) << command << ran.err;
        EXPECT_TRUE(ran.out.ends_with(end)) << command << '\n' << ran.out;
    }
}

TEST(RatesCommand, AgreesWithCheckAboutTheSpeedThatWorks) {
    std::string text = changed("microsteps = 16", "microsteps = 256");
    text = changed("steps_per_mm = 80", "steps_per_mm = 1280", text);
    text = changed("steps_per_mm = 400", "steps_per_mm = 6400", text);
    text = changed("cortex-m4-168mhz-line", "avr-16mhz-line", text);
    const Bench bench(text);
    const Ran rates = run_tool("rates --json - " + bench.name());
    EXPECT_EQ(rates.exit, 1);
    const auto axis = nlohmann::json::parse(rates.out).at("axes").at("x");
    const auto check = nlohmann::json::parse(run_tool("check --json - " + bench.name()).out);
    double limit_hz = 0.0;
    for (const auto& finding : check.at("findings"))
        if (finding.at("check") == "step-rate" && finding.at("motor") == "x")
            limit_hz = finding.at("limit");
    EXPECT_DOUBLE_EQ(limit_hz, std::min({axis.at("driver_ceiling_hz").get<double>(),
                                         axis.at("controller_ceiling_hz").get<double>(),
                                         axis.at("tick_ceiling_hz").get<double>()}));
    EXPECT_DOUBLE_EQ(limit_hz / 1280e3, axis.at("highest_speed_m_s").get<double>());
}

TEST(RatesCommand, AgreesWithCheckAboutEveryAxisOfEveryShippedMachine) {
    for (const auto& machine : fs::directory_iterator(kMachines)) {
        const std::string file = machine.path().string();
        const auto rates = nlohmann::json::parse(run_tool("rates --json - " + file).out).at("axes");
        const auto check =
            nlohmann::json::parse(run_tool("check --no-dynamics --json - " + file).out)
                .at("motors");
        ASSERT_EQ(rates.size(), check.size()) << file;
        for (const auto& [axis, ceilings] : rates.items())
            for (const char* key : {"driver_ceiling_hz", "controller_ceiling_hz", "tick_ceiling_hz",
                                    "highest_speed_m_s", "binds"})
                EXPECT_EQ(ceilings.at(key), check.at(axis).at(key)) << file << " " << axis << key;
    }
}

TEST(RatesCommand, SpeedWithoutAUnitIsRefused) {
    const Bench bench;
    expect_refused("rates " + bench.name() + " --speed 200", "200");
    expect_refused("rates " + bench.name() + " --speed \"200 mm\"", "200 mm");
}

TEST(PartsCommand, ListsEveryShippedPart) {
    const auto json = nlohmann::json::parse(run_tool("parts --json -").out);
    EXPECT_GE(json.at("motors").size(), 20U);
    EXPECT_GE(json.at("drivers").size(), 15U);
    EXPECT_GE(json.at("controllers").size(), 6U);
    for (const char* kind : {"motors", "drivers", "controllers"})
        for (const auto& part : json.at(kind))
            EXPECT_NE(part.at("source").at("document"), "") << part.at("name");
    EXPECT_EQ(run_tool("parts motors").exit, 0);
    EXPECT_NE(run_tool("parts motors").out.find("NEMA size; A: rated current, (?) where"),
              std::string::npos);
    expect_refused("parts engines", "engines");
}

TEST(PartsCommand, FitsEightyColumns) {
    std::istringstream lines(run_tool("parts").out);
    for (std::string line; std::getline(lines, line);)
        EXPECT_LE(stepper_sim::report::columns(line), stepper_sim::report::kTextWidth) << line;
}

TEST(Help, FitsEightyColumns) {
    for (const std::string command : {"", "check ", "rates ", "torque ", "pulses ", "parts "}) {
        std::istringstream lines(run_tool(command + "--help").out);
        for (std::string line; std::getline(lines, line);)
            EXPECT_LE(stepper_sim::report::columns(line), stepper_sim::report::kTextWidth)
                << command << line;
    }
}

TEST(Help, EveryCommandShowsAnExampleThatRuns) {
    for (const std::string command : {"check", "rates", "torque", "parts"}) {
        const Ran help = run_tool(command + " --help");
        EXPECT_EQ(help.exit, 0);
        const std::size_t at = help.out.find("Example:\n  stepper_sim ");
        ASSERT_NE(at, std::string::npos) << help.out;
        std::string example = help.out.substr(at + std::string("Example:\n  stepper_sim ").size());
        while (example.back() == '\n')
            example.pop_back();
        // Examples are written for the project's folder.
        for (std::size_t c = 0; (c = example.find("configs/", c)) != std::string::npos;
             c += std::string(STEPPER_SIM_CONFIGS).size())
            example.replace(c, 8, std::string(STEPPER_SIM_CONFIGS) + "/");
        EXPECT_NE(run_tool(example).exit, 2) << example;
    }
}

TEST(CheckCommand, PageSummaryAndPicturesAreWholeFiles) {
    const Bench bench;
    const TextFile program(kSquare);
    const fs::path folder = program.path().parent_path() / "pictures";
    const std::string page = program.path().parent_path() / "page.html";
    const Ran ran = run_tool("check " + bench.name() + " " + program.name() +
                             " --quiet --md - --html " + page + " --svg " + folder.string());
    EXPECT_EQ(ran.exit, 0) << ran.err;
    EXPECT_TRUE(ran.out.starts_with("## clear")) << ran.out;
    std::ifstream in(page);
    const std::string html((std::istreambuf_iterator<char>(in)), {});
    EXPECT_TRUE(html.starts_with("<!DOCTYPE html>"));
    EXPECT_TRUE(html.ends_with("</html>\n"));
    EXPECT_TRUE(fs::exists(folder / "map.svg"));
    expect_refused("check " + bench.name() + " --html /no/such/folder/page.html", "cannot write");
    expect_refused("check " + bench.name() + " " + program.name() + " --svg " + bench.name(),
                   "cannot make");
}

}  // namespace
