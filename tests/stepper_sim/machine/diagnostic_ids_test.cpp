#include "stepper_sim/machine/diagnostic_ids.hpp"

#include <gtest/gtest.h>

#include <map>

#include "planner/units/units_text.hpp"
#include "tests/stepper_sim/machine/machine_texts.hpp"
#include "tests/stepper_sim/machine/temp_folder.hpp"

namespace stepper_sim::test {
namespace {

/// Diagnostics produced here, by id: the line each input gave.
std::map<std::string, std::string> produced() {
    std::map<std::string, std::string> lines;
    const auto add = [&](const auto& result) {
        for (const planner::Diagnostic& d : result.diagnostics())
            lines.emplace(d.id, to_line(d));
    };
    const auto spoil = [&](std::string_view from, std::string_view to) {
        add(read_text(with(from, to)));
    };
    spoil("\"2 kg\"", "\"heavy\"");
    spoil("\"2 kg\"", "\"2\"");
    spoil("\"2 kg\"", "\"2 stone\"");
    spoil("\"2 kg\"", "\"2 N\"");
    spoil("\"2 kg\"", "\"1e400 kg\"");
    add(planner::parse_number("0.2 mm"));
    spoil("[planning]", "[planning");
    spoil("work_offset", "work_ofset");
    spoil("name = \"Bench plotter\"", "");
    spoil("pulley_teeth = 20", "pulley_teeth = \"20\"");
    spoil("efficiency = 0.4", "efficiency = 1.1");
    spoil("\"crossed-belt\"", "\"crosed-belt\"");
    spoil("rms = \"1.2 A\"", "rms = \"1.2 A\", peak = \"1 A\"");
    spoil("[\"0 mm\", \"300 mm\"]", "[\"300 mm\", \"0 mm\"]");
    spoil("[\"60 rpm\", \"0.25 N m\"]", "[\"0 rpm\", \"0.25 N m\"]");
    spoil("\"M7307\"", "\"S904\"");
    const TempFolder folder;
    add(read_machine("none.toml", {}));
    add(read_machine(".", {}));
    add(read_machine(folder.write("large.toml", std::string((4U << 20U) + 1, '#')), {}));
    return lines;
}

TEST(DiagnosticIds, EveryExampleComesFromAnInput) {
    const std::map<std::string, std::string> lines = produced();
    for (const DiagnosticId& row : diagnostic_ids()) {
        const auto line = lines.find(std::string(row.id));
        ASSERT_NE(line, lines.end()) << row.id << " is in the table but was not produced";
        EXPECT_TRUE(line->second.ends_with(row.example)) << line->second << "\n" << row.example;
    }
    EXPECT_EQ(lines.size(), diagnostic_ids().size());
}

}  // namespace
}  // namespace stepper_sim::test
