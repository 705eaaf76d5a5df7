#include "stepper_sim/machine/read_machine.hpp"

#include <algorithm>
#include <array>

#include "planner/lookahead/corner.hpp"
#include "stepper_sim/machine/machine_tables.hpp"
#include "stepper_sim/machine/nearest.hpp"
#include "stepper_sim/machine/part_tables.hpp"
#include "stepper_sim/machine/setting.hpp"
#include "stepper_sim/machine/text_file.hpp"

namespace stepper_sim::machine {
namespace reading {

Planning planning_from(const Node& table, Faults& faults) {
    constexpr double kMaxDeviation_m = 0.1;
    constexpr double kMinArcTolerance_m = 1e-6;  // finer chords only cost time
    constexpr int kMaxWindow = 65536;
    FieldReader reader(table, "planning", faults);
    Planning planning;
    std::vector<std::string> corners;
    for (const planner::CornerRuleRow& rule : planner::corner_rules())
        corners.emplace_back(rule.name);
    reader.require("corner");
    if (const auto corner = reader.choice("corner", corners)) {
        planning.corner = static_cast<planner::CornerRule>(*corner);
    }
    if (const SettingKey key = corner_key(planning.corner);
        !planner::row_of(planning.corner).of_each_axis) {
        reader.require(std::string(key_text(key)));
    }
    planning.deviation =
        reader.value_or<planner::Length>("deviation", {}, above_zero_to(kMaxDeviation_m));
    planning.window_moves = reader.need<int>("lookahead_moves", from_to(0, kMaxWindow));
    planning.arc_tolerance =
        reader.need<planner::Length>("arc_tolerance", from_to(kMinArcTolerance_m, kMaxDeviation_m));
    planning.path_acceleration = reader.maybe<planner::Acceleration>(
        "path_acceleration", above_zero_to(kMaxAcceleration_m_s2));
    reader.finish();
    return planning;
}

}  // namespace reading

namespace {

using reading::Faults;
using reading::FieldReader;
using reading::Node;
using reading::SearchFolders;

void read_axes(FieldReader& reader, Machine& machine, const SearchFolders& folders) {
    reader.require("axes");
    const Node* table = reader.table("axes");
    if (table == nullptr) {
        return;
    }
    FieldReader axes(*table, "axes", reader.faults());
    // Without a readable [planning] one complaint is enough.
    const bool need_speed_step =
        reader.has("planning") && planner::row_of(machine.planning.corner).of_each_axis;
    std::string letters;
    for (const char letter : planner::kAxisLetters) {
        const std::string key = planner::axis_key(letter);
        if (axes.find(key) == nullptr) {
            continue;
        }
        const Node* axis = axes.table(key);
        if (axis == nullptr) {
            continue;
        }
        letters += letter;
        machine.axes.push_back(
            reading::axis_from(*axis, letter, need_speed_step, folders, reader.faults()));
    }
    if (table->fields.empty()) {
        reader.faults().add(
            {"machine/missing-key", table->place(), "", "at least one axis, such as axes.x", ""});
    }
    axes.finish();
    machine.program.axes = planner::AxisSet(letters);
}

void check_crossed_belt(FieldReader& reader, const Machine& machine) {
    if (machine.kinematics != planner::Kinematics::crossed_belt) {
        return;
    }
    const bool has_both =
        machine.program.axes.slot('X') >= 0 && machine.program.axes.slot('Y') >= 0;
    if (has_both) {
        return;
    }
    const Node* node = reader.find("kinematics");
    reader.faults().add({"machine/conflict", node->place(), shown(*node),
                         "axes.x and axes.y, which share the crossed belt", ""});
}

Machine machine_from(const Node& root, const SearchFolders& folders, Faults& faults) {
    FieldReader reader(root, "", faults);
    Machine machine;
    machine.name = reader.need<std::string>("name");
    const auto kinematics =
        std::to_array<std::string>({"cartesian", "crossed-belt"});  // in the order of Kinematics
    reader.require("kinematics");
    if (const auto kind = reader.choice("kinematics", kinematics)) {
        machine.kinematics = static_cast<planner::Kinematics>(*kind);
    }
    if (const Node* node = reader.require("controller")) {
        if (const auto found = reading::find_part(*node, "controller", folders, faults)) {
            const std::string path = found->file.empty() ? "controller" : "";
            machine.controller = reading::controller_from(found->table, path, faults);
            machine.controller.file = found->file;
        }
    }
    reader.require("planning");
    if (const Node* planning = reader.table("planning")) {
        machine.planning = reading::planning_from(*planning, faults);
    }
    read_axes(reader, machine, folders);
    check_crossed_belt(reader, machine);
    if (const Node* program = reader.table("program")) {
        reading::read_program(*program, machine, faults);
    }
    if (const Node* capture = reader.table("capture")) {
        reading::read_capture(*capture, machine, faults);
    }
    reader.finish();
    return machine;
}

}  // namespace

planner::Result<Machine> read_machine_text(
    std::string_view text, const std::string& name,
    const std::vector<std::filesystem::path>& catalogue_folders) {
    const planner::Result<Node> root = reading::parse_toml(text, name);
    if (!root) {
        std::vector<planner::Diagnostic> wrong = root.diagnostics();
        // A program in the machine's place: what the parser says of its first line is no help.
        if (std::filesystem::path(name).extension() != ".toml") {
            wrong.front().hint = "the first file must be a machine file (.toml)";
        }
        return wrong;
    }
    Faults faults;
    Machine machine =
        machine_from(root.value(), reading::search_folders(name, catalogue_folders), faults);
    if (!faults.list.empty()) {
        return std::move(faults).in_order(name);
    }
    machine.file = name;
    return machine;
}

planner::Result<Machine> read_machine(const std::filesystem::path& file,
                                      const std::vector<std::filesystem::path>& catalogue_folders) {
    const planner::Result<std::string> text = reading::read_text_file(file);
    if (!text) {
        return text.diagnostics();
    }
    return read_machine_text(text.value(), file.generic_string(), catalogue_folders);
}

}  // namespace stepper_sim::machine
