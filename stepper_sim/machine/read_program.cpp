#include <array>
#include <cctype>
#include <charconv>

#include "planner/program/expression.hpp"
#include "stepper_sim/machine/machine_tables.hpp"

namespace stepper_sim::machine::reading {
namespace {

constexpr double kMaxPosition_m = 1000.0;
constexpr double kMaxArcTolerance_m = 0.01;
constexpr int kMostTools = 99999;  // five digits, as the largest word number

char upper(char c) {
    return static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
}

/// One length per axis letter of the machine; axes that are not named are at zero.
void read_positions(const Node& table, const std::string& path, const Machine& machine,
                    planner::AxisArray& positions_m, Faults& faults) {
    FieldReader reader(table, path, faults);
    for (std::size_t slot = 0; slot < machine.axes.size(); ++slot) {
        const std::string key = planner::axis_key(machine.axes[slot].letter);
        positions_m[slot] =
            reader.value_or<planner::Length>(key, {}, from_to(-kMaxPosition_m, kMaxPosition_m))
                .value();
    }
    reader.finish();
}

void read_work_offset(FieldReader& reader, Machine& machine) {
    const Node* node = reader.find("work_offset");
    if (node == nullptr) {
        return;
    }
    if (node->kind == Node::Kind::text && node->text == "unknown") {
        machine.work_offset_known = false;
    } else if (node->kind == Node::Kind::table) {
        read_positions(*node, reader.full_name("work_offset"), machine,
                       machine.program.work_offset_m, reader.faults());
    } else {
        reader.faults().add({"machine/wrong-type", node->place(), shown(*node),
                             "a table of lengths or \"unknown\" for program.work_offset", ""});
    }
}

void read_ignored_axes(FieldReader& reader, Machine& machine) {
    const Node* list = reader.list("ignore_axes");
    if (list == nullptr) {
        return;
    }
    for (const Node& item : list->items) {
        const bool one_letter = item.kind == Node::Kind::text && item.text.size() == 1 &&
                                planner::is_axis_letter(upper(item.text[0]));
        if (!one_letter) {
            reader.faults().add({"machine/unknown-choice", item.place(), shown(item),
                                 "axis letters (x y z a b c u v w e) for program.ignore_axes", ""});
        } else if (machine.program.axes.slot(upper(item.text[0])) >= 0) {
            reader.faults().add(
                {"machine/conflict", item.place(), shown(item),
                 "letters that are not axes of this machine for program.ignore_axes", ""});
        } else {
            machine.program.ignored_axes += upper(item.text[0]);
        }
    }
}

/// The whole of a key that is a number from 1 to `most`.
std::optional<int> whole_number(const std::string& key, int most) {
    int number = 0;
    const char* end = key.data() + key.size();
    const auto [stop, error] = std::from_chars(key.data(), end, number);
    const bool good = error == std::errc() && stop == end && number >= 1 && number <= most;
    return good ? std::optional<int>(number) : std::nullopt;
}

/// Values of the program's numbered parameters: { 100 = 2.5 } is #100.
void read_parameters(const Node& table, Machine& machine, Faults& faults) {
    for (const Field& field : table.fields) {
        const std::optional<int> number = whole_number(field.name, planner::kParameters);
        if (!number) {
            faults.add({"machine/unknown-key", field.place, planner::printable(field.name),
                        "a parameter number from 1 to " + std::to_string(planner::kParameters),
                        ""});
            continue;
        }
        const auto value =
            value_of<double>(field.value, {}, "program.parameters." + field.name, faults);
        if (value) {
            machine.program.parameters[*number] = *value;
        }
    }
}

/// Lengths of tools, by the number that G43 H names: { 1 = "50 mm" }.
void read_tool_lengths(const Node& table, Machine& machine, Faults& faults) {
    for (const Field& field : table.fields) {
        const std::optional<int> number = whole_number(field.name, kMostTools);
        if (!number) {
            faults.add({"machine/unknown-key", field.place, planner::printable(field.name),
                        "a tool number from 1 to 99999", ""});
            continue;
        }
        const auto length =
            value_of<planner::Length>(field.value, from_to(-kMaxPosition_m, kMaxPosition_m),
                                      "program.tool_lengths." + field.name, faults);
        if (length) {
            machine.program.tool_lengths_m[*number] = length->value();
        }
    }
}

}  // namespace

void read_program(const Node& table, Machine& machine, Faults& faults) {
    FieldReader reader(table, "program", faults);
    planner::ProgramSettings& program = machine.program;
    const auto rapids = std::to_array<std::string>({"traverse", "feed"});
    const auto units = std::to_array<std::string>({"mm", "inch"});
    const auto dwells = std::to_array<std::string>({"s", "ms"});
    const auto readings = std::to_array<std::string>({"as axes", "latest", "absolute", "relative"});
    const auto after_g80 = std::to_array<std::string>({"no motion", "resume"});
    program.rapid_is_feed = reader.choice("rapid", rapids) == 1U;
    program.default_inches = reader.choice("units", units) == 1U;
    program.dwell_unit_s = reader.choice("dwell_unit", dwells) == 1U ? 1e-3 : 1.0;
    program.e_reading =
        static_cast<planner::EReading>(reader.choice("e_reading", readings).value_or(0U));
    program.resume_after_g80 = reader.choice("after_g80", after_g80) == 1U;
    const auto paths = std::to_array<std::string>({"refuse", "as written"});
    program.compensation_as_written = reader.choice("cutter_compensation", paths) == 1U;
    if (const Node* tools = reader.table("tool_lengths")) {
        read_tool_lengths(*tools, machine, faults);
    }
    const auto tolerance =
        reader.maybe<planner::Length>("arc_radius_tolerance", above_zero_to(kMaxArcTolerance_m));
    if (tolerance) {
        program.arc_radius_tolerance_m = tolerance->value();
    }
    program.block_delete = reader.value_or<bool>("block_delete", program.block_delete);
    program.home_all_axes = reader.value_or<bool>("home_all_axes", program.home_all_axes);
    read_ignored_axes(reader, machine);
    if (const Node* parameters = reader.table("parameters")) {
        read_parameters(*parameters, machine, faults);
    }
    if (const Node* start = reader.table("start")) {
        read_positions(*start, "program.start", machine, program.start_m, faults);
    }
    if (const Node* home = reader.table("home")) {
        read_positions(*home, "program.home", machine, program.home_m, faults);
    }
    read_work_offset(reader, machine);
    if (const Node* words = reader.table("words")) {
        read_words(*words, machine, faults);
    }
    reader.finish();
}

}  // namespace stepper_sim::machine::reading
