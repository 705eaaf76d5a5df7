/// Text from files made harmless: as HTML, as data inside a script element, and bytes as base64.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace stepper_sim::report {

/// For element content and quoted attribute values: control and broken bytes become '?', markup becomes entities.
std::string html_text(std::string_view text);

/// A JSON text that may stand in a script element: no '<', '>', '&' and no line separators of JavaScript, whatever its strings hold.
std::string script_safe(std::string_view json);

std::string base64(std::span<const unsigned char> bytes);

/// The bytes of an array of numbers in the order a page reads them: little-endian.
template <class Number>
std::string base64_of(const std::vector<Number>& numbers) {
    // A span of bytes is all that is looked at; every machine this is built for is little-endian.
    return base64(
        {reinterpret_cast<const unsigned char*>(numbers.data()), numbers.size() * sizeof(Number)});
}

}  // namespace stepper_sim::report
