#include <cmath>
#include <type_traits>

#include "planner/units/units_text.hpp"
#include "stepper_sim/machine/field_reader.hpp"

namespace stepper_sim::machine::reading {

template <class T>
std::string kind_name() {
    if constexpr (std::is_same_v<T, bool>) {
        return "true or false";
    } else if constexpr (std::is_same_v<T, int>) {
        return "a whole number";
    } else if constexpr (std::is_same_v<T, double>) {
        return "a number";
    } else if constexpr (std::is_same_v<T, std::string>) {
        return "text in quotes";
    } else {
        return planner::describe_quantity<T>();
    }
}

namespace {

constexpr std::size_t kMaxText_bytes = 2000;

template <class T>
std::string bound(double si) {
    constexpr int kDigits = 7;
    if constexpr (std::is_arithmetic_v<T>) {
        return planner::format_number(si, kDigits);
    } else {
        return planner::format_quantity(planner::from_si<T>(si), kDigits);
    }
}

template <class T>
std::string describe(const Range& range) {
    std::string text;
    if (std::isfinite(range.low)) {
        text += (range.low_open ? " above " : " at least ") + bound<T>(range.low);
    }
    if (std::isfinite(range.high)) {
        text += text.empty() ? "" : " and";
        text += (range.high_open ? " below " : " at most ") + bound<T>(range.high);
    }
    return text;
}

planner::Diagnostic wrong_type(const Node& node, const std::string& expected,
                               const std::string& key, std::string hint = {}) {
    return {"machine/wrong-type", node.place(), shown(node), expected + " for " + key,
            std::move(hint)};
}

template <class T>
std::optional<T> in_range(const Node& node, T value, double si, const Range& range,
                          const std::string& key, Faults& faults) {
    if (range.holds(si)) {
        return value;
    }
    faults.add({"machine/out-of-range", node.place(), shown(node),
                kind_name<T>() + describe<T>(range) + " for " + key, ""});
    return std::nullopt;
}

std::optional<std::string> text_of(const Node& node, const std::string& key, Faults& faults) {
    std::string text = node.text;
    for (char& c : text) {
        if (c == '\n' || c == '\r' || c == '\t') {
            c = ' ';
        }
    }
    if (text.empty() || planner::printable(text, kMaxText_bytes) != text) {
        faults.add({"machine/out-of-range", node.place(), shown(node),
                    "text of 1 to 2000 bytes without control characters for " + key, ""});
        return std::nullopt;
    }
    return text;
}

template <class Q>
std::optional<Q> quantity_of(const Node& node, const Range& range, const std::string& key,
                             Faults& faults) {
    if (node.kind == Node::Kind::whole || node.kind == Node::Kind::real) {
        faults.add({"units/no-unit", node.place(), shown(node), kind_name<Q>() + " for " + key,
                    "write it in quotes, with its unit"});
        return std::nullopt;
    }
    if (node.kind != Node::Kind::text) {
        faults.add(wrong_type(node, kind_name<Q>(), key));
        return std::nullopt;
    }
    const planner::Result<Q> result = planner::parse_quantity<Q>(node.text, node.place());
    if (!result) {
        planner::Diagnostic diagnostic = result.diagnostics().front();
        diagnostic.expected += " for " + key;
        faults.add(std::move(diagnostic));
        return std::nullopt;
    }
    return in_range<Q>(node, result.value(), planner::to_si(result.value()), range, key, faults);
}

}  // namespace

template <class T>
std::optional<T> value_of(const Node& node, const Range& range, const std::string& key,
                          Faults& faults) {
    const std::string hint =
        node.kind == Node::Kind::text && std::is_arithmetic_v<T> ? "write it without quotes" : "";
    if constexpr (std::is_same_v<T, bool>) {
        if (node.kind == Node::Kind::boolean) {
            return node.truth;
        }
    } else if constexpr (std::is_same_v<T, std::string>) {
        if (node.kind == Node::Kind::text) {
            return text_of(node, key, faults);
        }
    } else if constexpr (std::is_same_v<T, int>) {
        const auto real = static_cast<double>(node.whole);
        if (node.kind == Node::Kind::whole) {
            const Range fits{std::max(range.low, -2147483648.0), std::min(range.high, 2147483647.0),
                             range.low_open, range.high_open};
            if (!fits.holds(real)) {
                return in_range<T>(node, 0, real, fits, key, faults);
            }
            return static_cast<int>(node.whole);
        }
    } else if constexpr (std::is_same_v<T, double>) {
        const double real =
            node.kind == Node::Kind::whole ? static_cast<double>(node.whole) : node.real;
        if (node.kind == Node::Kind::whole || node.kind == Node::Kind::real) {
            return in_range<T>(node, real, real, range, key, faults);
        }
        if (node.kind == Node::Kind::text && node.text.ends_with('%')) {
            if (const auto share = planner::parse_number(node.text))
                return in_range<T>(node, share.value(), share.value(), range, key, faults);
        }
    } else {
        return quantity_of<T>(node, range, key, faults);
    }
    faults.add(wrong_type(node, kind_name<T>(), key, hint));
    return std::nullopt;
}

#define INSTANTIATE(T)                   \
    template std::string kind_name<T>(); \
    template std::optional<T> value_of<T>(const Node&, const Range&, const std::string&, Faults&);
INSTANTIATE(bool)
INSTANTIATE(int)
INSTANTIATE(double)
INSTANTIATE(std::string)
INSTANTIATE(planner::Length)
INSTANTIATE(planner::Time)
INSTANTIATE(planner::Speed)
INSTANTIATE(planner::Acceleration)
INSTANTIATE(planner::Mass)
INSTANTIATE(planner::Force)
INSTANTIATE(planner::Stiffness)
INSTANTIATE(planner::Frequency)
INSTANTIATE(planner::Angle)
INSTANTIATE(planner::AngularSpeed)
INSTANTIATE(planner::Torque)
INSTANTIATE(planner::Inertia)
INSTANTIATE(planner::Current)
INSTANTIATE(planner::Voltage)
INSTANTIATE(planner::Resistance)
INSTANTIATE(planner::Inductance)
#undef INSTANTIATE

}  // namespace stepper_sim::machine::reading
