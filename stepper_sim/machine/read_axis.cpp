#include <array>
#include <cmath>

#include "stepper_sim/machine/bounds.hpp"
#include "stepper_sim/machine/machine_tables.hpp"
#include "stepper_sim/machine/part_tables.hpp"
#include "stepper_sim/machine/typical.hpp"

namespace stepper_sim::machine::reading {
namespace {

// Far outside any desktop machine: only a wrong unit gets past these.
constexpr double kMaxTravel_m = 1000.0;
constexpr double kMaxPitch_m = 1.0;
constexpr int kMaxTeeth = 10000;
constexpr double kMaxGearRatio = 1e4;
constexpr double kMaxInertia_kg_m2 = 100.0;
constexpr int kMaxMotors = 8;
constexpr int kMaxMicrosteps = 65536;
constexpr double kMaxMass_kg = 1e4;
constexpr double kMaxForce_N = 1e6;
constexpr double kMaxStiffness_N_m = 1e12;
constexpr double kMaxFrequency_Hz = 1e5;
constexpr double kMaxRunningFactor = 2.0;
constexpr double kMaxStepsPerMm = 1e6;

/// Each drive has its own keys; those of the other one would be ignored and are refused.
void refuse_foreign(FieldReader& reader, const char* drive,
                    std::initializer_list<const char*> keys) {
    for (const char* key : keys) {
        if (const Node* node = reader.find(key)) {
            reader.faults().add({"machine/conflict", node->place(), shown(*node),
                                 "no " + std::string(key) + " beside " + drive, ""});
        }
    }
}

void read_belt_type(FieldReader& reader, Drive& drive) {
    std::vector<std::string> names;
    for (const BeltType& type : belt_types())
        names.emplace_back(type.name);
    const auto chosen = reader.choice("belt_type", names);
    if (!chosen) return;
    const BeltType& type = belt_types()[*chosen];
    drive.belt_type = type.name;
    constexpr double kTypedPitch = 1e-3;
    if (!drive.belt_pitch ||
        std::fabs(1e3 * drive.belt_pitch->value() / type.pitch_mm - 1.0) < kTypedPitch)
        return;
    const Node* node = reader.find("belt_type");
    reader.faults().add({"machine/conflict", node->place(), shown(*node),
                         "a belt of the pitch of belt_pitch for " + reader.full_name("belt_type"),
                         ""});
}

void read_belt(FieldReader& reader, Drive& drive) {
    drive.belt_pitch = reader.maybe<planner::Length>("belt_pitch", above_zero_to(kMaxPitch_m));
    drive.pulley_teeth = reader.need<int>("pulley_teeth", from_to(1, kMaxTeeth));
    read_belt_type(reader, drive);
    drive.belt_width = reader.maybe<planner::Length>("belt_width", above_zero_to(kMaxPitch_m));
    drive.belt_span = reader.maybe<planner::Length>("belt_span", above_zero_to(kMaxTravel_m));
    refuse_foreign(reader, "belt_pitch",
                   {"efficiency", "screw_inertia", "screw_root", "screw_length", "screw_ends"});
}

void read_screw(FieldReader& reader, Drive& drive) {
    drive.screw_lead = reader.maybe<planner::Length>("screw_lead", above_zero_to(kMaxPitch_m));
    drive.screw_efficiency = reader.need<double>("efficiency", above_zero_to(1.0));
    drive.screw_inertia =
        reader.value_or<planner::Inertia>("screw_inertia", {}, zero_to(kMaxInertia_kg_m2));
    drive.screw_root = reader.maybe<planner::Length>("screw_root", above_zero_to(kMaxPitch_m));
    drive.screw_length = reader.maybe<planner::Length>("screw_length", above_zero_to(kMaxTravel_m));
    static const auto ends =
        std::to_array<std::string>({"fixed-free", "supported", "fixed-supported",
                                    "fixed-fixed"});  // in the order of ScrewEnds
    if (const auto held = reader.choice("screw_ends", ends))
        drive.screw_ends = static_cast<ScrewEnds>(*held);
    refuse_foreign(reader, "screw_lead", {"pulley_teeth", "belt_type", "belt_width", "belt_span"});
}

Drive drive_from(const Node& table, const std::string& path, Faults& faults) {
    FieldReader reader(table, path, faults);
    Drive drive;
    const bool belt = reader.find("belt_pitch") != nullptr;
    const bool screw = reader.find("screw_lead") != nullptr;
    if (belt == screw) {
        faults.add(
            {"machine/one-of", table.place(), belt ? "both of them" : "none of them",
             "exactly one of belt_pitch (with pulley_teeth), screw_lead (with efficiency) for " +
                 path,
             ""});
        for (const char* key :
             {"pulley_teeth", "efficiency", "screw_inertia", "belt_type", "belt_width", "belt_span",
              "screw_root", "screw_length", "screw_ends"}) {
            reader.find(key);
        }
    } else if (belt) {
        read_belt(reader, drive);
    } else {
        read_screw(reader, drive);
    }
    drive.gear_ratio =
        reader.value_or<double>("gear_ratio", 1.0, from_to(1.0 / kMaxGearRatio, kMaxGearRatio));
    reader.finish();
    return drive;
}

Load load_from(const Node& table, const std::string& path, bool endless, Faults& faults) {
    FieldReader reader(table, path, faults);
    Load load;
    load.mass = reader.need<planner::Mass>("mass", above_zero_to(kMaxMass_kg));
    const Node* friction = reader.find("friction");
    load.friction_guessed = friction == nullptr || FieldReader::is_guess(friction);
    load.friction =
        load.friction_guessed
            ? planner::from_si<planner::Force>(typical_friction(load.mass, endless).nominal)
            : reader.need<planner::Force>("friction", zero_to(kMaxForce_N));
    load.vertical = reader.value_or<bool>("vertical", false);
    reader.finish();
    return load;
}

AxisSettings settings_from(const Node& table, const std::string& path, bool need_speed_step,
                           Faults& faults) {
    FieldReader reader(table, path, faults);
    AxisSettings settings;
    settings.steps_per_mm = reader.need<double>("steps_per_mm", above_zero_to(kMaxStepsPerMm));
    settings.max_speed = reader.need<planner::Speed>("max_speed", above_zero_to(kMaxSpeed_m_s));
    settings.max_acceleration = reader.need<planner::Acceleration>(
        "max_acceleration", above_zero_to(kMaxAcceleration_m_s2));
    if (need_speed_step) {
        reader.require("speed_step");
    }
    settings.speed_step = reader.value_or<planner::Speed>("speed_step", {}, zero_to(kMaxSpeed_m_s));
    reader.finish();
    return settings;
}

std::vector<MeasuredMode> modes_from(FieldReader& axis) {
    std::vector<MeasuredMode> modes;
    const Node* list = axis.list("modes");
    if (list == nullptr) {
        return modes;
    }
    for (std::size_t i = 0; i < list->items.size(); ++i) {
        const std::string path = axis.full_name("modes") + '[' + std::to_string(i + 1) + ']';
        if (!is_table(list->items[i], path, axis.faults())) {
            continue;
        }
        FieldReader reader(list->items[i], path, axis.faults());
        MeasuredMode mode;
        mode.frequency =
            reader.need<planner::Frequency>("frequency", above_zero_to(kMaxFrequency_Hz));
        mode.damping = reader.need<double>("damping", {0.0, 1.0, true, true});
        reader.finish();
        modes.push_back(mode);
    }
    return modes;
}

template <class Part>
Part part_from(FieldReader& axis, const char* key, const SearchFolders& folders,
               Part (*from)(const Node&, const std::string&, Faults&)) {
    const Node* node = axis.require(key);
    if (node == nullptr) {
        return {};
    }
    const auto found = find_part(*node, axis.full_name(key), folders, axis.faults());
    if (!found) {
        return {};
    }
    const std::string path = found->file.empty() ? axis.full_name(key) : "";
    Part part = from(found->table, path, axis.faults());
    part.file = found->file;
    return part;
}

void read_parts(FieldReader& reader, Axis& axis, const SearchFolders& folders) {
    axis.motor = part_from(reader, "motor", folders, motor_from);
    axis.driver = part_from(reader, "driver", folders, driver_from);
    if (reader.require("current", current_forms(nullptr)) != nullptr) {
        axis.current = current_from(reader, "current").value_or(RatedCurrent{});
    }
    axis.supply = reader.need<planner::Voltage>("supply", above_zero_to(kMaxSupply_V));
    axis.microsteps = reader.need<int>("microsteps", from_to(1, kMaxMicrosteps));
}

void read_travel(FieldReader& reader, Axis& axis) {
    const auto travel =
        span_from<planner::Length>(reader, "travel", from_to(-kMaxTravel_m, kMaxTravel_m));
    if (!travel) {
        return;
    }
    axis.travel_min = travel->first;
    axis.travel_max = travel->second;
}

}  // namespace

Axis axis_from(const Node& table, char letter, bool need_speed_step, const SearchFolders& folders,
               Faults& faults) {
    FieldReader reader(table, std::string("axes.") + planner::axis_key(letter), faults);
    Axis axis;
    axis.letter = letter;
    read_travel(reader, axis);
    reader.require("drive");
    if (const Node* drive = reader.table("drive")) {
        axis.drive = drive_from(*drive, reader.full_name("drive"), faults);
    }
    axis.motor_count = reader.value_or<int>("motors", 1, from_to(1, kMaxMotors));
    read_parts(reader, axis, folders);
    reader.require("load");
    if (const Node* load = reader.table("load")) {
        axis.load = load_from(*load, reader.full_name("load"), !axis.travel_max, faults);
    }
    axis.stiffness =
        reader.maybe_guess<planner::Stiffness>("stiffness", above_zero_to(kMaxStiffness_N_m));
    axis.damping = reader.maybe_guess<double>("damping", {0.0, 1.0, true, true});
    axis.modes = modes_from(reader);
    axis.running_factor = reader.maybe<double>("running_factor", above_zero_to(kMaxRunningFactor));
    axis.running_factor_at =
        reader.maybe<planner::Speed>("running_factor_at", above_zero_to(kMaxSpeed_m_s));
    if (axis.running_factor_at && !axis.running_factor)
        faults.add({"machine/conflict", reader.find("running_factor_at")->place(),
                    "running_factor_at",
                    "running_factor beside it for " + reader.full_name("running_factor_at"), ""});
    reader.require("settings");
    if (const Node* settings = reader.table("settings")) {
        axis.settings =
            settings_from(*settings, reader.full_name("settings"), need_speed_step, faults);
    }
    reader.finish();
    return axis;
}

}  // namespace stepper_sim::machine::reading
