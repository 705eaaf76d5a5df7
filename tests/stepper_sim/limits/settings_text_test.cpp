// Settings written into the text of a machine file.
#include <gtest/gtest.h>

#include "stepper_sim/limits/settings_text.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kRounding_m_s = 1e-12;  // of millimetres turned into metres

TEST(SettingsText, ChangesTheValuesAndNothingElse) {
    const std::string text =
        "# über\r\n" + std::string(kBench) + "\n# \"150 mm/s\" stays in a comment\n";
    const machine::Machine machine = machine_from(text);
    machine::Machine wanted = machine;
    wanted.axes[1].settings.max_speed = planner::from_si<planner::Speed>(0.2125);
    wanted.axes[2].settings.speed_step = planner::from_si<planner::Speed>(0.0003);
    EXPECT_EQ(limits::setting_lines(wanted, machine),
              (std::vector<std::string>{R"(axes.y.settings.max_speed = "212.5 mm/s")",
                                        R"(axes.z.settings.speed_step = "0.3 mm/s")"}));
    const auto out = limits::with_settings(text, "bench.toml", wanted, machine);
    ASSERT_TRUE(out);
    const machine::Machine again = machine_from(out.value());
    EXPECT_NEAR(again.axes[1].settings.max_speed.value(), 0.2125, kRounding_m_s);
    EXPECT_NEAR(again.axes[2].settings.speed_step.value(), 0.0003, kRounding_m_s);
    EXPECT_EQ(again.axes[0].settings.max_speed, machine.axes[0].settings.max_speed);
    std::string back = out.value();
    back.replace(back.find("212.5 mm/s"), 10, "150 mm/s");
    back.replace(back.rfind("0.3 mm/s"), 8, "0.4 mm/s");
    EXPECT_EQ(back, text);
}

TEST(SettingsText, HandlesEveryWayToWriteATable) {
    std::string text(kBench);
    const std::string inline_table =
        R"(settings = { steps_per_mm = 400, max_speed = "10 mm/s", max_acceleration = "100 mm/s^2", speed_step = "0.4 mm/s" })";
    const std::size_t at = text.find(inline_table);
    ASSERT_NE(at, std::string::npos);
    text.replace(at, inline_table.size(), R"([axes.z.settings]
"max_speed"='10 mm/s' # here
steps_per_mm = 400
max_acceleration = """100 mm/s^2"""
speed_step = "0.4 mm/s")");
    const machine::Machine machine = machine_from(text);
    machine::Machine wanted = machine;
    wanted.axes[2].settings.max_speed *= 0.5;
    wanted.axes[2].settings.max_acceleration *= 0.5;
    const auto out = limits::with_settings(text, "bench.toml", wanted, machine);
    ASSERT_TRUE(out);
    EXPECT_NE(out.value().find("\"max_speed\"=\"5 mm/s\" # here"), std::string::npos);
    EXPECT_NE(out.value().find("max_acceleration = \"50 mm/s^2\"\n"), std::string::npos);
}

}  // namespace
