#include "pull_out_data.hpp"

#include <fstream>
#include <map>
#include <numbers>
#include <stdexcept>
#include <utility>

#include "stepper_sim/motor/voltage_limit.hpp"

namespace stepper_sim::outside {

namespace {

using planner::from_si;
using Row = std::map<std::string, std::string>;

std::vector<std::string> split(const std::string& line) {
    std::vector<std::string> fields(1);
    bool quoted = false;
    for (const char c : line) {
        if (c == '"') {
            quoted = !quoted;
        } else if (c == ',' && !quoted) {
            fields.emplace_back();
        } else {
            fields.back() += c;
        }
    }
    return fields;
}

std::vector<Row> table(const std::string& name) {
    std::ifstream file(std::string(STEPPER_SIM_TESTS_DIR) + "/outside/data/" + name);
    std::string line;
    if (!std::getline(file, line)) throw std::runtime_error("cannot read " + name);
    const std::vector<std::string> heads = split(line);
    std::vector<Row> rows;
    while (std::getline(file, line)) {
        const std::vector<std::string> fields = split(line);
        if (fields.size() != heads.size())
            throw std::runtime_error("columns of " + name + ": " + line);
        Row row;
        for (std::size_t i = 0; i < heads.size(); ++i)
            row[heads[i]] = fields[i];
        rows.push_back(std::move(row));
    }
    return rows;
}

machine::RatedCurrent current(const std::string& value, const std::string& basis) {
    const auto kind = basis == "peak"  ? machine::CurrentBasis::peak
                      : basis == "rms" ? machine::CurrentBasis::rms
                                       : machine::CurrentBasis::not_stated;
    return {from_si<planner::Current>(std::stod(value)), kind};
}

template <class Q>
std::optional<Q> optional_value(const std::string& text) {
    if (text.empty()) return {};
    return from_si<Q>(std::stod(text));
}

machine::MotorPart plate(Row row) {
    machine::MotorPart motor;
    motor.name = row["motor"];
    motor.frame = std::stoi(row["frame"]);
    motor.rated_current = current(row["rated_A"], row["rated_basis"]);
    motor.holding_torque = from_si<planner::Torque>(std::stod(row["holding_Nm"]));
    motor.resistance = optional_value<planner::Resistance>(row["resistance_ohm"]);
    motor.inductance = optional_value<planner::Inductance>(row["inductance_H"]);
    motor.rotor_inertia = optional_value<planner::Inertia>(row["rotor_inertia_kg_m2"]);
    motor.source.document = row["document"];
    return motor;
}

double rad_s(double rpm) {
    return rpm * std::numbers::pi / 30.0;
}

}  // namespace

std::vector<CurvePoint> pull_out_points() {
    std::map<std::string, std::pair<machine::MotorPart, std::string>> plates;
    for (Row row : table("curve_motors.csv"))
        plates[row["motor"]] = {plate(row), row["body"]};
    std::vector<CurvePoint> points;
    for (Row row : table("pull_out_curves.csv")) {
        const auto& [motor, body] = plates.at(row["motor"]);
        const motor::MotorConstants constants = motor::motor_constants(motor);
        const double supply_V = std::stod(row["supply_V"]);
        const double peak_A = current(row["current_A"], row["current_basis"]).peak().value();
        const double rate = rad_s(std::stod(row["speed_rpm"]));
        CurvePoint p;
        p.curve = row["curve"];
        p.body = body;
        p.first_hand = row["quality"] == "A";
        p.rpm = std::stod(row["speed_rpm"]);
        p.corners = rate / motor::base_rate_rad_s(constants, peak_A, supply_V);
        p.emf_share = constants.torque_constant_Nm_A * rate / supply_V;
        p.rounded_Nm = motor::rounded_torque_Nm(constants, peak_A, supply_V, rate);
        p.ideal_Nm = motor::ideal_torque_Nm(constants, peak_A, supply_V, rate);
        p.torque_Nm = std::stod(row["torque_Nm"]);
        points.push_back(p);
    }
    return points;
}

std::vector<machine::MotorPart> curve_motors() {
    std::vector<machine::MotorPart> motors;
    for (Row row : table("curve_motors.csv"))
        motors.push_back(plate(row));
    for (machine::MotorPart& motor : motors) {
        std::map<std::string, machine::PullOutCurve> curves;
        for (Row row : table("pull_out_curves.csv")) {
            if (row["motor"] != motor.name) continue;
            machine::PullOutCurve& curve = curves[row["curve"]];
            curve.supply = from_si<planner::Voltage>(std::stod(row["supply_V"]));
            curve.current = current(row["current_A"], row["current_basis"]);
            curve.source.document = row["document"];
            curve.speeds.push_back(
                from_si<planner::AngularSpeed>(rad_s(std::stod(row["speed_rpm"]))));
            curve.torques.push_back(from_si<planner::Torque>(std::stod(row["torque_Nm"])));
        }
        for (auto& [id, curve] : curves)
            motor.curves.push_back(std::move(curve));
    }
    return motors;
}

}  // namespace stepper_sim::outside
