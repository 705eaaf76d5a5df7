// What cannot be run is said wherever the verdict is, and never passes where thin may not.
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

#include "command_line.hpp"
#include "tests/stepper_sim/temp_folder.hpp"

namespace {

using namespace stepper_sim::samples;
using stepper_sim::samples::TempFolder;

struct Unrunnable {
    const char* program;
    const char* said;
};

const Unrunnable kUnrunnable[] = {
    {"G21 G90 G94\nG1 X10 F600\nG38.2 Z-2 F100\nM2\n", "probe move"},
    {"G21 G90 G94\nG1 X10 F600\nM2\nO500\nG1 X5\n", "program O500 behind the end"},
    {"G21 G90 G94\nG1 X10 F600\nM7301 X5\nM2\n", "M7301"},
};

std::string contents(const std::string& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

TEST(Provisos, StandInEveryViewAndNeverPassWhereThinMayNot) {
    const std::string machine = std::string(STEPPER_SIM_CONFIGS) + "/machines/tag-router.toml";
    for (const auto& [program, said] : kUnrunnable) {
        const TempFolder folder;
        folder.write("p.nc", program);
        const std::string file = folder.path().string() + "/p.nc",
                          page = folder.path().string() + "/p.html";
        const auto check = [&](const std::string& options) {
            return run_tool("check " + machine + " " + file + " " + options);
        };
        const Ran text = check("--html " + page);
        EXPECT_EQ(text.exit, 0) << text.err;
        EXPECT_TRUE(text.out.starts_with("thin")) << text.out;
        for (const std::string& view :
             {text.out, contents(page), check("--quiet").out, check("--json -").out,
              check("--md -").out, run_tool("check " + machine + " " + folder.path().string()).out})
            EXPECT_NE(view.find(said), std::string::npos) << said << '\n' << view;
        EXPECT_EQ(check("--strict --quiet").exit, 1) << said;
    }
}

}  // namespace
