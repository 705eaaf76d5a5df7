#include "stepper_sim/report/pictures.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>

#include "stepper_sim/report/palette.hpp"
#include "stepper_sim/report/svg_chart.hpp"

namespace stepper_sim::report {

namespace {

constexpr std::array<std::string_view, 6> kMotorColours = {"motor-0", "motor-1", "motor-2",
                                                           "motor-3", "motor-4", "motor-5"};

std::string_view motor_colour(std::size_t motor) {
    return light(kMotorColours[motor % kMotorColours.size()]);
}

std::string of_program(const picture::RecordedProgram& program) {
    return std::filesystem::path(program.recording.file).filename().string();
}

std::string torque_svg(const picture::RecordedProgram& program, const picture::MotorRecord& motor) {
    double top_Nm = motor.worst_asked_Nm;
    std::vector<ChartPoint> outline, low, nominal;
    for (const picture::BandPoint& point : motor.band) {
        top_Nm = std::max(top_Nm, point.high_Nm);
        outline.emplace_back(1e3 * point.speed_m_s, point.high_Nm);
        low.emplace_back(1e3 * point.speed_m_s, point.low_Nm);
        nominal.emplace_back(1e3 * point.speed_m_s, point.nominal_Nm);
    }
    outline.insert(outline.end(), low.rbegin(), low.rend());
    SvgChart chart(
        fmt::format("Motor {}: torque against speed, {}", motor.letter, of_program(program)),
        {"speed of belt or nut, mm/s", 0.0, 1e3 * motor.band.back().speed_m_s},
        {"torque at the motor shaft, N m", 0.0, 1.05 * top_Nm});
    chart.area(outline, light("link"));
    chart.line(low, light("link"), false, 2.0);
    chart.line(nominal, light("link"), true);
    const picture::AskedDensity& asked = motor.asked;
    const double wide = 1e3 * asked.top_speed_m_s / asked.speeds;
    const double tall = asked.top_torque_Nm / asked.torques;
    for (std::size_t i = 0; i < asked.seconds.size(); ++i) {
        if (asked.seconds[i] <= 0.0) continue;
        const auto torques = static_cast<std::size_t>(asked.torques);
        const std::size_t column = i / torques;
        const auto s = static_cast<double>(column), t = static_cast<double>(i % torques);
        chart.bar(s * wide, (s + 1.0) * wide, t * tall, (t + 1.0) * tall, light("heat-2"));
    }
    chart.ring(1e3 * motor.worst_speed_m_s, motor.worst_asked_Nm);
    chart.legend("available: band from low to high, low as a line, nominal dashed", light("link"));
    chart.legend("asked by the program; the ring is where most of the low curve is used",
                 light("heat-2"));
    return chart.finish();
}

std::string rates_svg(const picture::RecordedProgram& program) {
    const picture::Recording& recording = program.recording;
    double peak_kHz = 1e-3, ceiling_kHz = 0.0;
    for (const picture::MotorRecord& motor : recording.motors) {
        for (const double rate : motor.step_rate_hz.greatest)
            peak_kHz = std::max(peak_kHz, 1e-3 * rate);
        const double ceiling =
            1e-3 * std::min(motor.driver_ceiling_hz, motor.controller_ceiling_hz);
        ceiling_kHz = ceiling_kHz > 0.0 ? std::min(ceiling_kHz, ceiling) : ceiling;
    }
    SvgChart chart("Step rate, " + of_program(program),
                   {"time in the program, s", 0.0, std::max(1e-3, recording.duration_s)},
                   {"steps per second, kHz", 0.0, 1.1 * std::max(peak_kHz, ceiling_kHz)});
    for (std::size_t m = 0; m < recording.motors.size(); ++m) {
        const picture::MotorRecord& motor = recording.motors[m];
        std::vector<ChartPoint> points;
        for (std::size_t i = 0; i < motor.step_rate_hz.greatest.size(); ++i)
            points.emplace_back((static_cast<double>(i) + 0.5) * motor.step_rate_hz.stretch_s,
                                1e-3 * motor.step_rate_hz.greatest[i]);
        chart.line(points, motor_colour(m), m % 2 == 1);
        chart.legend(fmt::format("motor {}, highest in each stretch of time", motor.letter),
                     motor_colour(m), m % 2 == 1);
    }
    chart.ceiling(ceiling_kHz, "lowest ceiling of driver and controller");
    return chart.finish();
}

std::string resonance_svg(const picture::RecordedProgram& program,
                          const picture::MotorRecord& motor) {
    double most = 1.0;
    std::uint64_t most_often = 1;
    std::vector<ChartPoint> low, nominal, high;
    for (const picture::ResponsePoint& point : motor.response) {
        most = std::max({most, point.low, point.nominal, point.high});
        low.emplace_back(point.frequency_hz, point.low);
        nominal.emplace_back(point.frequency_hz, point.nominal);
        high.emplace_back(point.frequency_hz, point.high);
    }
    for (const picture::ReversalBin& bin : motor.reversals)
        most_often = std::max(most_often, bin.count);
    SvgChart chart(
        fmt::format("Motor {}: resonance and reversals, {}", motor.letter, of_program(program)),
        {"frequency, Hz", motor.response.front().frequency_hz, motor.response.back().frequency_hz,
         true},
        {"how many times a swing grows", 0.0, 1.05 * most});
    for (const picture::ReversalBin& bin : motor.reversals) {
        if (bin.count == 0) continue;
        const double share = static_cast<double>(bin.count) / static_cast<double>(most_often);
        chart.bar(bin.from_hz, bin.to_hz, 0.0, 0.4 * most * share, light("heat-1"));
    }
    chart.line(low, light("motor-1"), true);
    chart.line(high, light("motor-0"), true);
    chart.line(nominal, light("ink"));
    chart.legend("nominal torque", light("ink"));
    chart.legend("low torque", light("motor-1"), true);
    chart.legend("high torque", light("motor-0"), true);
    chart.legend(fmt::format("reversals of the program, the tallest bar {} times", most_often),
                 light("heat-1"));
    return chart.finish();
}

}  // namespace

std::vector<Picture> pictures(std::span<const picture::RecordedProgram> programs) {
    std::vector<Picture> out;
    for (std::size_t p = 0; p < programs.size(); ++p) {
        const std::string start = p == 0 ? std::string() : fmt::format("{}-", p + 1);
        out.push_back({start + "map.svg", map_svg(programs[p])});
        out.push_back({start + "step-rate.svg", rates_svg(programs[p])});
        for (const picture::MotorRecord& motor : programs[p].recording.motors) {
            out.push_back({fmt::format("{}torque-{}.svg", start, planner::axis_key(motor.letter)),
                           torque_svg(programs[p], motor)});
            out.push_back(
                {fmt::format("{}resonance-{}.svg", start, planner::axis_key(motor.letter)),
                 resonance_svg(programs[p], motor)});
        }
    }
    return out;
}

}  // namespace stepper_sim::report
