#include "stepper_sim/report/page_data.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/check/report.hpp"
#include "stepper_sim/report/escape.hpp"
#include "stepper_sim/report/json_text.hpp"

namespace stepper_sim::report {

namespace {

// Shares are kept in thousandths, rounded up: what passes a limit must not look as if it did not.
std::uint16_t thousandths(double share) {
    return static_cast<std::uint16_t>(std::clamp(std::ceil(1000.0 * share - 1e-6), 0.0, 65535.0));
}

// A load angle in tenths of a degree.
std::int16_t tenths(float angle_rad) {
    const double tenths_deg = 10.0 * 57.29577951308232 * static_cast<double>(angle_rad);
    return static_cast<std::int16_t>(std::clamp(std::round(tenths_deg), -32000.0, 32000.0));
}

/// Four to six digits are more than a picture can show, and keep the page small.
double short_number(double value) {
    if (value == 0.0 || !std::isfinite(value)) return 0.0;
    const double scale = std::pow(10.0, 5.0 - std::floor(std::log10(std::abs(value))));
    return std::round(value * scale) / scale;
}

template <class Out, class In, class Of>
std::string packed(const std::vector<In>& from, Of&& of) {
    std::vector<Out> to;
    to.reserve(from.size());
    for (const In& one : from)
        to.push_back(static_cast<Out>(of(one)));
    return base64_of(to);
}

Json map_of(const picture::PathMap& map) {
    float low_x = 0, high_x = 0, low_y = 0, high_y = 0, top_speed = 0;
    bool first = true;
    for (const picture::MapPiece& piece : map.pieces) {
        const auto [x0, x1] = std::minmax(piece.x0_m, piece.x1_m);
        const auto [y0, y1] = std::minmax(piece.y0_m, piece.y1_m);
        low_x = first ? x0 : std::min(low_x, x0);
        high_x = first ? x1 : std::max(high_x, x1);
        low_y = first ? y0 : std::min(low_y, y0);
        high_y = first ? y1 : std::max(high_y, y1);
        top_speed = std::max(top_speed, piece.speed_m_s);
        first = false;
    }
    const double size =
        std::max(1e-6, static_cast<double>(std::max(high_x - low_x, high_y - low_y)));
    const auto place = [&](float at, float low) {
        return std::clamp(std::round(static_cast<double>(at - low) / size * 65535.0), 0.0, 65535.0);
    };
    const auto& pieces = map.pieces;
    return {
        {"x_m", low_x},
        {"y_m", low_y},
        {"width_m", high_x - low_x},
        {"depth_m", high_y - low_y},
        {"size_m", size},
        {"top_speed_m_s", top_speed},
        {"levels_m", map.levels_m},
        {"moves", map.moves},
        {"merged_within_m", map.merged_within_m},
        {"levels_per_group", map.levels_per_group},
        {"count", pieces.size()},
        {"x0_u16", packed<std::uint16_t>(pieces, [&](auto& p) { return place(p.x0_m, low_x); })},
        {"y0_u16", packed<std::uint16_t>(pieces, [&](auto& p) { return place(p.y0_m, low_y); })},
        {"x1_u16", packed<std::uint16_t>(pieces, [&](auto& p) { return place(p.x1_m, low_x); })},
        {"y1_u16", packed<std::uint16_t>(pieces, [&](auto& p) { return place(p.y1_m, low_y); })},
        {"torque_u16",
         packed<std::uint16_t>(
             pieces, [](auto& p) { return thousandths(static_cast<double>(p.torque_use)); })},
        {"ratio_u16",
         packed<std::uint16_t>(
             pieces, [](auto& p) { return thousandths(static_cast<double>(p.modal_ratio)); })},
        {"speed_u16",
         packed<std::uint16_t>(pieces,
                               [&](auto& p) {
                                   return thousandths(static_cast<double>(
                                       top_speed > 0.0F ? p.speed_m_s / top_speed : 0.0F));
                               })},
        {"level_u16", packed<std::uint16_t>(pieces, [](auto& p) { return p.level; })},
        {"line_u32", packed<std::uint32_t>(pieces, [](auto& p) { return p.line; })},
        {"time_f32", packed<float>(pieces, [](auto& p) { return p.time_s; })},
        {"motors_u8",
         packed<std::uint8_t>(pieces, [](auto& p) { return p.torque_motor << 4 | p.ratio_motor; })},
        {"work_u8", packed<std::uint8_t>(pieces, [](auto& p) { return p.work ? 1 : 0; })}};
}

Json envelope_of(const picture::Envelope& envelope) {
    const auto as_is = [](double value) { return value; };
    return {{"stretch_s", envelope.stretch_s},
            {"least_f32", packed<float>(envelope.least, as_is)},
            {"greatest_f32", packed<float>(envelope.greatest, as_is)}};
}

Json motor_of(const picture::MotorRecord& motor) {
    Json out{{"letter", std::string(1, motor.letter)}};
    Json band = Json::array();
    for (const picture::BandPoint& point : motor.band)
        band.push_back({short_number(point.speed_m_s), short_number(point.low_Nm),
                        short_number(point.nominal_Nm), short_number(point.high_Nm)});
    out["band"] = band;
    Json cells = Json::array();
    for (std::size_t i = 0; i < motor.asked.seconds.size(); ++i)
        if (motor.asked.seconds[i] > 0.0)
            cells.push_back({i / static_cast<std::size_t>(motor.asked.torques),
                             i % static_cast<std::size_t>(motor.asked.torques),
                             short_number(motor.asked.seconds[i])});
    out["asked"] = {{"speeds", motor.asked.speeds},
                    {"torques", motor.asked.torques},
                    {"top_speed_m_s", motor.asked.top_speed_m_s},
                    {"top_torque_Nm", motor.asked.top_torque_Nm},
                    {"cells", cells}};
    out["worst"] = {motor.worst_speed_m_s, motor.worst_asked_Nm};
    out["base_speed_m_s"] = motor.base_speed_m_s;
    out["step_rate_hz"] = envelope_of(motor.step_rate_hz);
    out["driver_ceiling_hz"] = motor.driver_ceiling_hz;
    out["controller_ceiling_hz"] = motor.controller_ceiling_hz;
    Json response = Json::array();
    for (const picture::ResponsePoint& point : motor.response)
        response.push_back({short_number(point.frequency_hz), short_number(point.low),
                            short_number(point.nominal), short_number(point.high)});
    out["response"] = response;
    Json reversals = Json::array();
    for (const picture::ReversalBin& bin : motor.reversals)
        reversals.push_back({short_number(bin.from_hz), short_number(bin.to_hz), bin.count});
    out["reversals"] = reversals;
    out["natural_hz"] = {motor.natural_low_hz, motor.natural_hz, motor.natural_high_hz};
    out["near_hz"] = {motor.near_from_hz(), motor.near_to_hz()};
    return out;
}

Json moment_of(const picture::MomentRecord& moment) {
    Json command = Json::array();
    for (const picture::CommandPoint& point : moment.command)
        command.push_back({short_number(point.time_s), short_number(point.speed_m_s),
                           short_number(point.acceleration_m_s2)});
    return {{"letter", std::string(1, moment.letter)},
            {"line", moment.line},
            {"start_s", moment.start_s},
            {"end_s", moment.end_s},
            {"at_s", moment.at_s},
            {"command", command},
            {"low_i16", packed<std::int16_t>(moment.angle_low_rad, tenths)},
            {"high_i16", packed<std::int16_t>(moment.angle_high_rad, tenths)},
            {"tick_hz", moment.tick_hz},
            {"rises_u32", base64_of(moment.rises)},
            {"turns_u32", base64_of(moment.turns)},
            {"turn_to_i8", base64_of(moment.turn_to)},
            {"first_direction", moment.first_direction},
            {"pulse_ticks", moment.pulse_ticks},
            {"cut", moment.cut}};
}

Json finding_of(const check::Finding& finding, const picture::FoundPlace& place) {
    Json out{{"grade", check::to_word(finding.grade)},
             {"check", finding.check},
             {"motor", finding.motor != 0 ? std::string(1, finding.motor) : std::string()},
             {"line", finding.line},
             {"time_s", finding.time_s.value_or(0.0)},
             {"message", planner::printable(finding.message, 2000)}};
    if (place.known) out["place_m"] = {place.x_m, place.y_m, place.z_m};
    return out;
}

Json program_of(const picture::RecordedProgram& program) {
    const picture::Recording& recording = program.recording;
    const std::string name = std::filesystem::path(recording.file).filename().string();
    Json out{{"name", planner::printable(name, 120)},
             {"duration_s", recording.duration_s},
             {"processor_share", recording.processor_share},
             {"map", map_of(recording.map)},
             {"load", envelope_of(recording.processor_load)}};
    out["motors"] = Json::array();
    for (const picture::MotorRecord& motor : recording.motors)
        out["motors"].push_back(motor_of(motor));
    out["moments"] = Json::array();
    for (const picture::MomentRecord& moment : recording.moments)
        out["moments"].push_back(moment_of(moment));
    out["findings"] = Json::array();
    for (std::size_t i = 0; i < program.findings.size(); ++i)
        out["findings"].push_back(finding_of(program.findings[i], i < recording.places.size()
                                                                      ? recording.places[i]
                                                                      : picture::FoundPlace{}));
    Json lines = Json::object();
    for (const auto& [number, text] : recording.lines)
        lines[std::to_string(number)] = text;
    out["lines"] = lines;
    return out;
}

}  // namespace

std::string page_data(std::span<const picture::RecordedProgram> programs) {
    Json out = Json::array();
    for (const picture::RecordedProgram& program : programs)
        out.push_back(program_of(program));
    return script_safe(out.dump(-1, ' ', false, Json::error_handler_t::replace));
}

}  // namespace stepper_sim::report
