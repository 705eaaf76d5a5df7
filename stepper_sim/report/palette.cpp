#include "stepper_sim/report/palette.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <cmath>

namespace stepper_sim::report {

namespace {

double linear_light(std::string_view two_digits) {
    int value = 0;
    std::from_chars(two_digits.data(), two_digits.data() + two_digits.size(), value, 16);
    const double share = value / 255.0;
    return share <= 0.04045 ? share / 12.92 : std::pow((share + 0.055) / 1.055, 2.4);
}

double luminance(std::string_view colour) {
    return 0.2126 * linear_light(colour.substr(1, 2)) + 0.7152 * linear_light(colour.substr(3, 2)) +
           0.0722 * linear_light(colour.substr(5, 2));
}

}  // namespace

std::string palette_css() {
    std::string bright, dark;
    for (const Colour& colour : kPalette) {
        bright += fmt::format("--{}:{};", colour.name, colour.light);
        dark += fmt::format("--{}:{};", colour.name, colour.dark);
    }
    return fmt::format(
        ":root{{color-scheme:light dark;{0}}}\n"
        "@media screen and (prefers-color-scheme:dark){{:root{{{1}}}}}\n",
        bright, dark);
}

std::string_view light(std::string_view name) {
    const auto* found = std::find_if(kPalette.begin(), kPalette.end(),
                                     [&](const Colour& colour) { return colour.name == name; });
    return found == kPalette.end() ? std::string_view("#000000") : found->light;
}

double contrast(std::string_view a, std::string_view b) {
    const double first = luminance(a), second = luminance(b);
    return (std::max(first, second) + 0.05) / (std::min(first, second) + 0.05);
}

}  // namespace stepper_sim::report
