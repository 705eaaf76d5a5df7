// The page as text: its sections, that it asks for nothing from outside, that nothing from a file becomes markup, same bytes each time.
#include "stepper_sim/report/page.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <regex>
#include <sstream>

#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

struct Made {
    std::string page;
    check::Report report;
};

Made make_page(const std::string& program_text, const std::string& machine_name = "'bench'") {
    std::string text(kBench);
    text.replace(text.find("\"bench\""), 7, machine_name);
    const machine::Machine machine = machine_from(text);
    const run::MotorModels models = run::motor_models(machine);
    const TextFile file(program_text, "square.gcode");
    auto recorded = picture::record_program(machine, models, file.name(), {}, run::kDefaultMargin);
    EXPECT_TRUE(recorded);
    const picture::RecordedProgram program = std::move(recorded).value();
    const check::Report report =
        check::make_report({machine, models, {&program.result, 1}, run::kDefaultMargin});
    return {report::to_page(report, {&program, 1}), report};
}

constexpr std::string_view kSquare = "G21 G90\nG0 X10 Y10 Z1\nG1 X60 F6000\nY60\nX10\nY10\nM2\n";

nlohmann::json data_of(const std::string& page) {
    const std::string open = "<script type=\"application/json\" id=\"data\">";
    const std::size_t from = page.find(open) + open.size();
    return nlohmann::json::parse(page.substr(from, page.find("</script>", from) - from));
}

