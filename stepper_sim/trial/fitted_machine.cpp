#include "stepper_sim/trial/fitted_machine.hpp"

#include <fmt/core.h>

#include <cmath>
#include <utility>

#include "planner/units/units_text.hpp"
#include "stepper_sim/machine/edit_toml.hpp"
#include "stepper_sim/machine/typical.hpp"

namespace stepper_sim::trial {

namespace {

using machine::reading::Node;
using machine::reading::TextEdit;

constexpr int kDigits = 4;

std::string sources(const AxisFit& fit) {
    std::vector<std::string> names;
    for (const auto& sheet : fit.sheets)
        names.push_back(planner::printable(std::filesystem::path(sheet.file).filename().string()));
    return planner::listed(names);
}

class Values {
  public:
    Values(const machine::Machine& machine, const run::MotorModels& models, const AxisFit& fit)
        : axis_(machine.axes[static_cast<std::size_t>(fit.slot)]),
          available_(models.available[static_cast<std::size_t>(fit.slot)]),
          fit_(fit),
          shared_(planner::motor_group(machine.kinematics, machine.program.axes,
                                       static_cast<std::size_t>(fit.slot))
                      .size() > 1) {}

    std::vector<FittedValue> all() {
        running_factor();
        if (!shared_) quantity(friction_unknown, "load.friction", axis_.load.friction);
        const bool rigid = dynamics::is_rigid(fit_.prior.nominal);
        if (!rigid)
            quantity(spring_unknown, "stiffness",
                     axis_.stiffness.value_or(planner::from_si<planner::Stiffness>(
                         machine::typical_stiffness(axis_.drive).nominal)));
        else if (!shared_)
            quantity(spring_unknown, "load.mass", axis_.load.mass);
        if (!rigid && fit_.learnt(damping_unknown)) {
            const double before = axis_.damping.value_or(dynamics::kDefaultModalDamping);
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
        const motor::AvailableTorque whole =
            motor::available_torque(axis_.motor, axis_.current, axis_.supply, 1.0);
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

    const machine::Axis& axis_;
    const motor::AvailableTorque& available_;
    const AxisFit& fit_;
    bool shared_;
    std::vector<FittedValue> values_;
};

std::string comment(const FittedValue& value) {
    return "# " + value.key + ' ' + value.source +
           (value.before.empty() ? "" : "; was " + value.before) + '\n';
}

bool edit_value(std::string_view text, const Node& node, const FittedValue& value,
                std::vector<TextEdit>& edits) {
    TextEdit edit = machine::reading::value_span(text, node);
    if (edit.length == 0) return false;
    edit.with = value.value;
    edits.push_back(std::move(edit));
    edits.push_back({machine::reading::line_start(text, node.line), 0, comment(value)});
    return true;
}

/// A new line below the axis's header, [axes.y].
bool insert_value(std::string_view text, const Node& axis, const FittedValue& value,
                  std::vector<TextEdit>& edits) {
    const std::size_t start = machine::reading::line_start(text, axis.line);
    const std::size_t end = text.find('\n', start);
    const std::size_t mark = text.find_first_not_of(" \t", start);
    if (end == std::string_view::npos || mark >= end || text[mark] != '[') return false;
    edits.push_back({end + 1, 0, comment(value) + value.key + " = " + value.value + '\n'});
    return true;
}

}  // namespace

std::vector<FittedValue> fitted_values(const machine::Machine& machine,
                                       const run::MotorModels& models,
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
    const auto root = machine::reading::parse_toml(text, file);
    if (!root) return root.diagnostics();
    std::vector<TextEdit> edits;
    std::vector<planner::Diagnostic> faults;
    for (const FittedValue& value : values) {
        const std::string axis_path = std::string("axes.") + planner::axis_key(value.letter);
        const Node* axis = machine::reading::find_path(root.value(), axis_path);
        const Node* node = machine::reading::find_path(root.value(), axis_path + '.' + value.key);
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
    return machine::reading::edited(text, std::move(edits));
}

}  // namespace stepper_sim::trial
