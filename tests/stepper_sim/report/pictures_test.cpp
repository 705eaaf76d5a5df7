#include "stepper_sim/report/pictures.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <stack>

#include "stepper_sim/report/svg_chart.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

picture::RecordedProgram recorded(const std::string& name) {
    const machine::Machine machine = machine_from();
    const TextFile file("G21 G90\nG0 X10 Y10 Z1\nG1 X60 F6000\nY60\nX10\nY10\nX900\nM2\n", name);
    auto program = picture::record_program(machine, run::motor_models(machine), file.path(), {},
                                           run::kDefaultMargin);
    EXPECT_TRUE(program);
    return std::move(program).value();
}

/// Opened elements are closed in order; quotes pair up in every tag, and no other bracket stands in one.
void expect_well_formed(const std::string& svg, const std::string& name) {
    std::stack<std::string> open;
    std::size_t tags = 0;
    for (std::size_t at = svg.find('<'); at != std::string::npos; at = svg.find('<', at + 1)) {
        ++tags;
        const std::size_t end = svg.find('>', at);
        ASSERT_NE(end, std::string::npos) << name;
        const std::string tag = svg.substr(at + 1, end - at - 1);
        EXPECT_EQ(tag.find('<'), std::string::npos) << name << ": " << tag;
        EXPECT_EQ(std::count(tag.begin(), tag.end(), '"') % 2, 0) << name << ": " << tag;
        const bool closes = tag.front() == '/';
        const std::string element =
            tag.substr(closes ? 1 : 0, tag.find_first_of(" \n/", 1) - (closes ? 1 : 0));
        if (closes) {
            ASSERT_FALSE(open.empty()) << name;
            EXPECT_EQ(open.top(), element) << name;
            open.pop();
        } else if (tag.back() != '/') {
            open.push(element);
        }
    }
    EXPECT_TRUE(open.empty()) << name;
    EXPECT_GT(tags, 3U) << name;
}

TEST(Pictures, EveryMainChartIsThereAndWellFormed) {
    const picture::RecordedProgram program = recorded("a <b> & 'c'.gcode");
    std::set<std::string> names;
    for (const report::Picture& picture : report::pictures({&program, 1})) {
        expect_well_formed(picture.svg, picture.name);
        for (const std::string no_number : {"nan", "inf"})
            for (const std::string before : {" ", "\"", "M", "L", "-"})
                EXPECT_EQ(picture.svg.find(before + no_number), std::string::npos) << picture.name;
        names.insert(picture.name);
    }
    EXPECT_EQ(names, (std::set<std::string>{"map.svg", "step-rate.svg", "torque-x.svg",
                                            "torque-y.svg", "torque-z.svg", "resonance-x.svg",
                                            "resonance-y.svg", "resonance-z.svg"}));
}

TEST(Pictures, ProgramsDoNotOverwriteEachOther) {
    const std::vector<picture::RecordedProgram> programs{recorded("one.gcode"),
                                                         recorded("two.gcode")};
    std::set<std::string> names;
    for (const report::Picture& picture : report::pictures(programs))
        EXPECT_TRUE(names.insert(picture.name).second) << picture.name;
}

TEST(SvgChart, TicksAreOneTwoOrFiveTimesAPowerOfTen) {
    for (double range = 1e-4; range < 1e6; range *= 1.37) {
        const double step = report::tick_step(range);
        const double mantissa = step / std::pow(10.0, std::floor(std::log10(step) + 1e-9));
        EXPECT_TRUE(std::abs(mantissa - 1) < 1e-6 || std::abs(mantissa - 2) < 1e-6 ||
                    std::abs(mantissa - 5) < 1e-6)
            << range << " " << step;
        EXPECT_LE(range / step, 6.0 + 1e-9);
        EXPECT_GE(range / step, 2.0);
    }
}

}  // namespace