/// Tags, ids and headings in order, without scripts and figures: the page's skeleton.
std::string skeleton(const std::string& page) {
    std::string out;
    const std::string body = page.substr(page.find("<body>"));
    static const std::regex piece(
        R"re(<(section|canvas|select|table|details)\b[^>]*?(?: id="([^"]*)")?[^>]*>|<h([123])[^>]*>([^<]*)<)re");
    static const std::regex id(R"re( id="([^"]*)")re");
    for (std::sregex_iterator it(body.begin(), body.end(), piece), end; it != end; ++it) {
        const std::string tag = it->str();
        std::smatch found;
        if ((*it)[3].matched)
            out += "h" + (*it)[3].str() + " " + (*it)[4].str() + "\n";
        else
            out += (*it)[1].str() +
                   (std::regex_search(tag, found, id) ? " " + found[1].str() : std::string()) +
                   "\n";
    }
    return out;
}

TEST(Page, SkeletonIsTheApprovedOne) {
    std::ifstream in(std::string(STEPPER_SIM_TESTS_DIR) + "/stepper_sim/report/page_skeleton.txt");
    std::ostringstream approved;
    approved << in.rdbuf();
    EXPECT_EQ(skeleton(make_page(std::string(kSquare)).page), approved.str());
}

TEST(Page, AsksForNothingFromOutside) {
    const std::string page = make_page(std::string(kSquare)).page;
    EXPECT_NE(page.find("default-src 'none'"), std::string::npos);
    const std::regex outside(R"re((src|href|action)\s*=\s*"(?!#|data:))re");
    const std::string body = page.substr(page.find("<body>"));
    EXPECT_FALSE(std::regex_search(body.substr(0, body.find("<script>")), outside));
    EXPECT_EQ(page.find("<iframe"), std::string::npos);
}

TEST(Page, SameInputGivesTheSameBytes) {
    EXPECT_EQ(make_page(std::string(kSquare)).page, make_page(std::string(kSquare)).page);
}

TEST(Page, HostileNamesAndCommentsStayText) {
    const std::string attack = "</script><img src=x onerror=alert`1`><!--";
    const Made made =
        make_page("G21 (" + attack + ")\nG0 X10\nX900 (" + attack + ")\nM2\n", "'" + attack + "'");
    EXPECT_EQ(made.page.find("<img"), std::string::npos);
    EXPECT_EQ(made.page.find("<!--</"), std::string::npos);
    const auto data = data_of(made.page);
    EXPECT_NE(data[0]["lines"]["3"].get<std::string>().find(attack), std::string::npos);
}

TEST(Page, MapCarriesEveryMoveOfAShortProgram) {
    const auto data = data_of(make_page(std::string(kSquare)).page);
    EXPECT_EQ(data[0]["map"]["count"].get<int>() > 0, true);
    EXPECT_EQ(data[0]["map"]["merged_within_m"].get<double>(), 0.0);
    EXPECT_EQ(data[0]["motors"].size(), 3U);
}

TEST(Page, SettingsThatAreTooHighSayWhatHoldsInstead) {
    const machine::Machine machine = machine_from(std::string(kBench));
    const run::MotorModels models = run::motor_models(machine);
    limits::Limits limits;
    limits.axes.resize(1);
    limits.axes[0].letter = 'X';
    limits.axes[0].speed = {0.15,           0.1, 0.08, run::Binding::torque, run::Binding::torque,
                            "because <so>", ""};
    const std::string page = report::to_page(
        check::make_report({machine, models, {}, run::kDefaultMargin}), {}, &limits);
    EXPECT_NE(page.find("150 mm/s too high"), std::string::npos);
    EXPECT_NE(page.find("80 mm/s"), std::string::npos);
    EXPECT_NE(page.find("because &lt;so&gt;"), std::string::npos);
}

TEST(Page, WhatFindingsAskBesidesLimitsHasARowOfItsOwn) {
    std::string text(kBench);
    text.replace(text.find("steps_per_mm = 80"), 17, "steps_per_mm = 300");
    const machine::Machine machine = machine_from(text);
    const check::Report report =
        check::make_report({machine, run::motor_models(machine), {}, run::kDefaultMargin});
    const limits::Limits limits;
    for (const std::string& page :
         {report::to_page(report, {}), report::to_page(report, {}, &limits)}) {
        EXPECT_NE(page.find(">steps per mm<"), std::string::npos);
        EXPECT_NE(page.find(">300<"), std::string::npos);
        EXPECT_NE(page.find("<strong>80</strong>"), std::string::npos);
        EXPECT_NE(page.find(">asked by steps-per-mm<"), std::string::npos);
    }
}

TEST(Page, LoadAnglesSayOfWhichRegulatorTheyAre) {
    const std::string page = make_page(std::string(kSquare)).page;
    EXPECT_NE(page.find("Largest load angle, sine regulator, low torque"), std::string::npos);
    EXPECT_NE(page.find("Sine regulator, high torque"), std::string::npos);
}

TEST(Page, TimeIsShownWhereItWasWorkedOut) {
    const machine::Machine machine = machine_from(std::string(kBench));
    const check::Report report =
        check::make_report({machine, run::motor_models(machine), {}, run::kDefaultMargin});
    limits::TimeValue time;
    time.now_s = 3600.0;
    time.wanted_s = 3000.0;
    for (auto& row : time.grid_s)
        row.fill(1800.0);
    time.worths.push_back({'Y', machine::SettingKey::max_acceleration, 1.0, 2.0, 3540.0});
    time.alone.push_back(
        {'Z', machine::SettingKey::speed_step, {600.0, 540.0, 480.0, 420.0, 360.0}});
    time.alone.push_back(
        {'X', machine::SettingKey::speed_step, {3600.0, 3599.0, 3598.0, 3598.0, 3598.0}});
    const limits::Limits limits;
    const std::string page = report::to_page(report, {}, &limits, &time);
    EXPECT_NE(page.find("id=\"time\""), std::string::npos);
    EXPECT_NE(page.find("href=\"#time\""), std::string::npos);
    EXPECT_NE(page.find("1 min less"), std::string::npos);
    EXPECT_NE(page.find("200 % of now"), std::string::npos);
    EXPECT_NE(page.find("9 min<span"), std::string::npos);
    EXPECT_EQ(page.find("59 min 58 s<span"), std::string::npos);  // too little to show
    EXPECT_EQ(report::to_page(report, {}, &limits).find("#time"), std::string::npos);
}

TEST(Page, CornersAreShownWithTheirSettings) {
    const machine::Machine machine = machine_from(std::string(kBench));
    const check::Report report =
        check::make_report({machine, run::motor_models(machine), {}, run::kDefaultMargin});
    limits::CornerQuality quality;
    limits::AxisCorners& axis = quality.axes.emplace_back();
    axis.present = 0.008;
    axis.working_speed_m_s = 0.1;  // usual: 20 to 30 mm/s
    axis.most_ringing.fill({0, {467, 0.008, 1e-7, 0.012}});
    const std::string page = report::to_page(report, {}, nullptr, nullptr, &quality);
    EXPECT_NE(page.find("href=\"#corners\""), std::string::npos);
    EXPECT_NE(page.find(">467<"), std::string::npos);
    EXPECT_NE(page.find("64 mm/s"), std::string::npos);  // 8 times
    EXPECT_NE(page.find("12 ms"), std::string::npos);
    EXPECT_NE(page.find("&lt; 0.001 mm"), std::string::npos);
    EXPECT_NE(page.find("X 20 mm/s to 30 mm/s"), std::string::npos);
    EXPECT_EQ(report::to_page(report, {}).find("#corners"), std::string::npos);
}

TEST(Page, WithoutAProgramItHasSettingsAndFindingsOnly) {
    const machine::Machine machine = machine_from(std::string(kBench));
    const run::MotorModels models = run::motor_models(machine);
    const std::string page =
        report::to_page(check::make_report({machine, models, {}, run::kDefaultMargin}), {});
    EXPECT_NE(page.find("id=\"settings\""), std::string::npos);
    EXPECT_EQ(page.find("id=\"moment\""), std::string::npos);
}

}  // namespace
