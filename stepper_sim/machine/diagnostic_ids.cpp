#include "stepper_sim/machine/diagnostic_ids.hpp"

#include <array>

namespace stepper_sim {
namespace {

constexpr auto kIds = std::to_array<DiagnosticId>({
    {"units/no-number",
     R"(m.toml:33:17: found 'heavy', expected a mass such as "0.45 kg" for axes.y.load.mass)"},
    {"units/no-unit",
     R"(m.toml:33:17: found '2', expected a mass such as "0.45 kg" for axes.y.load.mass; add the unit)"},
    {"units/unknown-unit",
     R"(m.toml:33:17: found '2 stone', expected a mass such as "0.45 kg" for axes.y.load.mass; units known here: kg, g, lb, oz)"},
    {"units/wrong-kind",
     R"(m.toml:33:17: found '2 N', expected a mass such as "0.45 kg" for axes.y.load.mass; 'N' is the unit of a force)"},
    {"units/not-finite",
     R"(m.toml:33:17: found '1e400 kg', expected a mass such as "0.45 kg" for axes.y.load.mass; the number must be finite and of a size that a computer can hold)"},
    {"units/unexpected-text",
     R"(found '0.2 mm', expected a number without a unit, such as 0.2; leave out 'mm')"},
    {"machine/no-file", R"(none.toml: found 'no such file', expected a file to read)"},
    {"machine/unreadable-file", R"(.: found 'a folder', expected a file to read)"},
    {"machine/file-too-large",
     R"(large.toml: found 'more than 4 MB', expected a file of at most 4 MB)"},
    {"machine/not-toml",
     R"(m.toml:19:10: found '[planning', expected TOML; table header: expected ']', saw '\n')"},
    {"machine/unknown-key",
     R"(m.toml:108:1: found 'work_ofset', expected a key of program; did you mean 'work_offset')"},
    {"machine/missing-key", R"(m.toml:1:1: found nothing, expected the key name, text in quotes)"},
    {"machine/wrong-type",
     R"(m.toml:56:47: found '20', expected a whole number for axes.x.drive.pulley_teeth; write it without quotes)"},
    {"machine/out-of-range",
     R"(m.toml:28:45: found '1.1', expected a number above 0 and at most 1 for axes.y.drive.efficiency)"},
    {"machine/unknown-choice",
     R"(m.toml:2:14: found 'crosed-belt', expected "cartesian" or "crossed-belt" for kinematics; did you mean "crossed-belt")"},
    {"machine/one-of",
     R"(m.toml:57:11: found 'rms and peak', expected exactly one of rms, peak, not_stated for axes.x.current; the peak of the sine is 1.41 times its rms)"},
    {"machine/conflict",
     R"(m.toml:55:10: found '300 mm to 0 mm', expected a lowest value below the highest for axes.x.travel)"},
    {"machine/bad-curve",
     R"(m.toml:44:33: found '0 rpm', expected points ["speed", "torque"] of rising speed, at least two, for axes.y.motor.curves[1].points)"},
    {"machine/bad-word",
     R"(m.toml:110:11: found 'S904', expected a G or M word such as "M7306" for program.words.ignore)"},
});

}  // namespace

std::span<const DiagnosticId> diagnostic_ids() {
    return kIds;
}

}  // namespace stepper_sim
