#include "stepper_sim/machine/read_parts.hpp"

#include "stepper_sim/machine/part_tables.hpp"
#include "stepper_sim/machine/text_file.hpp"

namespace stepper_sim::machine {
namespace {

template <class Part>
planner::Result<Part> read_part(const std::filesystem::path& file,
                                Part (*from)(const reading::Node&, const std::string&,
                                             reading::Faults&)) {
    const planner::Result<std::string> text = reading::read_text_file(file);
    if (!text) {
        return text.diagnostics();
    }
    const std::string name = file.generic_string();
    const planner::Result<reading::Node> root = reading::parse_toml(text.value(), name);
    if (!root) {
        return root.diagnostics();
    }
    reading::Faults faults;
    Part part = from(root.value(), "", faults);
    if (!faults.list.empty()) {
        return std::move(faults).in_order(name);
    }
    part.file = name;
    return part;
}

}  // namespace

planner::Result<MotorPart> read_motor(const std::filesystem::path& file) {
    return read_part(file, reading::motor_from);
}

planner::Result<DriverPart> read_driver(const std::filesystem::path& file) {
    return read_part(file, reading::driver_from);
}

planner::Result<ControllerPart> read_controller(const std::filesystem::path& file) {
    return read_part(file, reading::controller_from);
}

}  // namespace stepper_sim::machine
