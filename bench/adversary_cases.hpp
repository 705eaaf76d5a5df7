/// Random machines and programs that try to catch `check` saying clear of what slips: light and heavy friction, soft and stiff belts, full
/// steps, strokes at the frequencies of belt and rotor, crossed belts of unequal loads. Written as text, machine file and G-code, so that
/// any case can be handed to the program itself. The same seed and number give the same text.
#pragma once

#include <array>
#include <cstdint>
#include <string>

namespace stepper_sim::adversary {

enum class Kind : std::uint8_t { zigzag, infill, cruise, corners, ripple };
inline constexpr std::array<const char*, 5> kKindNames{"zig-zag", "infill", "cruise", "corners",
                                                       "ripple"};

struct Case {
    std::string name;  // of its files, without ending
    Kind kind = Kind::zigzag;
    bool crossed = false;
    int microsteps = 16;
    std::string machine;  // TOML
    std::string program;  // G-code
    std::string about;    // a few words: what was drawn
};

/// Case `number` of a seed.
Case draw_case(std::uint64_t seed, int number);

}  // namespace stepper_sim::adversary
