#include "stepper_sim/trial/fitted_machine.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cctype>
#include <cmath>

#include "planner/units/units_text.hpp"
#include "stepper_sim/machine/toml_node.hpp"

namespace stepper_sim {

namespace {

using reading::Node;

constexpr int kDigits = 4;

char lower(char letter) {
    return static_cast<char>(std::tolower(static_cast<unsigned char>(letter)));
}

std::string sources(const AxisFit& fit) {
    std::string names;
    for (std::size_t i = 0; i < fit.sheets.size(); ++i)
        names += (i == 0                       ? ""
                  : i + 1 == fit.sheets.size() ? " and "
                                               : ", ") +
                 planner::printable(std::filesystem::path(fit.sheets[i].file).filename().string());
    return names;
}

class Values {
  public:
    Values(const Machine& machine, const MotorModels& models, const AxisFit& fit)
        : axis_(machine.axes[static_cast<std::size_t>(fit.slot)]),
          available_(models.available[static_cast<std::size_t>(fit.slot)]),
          fit_(fit),
          shared_(machine.kinematics == planner::Kinematics::crossed_belt &&
                  (fit.letter == 'X' || fit.letter == 'Y')) {}

    std::vector<FittedValue> all() {
        running_factor();
        if (!shared_) quantity(friction_unknown, "load.friction", axis_.load.friction);
        if (axis_.stiffness)
            quantity(spring_unknown, "stiffness", *axis_.stiffness);
        else if (!shared_)
            quantity(spring_unknown, "load.mass", axis_.load.mass);
        if (axis_.stiffness && fit_.learnt(damping_unknown)) {
            const double before = axis_.damping.value_or(kDefaultModalDamping);
            add(damping_unknown, "damping",
                axis_.damping ? planner::format_number(before, kDigits) : "",
                planner::format_number(before * factor(damping_unknown), kDigits));
        }
        return std::move(values_);
    }

  private:
    double factor(Unknown unknown) const { return std::exp(fit_.after.value[unknown]); }

    void running_factor() {
        if (!fit_.learnt(torque_unknown)) return;
        const AvailableTorque whole =
            available_torque(axis_.motor, axis_.current, axis_.supply, 1.0);
        const double value =
            available_.nominal_Nm(0.0) * factor(torque_unknown) / whole.nominal_Nm(0.0);
        add(torque_unknown, "running_factor",
            axis_.running_factor ? planner::format_number(*axis_.running_factor, kDigits) : "",
            planner::format_number(value, kDigits));
    }

    template <class Q>
    void quantity(Unknown unknown, const char* key, const Q& before) {
        if (!fit_.learnt(unknown) || !(planner::to_si(before) > 0.0)) return;
        const Q after = planner::from_si<Q>(planner::to_si(before) * factor(unknown));
        add(unknown, key, planner::format_quantity(before, kDigits),
            '"' + planner::format_quantity(after, kDigits) + '"');
    }

    void add(Unknown unknown, std::string key, std::string before, std::string value) {
        values_.push_back({fit_.letter, std::move(key), std::move(before), std::move(value),
                           fmt::format("fitted, +-{:.0f} %, to {}",
                                       100.0 * fit_.after.spread(unknown), sources(fit_))});
    }

