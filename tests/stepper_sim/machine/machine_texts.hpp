/// A machine file that uses every key, and helpers to spoil it in one place.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "stepper_sim/machine/read_machine.hpp"

namespace stepper_sim::machine::test {

inline constexpr std::string_view kFullMachine = R"(name = "Bench plotter"
kinematics = "crossed-belt"

[controller]
name = "Bench controller"
style = "line"
clock = "16 MHz"
tick = "2 MHz"
interrupt_cycles = 60
event_cycles = 40
motor_cycles = 41
processor_share = 0.7
pulse_high = "2 us"
direction_setup = "1 us"
direction_hold = "1.5 us"
max_steps_per_interrupt = 4
source = { document = "none", known = "read", note = "made up" }

[planning]
corner = "deviation"
deviation = "0.02 mm"
lookahead_moves = 16
arc_tolerance = "0.01 mm"
path_acceleration = "2500 mm/s^2"

[axes.y]
travel = ["-10 mm", "200 mm"]
drive = { screw_lead = "8 mm", efficiency = 0.4, screw_inertia = "0.02 kg cm^2", gear_ratio = 3 }
motors = 2
current = { peak = "1.5 A" }
supply = "36 V"
microsteps = 8
load = { mass = "2 kg", friction = "3 N", vertical = true }
settings = { steps_per_mm = 200.5, max_speed = "20 mm/s", max_acceleration = "300 mm/s^2" }
[axes.y.motor]
name = "M2"
step_angle = "0.9 deg"
rated_current = { peak = "2 A" }
holding_torque = "0.4 N m"
rotor_inertia = "54 g cm^2"
[[axes.y.motor.curves]]
supply = "24 V"
current = { not_stated = "1 A" }
points = [["0 rpm", "0.3 N m"], ["60 rpm", "0.25 N m"]]
[axes.y.driver]
name = "D2"
step_high_min = "1 us"
step_low_min = "3 us"
both_edges = true
supply = ["8.2 V", "45 V"]
microsteps = [1, 8]
regulator = "sine"

[axes.x]
travel = ["0 mm", "300 mm"]
drive = { belt_pitch = "2 mm", pulley_teeth = 20 }
current = { rms = "1.2 A" }
supply = "24 V"
microsteps = 16
load = { mass = "0.45 kg", friction = "0 N" }
stiffness = "60 N/mm"
modes = [{ frequency = "48 Hz", damping = 0.04 }, { frequency = "70 Hz", damping = 0.02 }]
running_factor = 0.72
settings = { steps_per_mm = 80, max_speed = "180 mm/s", max_acceleration = "3000 mm/s^2", speed_step = "10 mm/s" }
[axes.x.motor]
name = "M1"
maker = "Maker"
frame = 17
step_angle = "1.8 deg"
rated_current = { rms = "1 A" }
holding_torque = "0.27 N m"
resistance = "5.3 ohm"
inductance = "6.6 mH"
rotor_inertia = "35 g cm^2"
detent_torque = "0.022 N m"
max_supply = "75 V"
source = { document = "sheet 1", known = "recalled" }
[[axes.x.motor.curves]]
supply = "24 V"
current = { rms = "1 A" }
drive = "half step, drive not named"
points = [["75 rpm", "0.22 N m"], ["150 rpm", "0.20 N m"]]
source = { document = "sheet 2", known = "read", note = "page 3" }
[axes.x.driver]
name = "D1"
maker = "Maker"
step_high_min = "1.9 us"
step_low_min = "1.9 us"
setup_min = "650 ns"
hold_min = "0 ns"
step_rate_max = "250 kHz"
step_rate_stated = true
both_edges = false
supply = ["8.2 V", "45 V"]
current_max = { peak = "2.5 A" }
microsteps = [1, 2, 4, 8, 16, 32]
regulator = "chopper"
source = { document = "sheet 3", known = "read" }

[program]
rapid = "feed"
units = "inch"
dwell_unit = "ms"
arc_radius_tolerance = "0.005 mm"
ignore_axes = ["e", "a"]
start = { x = "1 mm", y = "2 mm" }
home = { y = "3 mm" }
work_offset = { x = "10 mm" }
[program.words]
ignore = ["M7307", "m07315"]
text = "M7316"
wait = ["G7029.10"]
set_acceleration = "M7317 S"
relative_e = "M7318"
absolute_e = ["M7319"]
[program.parameters]
100 = 2.5
)";

/// `text` with the first `from` replaced.
inline std::string with(std::string_view from, std::string_view to,
                        std::string_view text = kFullMachine) {
    std::string result(text);
    const std::size_t at = result.find(from);
    return at == std::string::npos ? "not in the text: " + std::string(from)
                                   : result.replace(at, from.size(), to);
}

template <class T>
std::vector<std::string> lines_of(const planner::Result<T>& result) {
    std::vector<std::string> lines;
    for (const planner::Diagnostic& diagnostic : result.diagnostics()) {
        lines.push_back(planner::to_line(diagnostic));
    }
    return lines;
}

inline planner::Result<Machine> read_text(std::string_view text) {
    return read_machine_text(text, "m.toml", {});
}

/// All messages about a text, one per line.
inline std::string faults_of(std::string_view text) {
    std::string all;
    for (const std::string& line : lines_of(read_text(text))) {
        all += (all.empty() ? "" : "\n") + line;
    }
    return all;
}

}  // namespace stepper_sim::machine::test
