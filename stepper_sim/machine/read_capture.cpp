
#include "stepper_sim/machine/machine_tables.hpp"
#include "stepper_sim/machine/nearest.hpp"

namespace stepper_sim::machine::reading {
namespace {

/// A channel's name for each axis letter.
void read_channels(FieldReader& reader, const std::string& key, CaptureLine Axis::*line,
                   Machine& machine) {
    const Node* table = reader.table(key);
    if (table == nullptr) {
        return;
    }
    FieldReader channels(*table, reader.full_name(key), reader.faults());
    for (Axis& axis : machine.axes) {
        (axis.*line).channel = channels.value_or<std::string>(planner::axis_key(axis.letter), {});
    }
    channels.finish();
}

}  // namespace

void read_capture(const Node& table, Machine& machine, Faults& faults) {
    FieldReader reader(table, "capture", faults);
    read_channels(reader, "step", &Axis::step_line, machine);
    read_channels(reader, "direction", &Axis::direction_line, machine);
    const Node* inverted = reader.list("inverted");
    std::vector<std::string> known;
    for (const Axis& axis : machine.axes) {
        known.push_back("step." + planner::axis_key(axis.letter));
        known.push_back("direction." + planner::axis_key(axis.letter));
    }
    for (std::size_t i = 0; inverted != nullptr && i < inverted->items.size(); ++i) {
        const Node& item = inverted->items[i];
        bool found = false;
        for (Axis& axis : machine.axes) {
            const bool step = item.text == "step." + planner::axis_key(axis.letter);
            const bool direction = item.text == "direction." + planner::axis_key(axis.letter);
            axis.step_line.inverted = axis.step_line.inverted || step;
            axis.direction_line.inverted = axis.direction_line.inverted || direction;
            found = found || step || direction;
        }
        if (!found) {
            faults.add({"machine/unknown-choice", item.place(), shown(item),
                        "lines such as \"step.x\" for capture.inverted",
                        suggest(item.text, known)});
        }
    }
    reader.finish();
}

}  // namespace stepper_sim::machine::reading