    const Axis& axis_;
    const AvailableTorque& available_;
    const AxisFit& fit_;
    bool shared_;
    std::vector<FittedValue> values_;
};

bool continues_character(char c) {
    return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U;
}

std::size_t line_start(std::string_view text, std::uint64_t line) {
    std::size_t at = 0;
    for (std::uint64_t l = 1; l < line && at < text.size(); ++l)
        at = std::min(text.find('\n', at), text.size() - 1) + 1;
    return at;
}

/// The byte where a place begins; columns count characters.
std::size_t offset_of(std::string_view text, const planner::Place& place) {
    std::size_t at = line_start(text, place.line);
    for (std::uint64_t c = 1; c < place.column && at < text.size(); ++c) {
        ++at;
        while (at < text.size() && continues_character(text[at]))
            ++at;
    }
    return at;
}

/// Bytes of the number or the one-line text that begins at `at`; 0 for anything else.
std::size_t value_length(std::string_view text, std::size_t at, Node::Kind kind) {
    if (at >= text.size()) return 0;
    const std::size_t line_end = std::min(text.find('\n', at), text.size());
    if (kind == Node::Kind::real || kind == Node::Kind::whole)
        return std::min(text.find_first_of(" \t,}#\r\n", at), line_end) - at;
    const char quote = text[at];
    if ((quote != '"' && quote != '\'') || text.substr(at, 3) == std::string(3, quote)) return 0;
    for (std::size_t i = at + 1; i < line_end; ++i) {
        if (text[i] == quote) return i + 1 - at;
        if (quote == '"' && text[i] == '\\') ++i;
    }
    return 0;
}

struct Edit {
    std::size_t at, length;
    std::string with;
};

std::string comment(const FittedValue& value) {
    return "# " + value.key + ' ' + value.source +
           (value.before.empty() ? "" : "; was " + value.before) + '\n';
}

const Node* find_path(const Node& root, std::string_view path) {
    const Node* node = &root;
    while (!path.empty() && node != nullptr) {
        const std::size_t end = std::min(path.find('.'), path.size());
        node = node->kind == Node::Kind::table ? reading::find_field(*node, path.substr(0, end))
                                               : nullptr;
        path.remove_prefix(std::min(end + 1, path.size()));
    }
    return node;
}

bool edit_value(std::string_view text, const Node& node, const FittedValue& value,
                std::vector<Edit>& edits) {
    const std::size_t at = offset_of(text, node.place());
    const std::size_t length = value_length(text, at, node.kind);
    if (length == 0) return false;
    edits.push_back({at, length, value.value});
    edits.push_back({line_start(text, node.line), 0, comment(value)});
    return true;
}

/// A new line below the axis's header, [axes.y].
bool insert_value(std::string_view text, const Node& axis, const FittedValue& value,
                  std::vector<Edit>& edits) {
    const std::size_t start = line_start(text, axis.line);
    const std::size_t end = text.find('\n', start);
    const std::size_t mark = text.find_first_not_of(" \t", start);
    if (end == std::string_view::npos || mark >= end || text[mark] != '[') return false;
    edits.push_back({end + 1, 0, comment(value) + value.key + " = " + value.value + '\n'});
    return true;
}

}  // namespace

std::vector<FittedValue> fitted_values(const Machine& machine, const MotorModels& models,
                                       std::span<const AxisFit> fits) {
    std::vector<FittedValue> values;
    for (const AxisFit& fit : fits) {
        std::vector<FittedValue> own = Values(machine, models, fit).all();
        values.insert(values.end(), own.begin(), own.end());
    }
    return values;
}

planner::Result<std::string> with_fitted(std::string_view text, const std::string& file,
                                         std::span<const FittedValue> values) {
    const auto root = reading::parse_toml(text, file);
    if (!root) return root.diagnostics();
    std::vector<Edit> edits;
    std::vector<planner::Diagnostic> faults;
    for (const FittedValue& value : values) {
        const std::string axis_path = std::string("axes.") + lower(value.letter);
        const Node* axis = find_path(root.value(), axis_path);
        const Node* node = find_path(root.value(), axis_path + '.' + value.key);
        const bool whole_key = value.key.find('.') == std::string::npos;
        const bool done = node != nullptr                ? edit_value(text, *node, value, edits)
                          : axis != nullptr && whole_key ? insert_value(text, *axis, value, edits)
                                                         : false;
        if (!done)
            faults.push_back({"trial/cannot-write",
                              axis != nullptr ? axis->place() : planner::Place{file, 0, 0},
                              "no place to write " + axis_path + '.' + value.key,
                              "a header line [" + axis_path + "] with the axis's own values below",
                              "write " + value.key + " = " + value.value + " there yourself"});
    }
    if (!faults.empty()) return faults;
    std::stable_sort(edits.begin(), edits.end(),
                     [](const Edit& a, const Edit& b) { return a.at > b.at; });
    std::string out(text);
    for (const Edit& edit : edits)
        out.replace(edit.at, edit.length, edit.with);
    return out;
}

}  // namespace stepper_sim
