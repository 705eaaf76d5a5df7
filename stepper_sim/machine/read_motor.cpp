#include <cmath>

#include "planner/units/units_text.hpp"
#include "stepper_sim/machine/bounds.hpp"
#include "stepper_sim/machine/part_tables.hpp"

namespace stepper_sim::machine::reading {
namespace {

// Far outside anything that is sold: only a wrong unit gets past these.
constexpr double kMaxTorque_Nm = 1000.0;
constexpr double kMaxResistance_ohm = 1000.0;
constexpr double kMaxInductance_H = 10.0;
constexpr double kMaxInertia_kg_m2 = 1.0;
constexpr double kMaxRate_rad_s = 1e4;
constexpr int kMaxFrame = 120;
constexpr double kFullTurn_rad = 6.283185307179586;

int steps_per_turn_from(FieldReader& reader) {
    const auto angle =
        reader.need<planner::Angle>("step_angle", above_zero_to(kFullTurn_rad / 4.0));
    if (angle.value() <= 0.0) {
        return 0;
    }
    const double steps = kFullTurn_rad / angle.value();
    constexpr double kMaxSteps = 10000.0;
    constexpr double kPlateRounding = 1e-3;  // 7.2 and 0.72 are exact, "0.0036 deg" is not
    const double whole = std::round(steps);
    const bool fits = steps <= kMaxSteps && std::fabs(steps - whole) <= kPlateRounding * whole &&
                      std::fmod(whole, 4.0) == 0.0;
    if (fits) {
        return static_cast<int>(whole);
    }
    const Node* node = reader.find("step_angle");
    reader.faults().add({"machine/out-of-range", node->place(), shown(*node),
                         "an angle that divides the turn into a multiple of 4 full steps, such as "
                         "1.8 deg, for " +
                             reader.full_name("step_angle"),
                         ""});
    return 0;
}

void add_bad_point(const Node& node, const std::string& found, const std::string& name,
                   Faults& faults) {
    faults.add({"machine/bad-curve", node.place(), found,
                R"(points ["speed", "torque"] of rising speed, at least two, for )" + name, ""});
}

void read_points(FieldReader& reader, PullOutCurve& curve) {
    if (reader.require("points") == nullptr) {
        return;
    }
    const Node* list = reader.list("points");
    if (list == nullptr) {
        return;
    }
    const std::string name = reader.full_name("points");
    if (list->items.size() < 2) {
        add_bad_point(*list, std::to_string(list->items.size()) + " points", name, reader.faults());
    }
    for (const Node& point : list->items) {
        if (point.kind != Node::Kind::array || point.items.size() != 2) {
            add_bad_point(point, shown(point), name, reader.faults());
            continue;
        }
        const auto speed = value_of<planner::AngularSpeed>(point.items[0], zero_to(kMaxRate_rad_s),
                                                           name, reader.faults());
        const auto torque = value_of<planner::Torque>(point.items[1], zero_to(kMaxTorque_Nm), name,
                                                      reader.faults());
        if (!speed || !torque) {
            continue;
        }
        if (!curve.speeds.empty() && !(curve.speeds.back() < *speed)) {
            add_bad_point(point, shown(point.items[0]), name, reader.faults());
            continue;
        }
        curve.speeds.push_back(*speed);
        curve.torques.push_back(*torque);
    }
}

PullOutCurve curve_from(const Node& table, const std::string& path, const Source& part_source,
                        Faults& faults) {
    FieldReader reader(table, path, faults);
    PullOutCurve curve;
    curve.supply = reader.need<planner::Voltage>("supply", above_zero_to(kMaxSupply_V));
    if (reader.require("current") != nullptr) {
        curve.current = current_from(reader, "current").value_or(RatedCurrent{});
    }
    curve.drive = reader.value_or<std::string>("drive", "");
    read_points(reader, curve);
    curve.source = source_from(reader).value_or(part_source);
    reader.finish();
    return curve;
}

void read_curves(FieldReader& reader, MotorPart& motor) {
    const Node* list = reader.list("curves");
    if (list == nullptr) {
        return;
    }
    for (std::size_t i = 0; i < list->items.size(); ++i) {
        const std::string path = reader.full_name("curves") + '[' + std::to_string(i + 1) + ']';
        if (is_table(list->items[i], path, reader.faults())) {
            motor.curves.push_back(curve_from(list->items[i], path, motor.source, reader.faults()));
        }
    }
}

}  // namespace

std::string current_forms(const Node* written) {
    std::string value = "1.4 A";
    if (written != nullptr &&
        (written->kind == Node::Kind::whole || written->kind == Node::Kind::real)) {
        value = shown(*written) + " A";
    }
    return "{ rms = \"" + value + "\" } or { peak = \"" + value + "\" }";
}

std::optional<RatedCurrent> current_from(FieldReader& reader, std::string_view key) {
    const Node* table = reader.find(key);
    if (table == nullptr) {
        return std::nullopt;
    }
    const Range range = above_zero_to(kMaxCurrent_A);
    if (table->kind == Node::Kind::text) {
        const auto plain = reader.maybe<planner::Current>(key, range);
        return plain ? std::optional(RatedCurrent{*plain, CurrentBasis::not_stated}) : std::nullopt;
    }
    if (table->kind != Node::Kind::table) {
        reader.faults().add({"machine/wrong-type", table->place(), shown(*table),
                             current_forms(table) + " for " + reader.full_name(key),
                             "the peak of the sine is 1.41 times its rms"});
        return std::nullopt;
    }
    FieldReader fields(*table, reader.full_name(key), reader.faults());
    const auto rms = fields.maybe<planner::Current>("rms", range);
    const auto peak = fields.maybe<planner::Current>("peak", range);
    const auto unstated = fields.maybe<planner::Current>("not_stated", range);
    std::string found;
    for (const char* basis : {"rms", "peak", "not_stated"}) {
        if (fields.has(basis)) {
            found += (found.empty() ? "" : " and ") + std::string(basis);
        }
    }
    if (found != "rms" && found != "peak" && found != "not_stated") {
        reader.faults().add({"machine/one-of", table->place(),
                             found.empty() ? "none of them" : found,
                             "exactly one of rms, peak, not_stated for " + reader.full_name(key),
                             "the peak of the sine is 1.41 times its rms"});
        if (fields.has("not_stated")) {
            fields.find("not_stated");
        }
    }
    fields.finish();
    if (rms) {
        return RatedCurrent{*rms, CurrentBasis::rms};
    }
    if (peak) {
        return RatedCurrent{*peak, CurrentBasis::peak};
    }
    if (unstated) {
        return RatedCurrent{*unstated, CurrentBasis::not_stated};
    }
    return std::nullopt;
}

std::optional<Source> source_from(FieldReader& reader) {
    const Node* table = reader.table("source");
    if (table == nullptr) {
        return std::nullopt;
    }
    FieldReader fields(*table, reader.full_name("source"), reader.faults());
    Source source;
    source.document = fields.need<std::string>("document");
    static const auto states =
        std::to_array<std::string>({"read", "second-hand", "recalled"});  // in the order of Known
    fields.require("known", "\"read\", \"second-hand\" or \"recalled\"");
    if (const auto state = fields.choice("known", states))
        source.known = static_cast<Known>(*state);
    source.note = fields.value_or<std::string>("note", "");
    fields.finish();
    return source;
}

MotorPart motor_from(const Node& table, const std::string& path, Faults& faults) {
    FieldReader reader(table, path, faults);
    MotorPart motor;
    motor.name = reader.need<std::string>("name");
    motor.maker = reader.value_or<std::string>("maker", "");
    motor.frame = reader.value_or<int>("frame", 0, from_to(1, kMaxFrame));
    motor.steps_per_turn = steps_per_turn_from(reader);
    if (reader.require("rated_current") != nullptr) {
        motor.rated_current = current_from(reader, "rated_current").value_or(RatedCurrent{});
    }
    motor.holding_torque =
        reader.need<planner::Torque>("holding_torque", above_zero_to(kMaxTorque_Nm));
    motor.resistance =
        reader.maybe_guess<planner::Resistance>("resistance", above_zero_to(kMaxResistance_ohm));
    motor.inductance =
        reader.maybe_guess<planner::Inductance>("inductance", above_zero_to(kMaxInductance_H));
    motor.rotor_inertia =
        reader.maybe_guess<planner::Inertia>("rotor_inertia", above_zero_to(kMaxInertia_kg_m2));
    motor.detent_torque = reader.maybe<planner::Torque>("detent_torque", zero_to(kMaxTorque_Nm));
    motor.max_supply = reader.maybe<planner::Voltage>("max_supply", above_zero_to(kMaxSupply_V));
    motor.source = source_from(reader).value_or(Source{});
    read_curves(reader, motor);
    reader.finish();
    return motor;
}

}  // namespace stepper_sim::machine::reading
