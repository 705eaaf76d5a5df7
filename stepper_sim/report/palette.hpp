/// The colours of the page and of the pictures, for light and for dark surroundings. Kinds are told apart by lightness as well as by
/// hue, so that they stay apart for the colour-blind and in grey; the contrasts are tested (Palette.*).
#pragma once

#include <array>
#include <string>
#include <string_view>

namespace stepper_sim::report {

struct Colour {
    std::string_view name;  // of the CSS variable, after two hyphens
    std::string_view light, dark;
};

inline constexpr std::array kPalette{
    Colour{"ground", "#f6f4ef", "#12161b"},
    Colour{"sheet", "#fffefb", "#1a2027"},
    Colour{"ink", "#1c242c", "#ece8e0"},
    Colour{"faint", "#56606a", "#a9b0b8"},
    Colour{"line", "#d9d5cb", "#343d47"},
    Colour{"link", "#00596b", "#7fd0e0"},
    Colour{"fault", "#9b1150", "#ff86b8"},
    Colour{"risk", "#7f5200", "#f3bd5a"},
    Colour{"clear", "#00634f", "#63d6b6"},
    Colour{"note", "#3d5a80", "#9fc0ea"},
    Colour{"fault-wash", "#fbe9f1", "#38182a"},
    Colour{"risk-wash", "#fbf1dc", "#33290f"},
    Colour{"clear-wash", "#e3f3ee", "#10302a"},
    // Curves of motors, told apart by dashes too.
    Colour{"motor-0", "#00639c", "#6fbcf5"},
    Colour{"motor-1", "#b04500", "#ff9c5a"},
    Colour{"motor-2", "#006e52", "#52d4a9"},
    Colour{"motor-3", "#8c3f77", "#e89dd2"},
    Colour{"motor-4", "#6b5200", "#e6c560"},
    Colour{"motor-5", "#454f5b", "#c6ccd4"},
    // The map, from calm to beyond the limit: ever darker on light, ever lighter on dark.
    Colour{"heat-0", "#bcc4cc", "#3f4954"},
    Colour{"heat-1", "#c48a1c", "#94631c"},
    Colour{"heat-2", "#b0420a", "#f08a3e"},
    Colour{"heat-3", "#5e0a49", "#ffd9f1"},
    Colour{"pace-0", "#c3d3d6", "#324047"},
    Colour{"pace-1", "#00465a", "#a8eaf7"},
};

/// ":root{--ground:#f6f4ef;...}" and the same for dark surroundings.
std::string palette_css();

/// The colour of that name in light surroundings, for pictures that stand alone.
std::string_view light(std::string_view name);

/// Contrast of two colours "#rrggbb", 1 to 21.
/// Model:   relative luminance of sRGB
/// Formula: (L1 + 0.05)/(L2 + 0.05), L = 0.2126 R + 0.7152 G + 0.0722 B of linear light
/// Symbols: L = relative luminance [-], the lighter first; R, G, B = linear light [-]
/// Valid:   opaque colours
/// Source:  W3C, Web Content Accessibility Guidelines 2.1, "contrast ratio" (from memory)
/// Checked by: Palette.BlackOnWhiteHasTheLargestContrast
double contrast(std::string_view a, std::string_view b);

}  // namespace stepper_sim::report
