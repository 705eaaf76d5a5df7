#include "stepper_sim/trial/trial_sheet.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <filesystem>

#include "stepper_sim/machine/field_reader.hpp"
#include "stepper_sim/machine/text_file.hpp"

namespace stepper_sim::trial {

namespace {

using machine::reading::Faults;
using machine::reading::FieldReader;
using machine::reading::Node;
using machine::reading::Range;

// The bounds of machine files: only a wrong unit gets past them.
constexpr double kMaxStroke_m = 1000.0;
constexpr double kMinFrequency_Hz = 1.0, kMaxFrequency_Hz = 1e5;
constexpr double kMaxTorque_Nm = 1e4;
constexpr double kMaxRipples = 1000.0;
constexpr std::size_t kMostRungs = 1000;
// A rung is simulated stroke by stroke: no stroke may take longer than this.
constexpr double kLongestStroke_s = 30.0;
constexpr double kEndless_m = 1.0;  // taken for the travel of an axis without one

const std::array<std::string, kTrialQuestions> kQuestions{"speed", "acceleration", "step",
                                                          "resonance"};
const std::array<std::string, 4> kResults{"", "held", "lost", "resonance"};

const char* value_key(TrialQuestion question) {
    switch (question) {
        case TrialQuestion::speed:
            return "speed";
        case TrialQuestion::acceleration:
            return "acceleration";
        case TrialQuestion::step:
            return "speed_step";
        case TrialQuestion::resonance:
            break;
    }
    return "frequency";
}

double read_value(FieldReader& reader, TrialQuestion question) {
    const char* key = value_key(question);
    switch (question) {
        case TrialQuestion::speed:
        case TrialQuestion::step:
            return reader
                .need<planner::Speed>(key, machine::reading::above_zero_to(machine::kMaxSpeed_m_s))
                .value();
        case TrialQuestion::acceleration:
            return reader
                .need<planner::Acceleration>(
                    key, machine::reading::above_zero_to(machine::kMaxAcceleration_m_s2))
                .value();
        case TrialQuestion::resonance:
            break;
    }
    return reader
        .need<planner::Frequency>(key,
                                  machine::reading::from_to(kMinFrequency_Hz, kMaxFrequency_Hz))
        .value();
}

/// Answers of one machine fitted to another give values that look right. A sheet without the key is taken at its word.
void check_machine(FieldReader& reader, const machine::Machine& machine) {
    const auto name = reader.maybe<std::string>("machine");
    // Compared as sheets are written: trial_text.hpp cuts long names.
    const std::string own = planner::printable(machine.name);
    if (!name || planner::printable(*name) == own) return;
    const Node& node = *reader.find("machine");
    reader.faults().add({"trial/other-machine", node.place(), machine::reading::shown(node),
                         '"' + own + "\", the name in " + planner::printable(machine.file),
                         "fit it with the machine file its trial was made from"});
}

void read_axis(FieldReader& reader, const machine::Machine& machine, TrialSheet& sheet) {
    const auto letter = reader.need<std::string>("axis");
    const Node* node = reader.find("axis");
    std::string letters;
    for (std::size_t i = 0; i < machine.axes.size(); ++i) {
        sheet.letter = machine.axes[i].letter;
        sheet.slot = static_cast<int>(i);
        if (letter.size() == 1 &&
            std::toupper(static_cast<unsigned char>(letter[0])) == sheet.letter)
            return;
        letters += (letters.empty() ? "\"" : " or \"") + planner::axis_key(sheet.letter) + '"';
    }
    if (node != nullptr && node->kind == Node::Kind::text)
        reader.faults().add({"trial/no-such-axis", node->place(), machine::reading::shown(*node),
                             letters + ", an axis of " + planner::printable(machine.name), ""});
}

/// What a trial holds fixed; the value in question stands with each rung.
void read_conditions(FieldReader& reader, RungMotion& motion) {
    const auto asked = [&](TrialQuestion question) { return motion.question == question; };
    if (!asked(TrialQuestion::speed))
        motion.speed_m_s = reader
                               .need<planner::Speed>(
                                   "speed", machine::reading::above_zero_to(machine::kMaxSpeed_m_s))
                               .value();
    if (!asked(TrialQuestion::acceleration))
        motion.acceleration_m_s2 =
            reader
                .need<planner::Acceleration>(
                    "acceleration", machine::reading::above_zero_to(machine::kMaxAcceleration_m_s2))
                .value();
    if (!asked(TrialQuestion::step))
        motion.step_m_s = reader
                              .need<planner::Speed>(
                                  "speed_step", machine::reading::zero_to(machine::kMaxSpeed_m_s))
                              .value();
    if (!asked(TrialQuestion::resonance))
        motion.stroke_m =
            reader.need<planner::Length>("stroke", machine::reading::above_zero_to(kMaxStroke_m))
                .value();
    if (asked(TrialQuestion::acceleration) || asked(TrialQuestion::step)) {
        const auto frequency = [&](const char* key) {
            return reader
                .need<planner::Frequency>(
                    key, machine::reading::from_to(kMinFrequency_Hz, kMaxFrequency_Hz))
                .value();
        };
        motion.sweep_from_Hz = frequency("sweep_from");
        motion.sweep_to_Hz = frequency("sweep_to");
    }
}

bool is_empty_text(const Node* node) {
    return node != nullptr && node->kind == Node::Kind::text && node->text.empty();
}

template <class T>
std::optional<SheetNumber> maybe_number(FieldReader& reader, const char* key, const Range& range) {
    const Node* node = reader.find(key);
    if (node == nullptr || is_empty_text(node)) return std::nullopt;
    const auto value = reader.maybe<T>(key, range);
    if (!value) return std::nullopt;
    if constexpr (std::is_same_v<T, double>)
        return SheetNumber{*value, node->place()};
    else
        return SheetNumber{planner::to_si(*value), node->place()};
}

void read_torques(FieldReader& reader, TrialSheet& sheet) {
    const Node* list = reader.list("torque");
    if (list == nullptr) return;
    for (std::size_t i = 0; i < list->items.size() && !reader.faults().full(); ++i) {
        const std::string path = "torque[" + std::to_string(i + 1) + ']';
        if (!machine::reading::is_table(list->items[i], path, reader.faults())) continue;
        FieldReader point(list->items[i], path, reader.faults());
        SheetTorque torque;
        torque.speed_m_s = point
                               .need<planner::Speed>(
                                   "speed", machine::reading::above_zero_to(machine::kMaxSpeed_m_s))
                               .value();
        torque.torque_Nm =
            point.need<planner::Torque>("torque", machine::reading::above_zero_to(kMaxTorque_Nm))
                .value();
        torque.place = list->items[i].place();
        point.finish();
        sheet.torques.push_back(torque);
    }
}

void read_capture(FieldReader& reader, TrialSheet& sheet) {
    const Node* node = reader.find("capture");
    if (node == nullptr || is_empty_text(node)) return;
    const auto name = reader.maybe<std::string>("capture");
    if (!name) return;
    const std::filesystem::path beside = std::filesystem::path(sheet.file).parent_path();
    sheet.capture = SheetCapture{(beside / *name).string(), node->place()};
}

void read_rungs(FieldReader& reader, TrialSheet& sheet) {
    reader.require("rung");
    const Node* list = reader.list("rung");
    if (list == nullptr) return;
    if (list->items.empty() || list->items.size() > kMostRungs)
        reader.faults().add({"machine/out-of-range", list->place(),
                             std::to_string(list->items.size()) + " rungs", "1 to 1000 rungs", ""});
    for (std::size_t i = 0; i < list->items.size() && !reader.faults().full(); ++i) {
        const std::string path = "rung[" + std::to_string(i + 1) + ']';
        const Node& item = list->items[i];
        if (!machine::reading::is_table(item, path, reader.faults())) continue;
        FieldReader one(item, path, reader.faults());
        SheetRung rung;
        rung.value = read_value(one, sheet.motion.question);
        one.require("result");
        if (const auto result = one.choice("result", kResults))
            rung.result = static_cast<RungResult>(*result);
        const Node* answer = one.find("result");
        rung.place = answer != nullptr ? answer->place() : item.place();
        one.finish();
        sheet.rungs.push_back(rung);
    }
}

/// Strokes that take for ever or leave the travel are slips of the pen, and would be simulated.
void check_strokes(const Node& root, const machine::Axis& axis, const TrialSheet& sheet,
                   Faults& faults) {
    const double travel_m = axis.travel_min && axis.travel_max
                                ? axis.travel_max->value() - axis.travel_min->value()
                                : kEndless_m;
    for (const SheetRung& rung : sheet.rungs) {
        const RungMotion motion = with_value(sheet.motion, rung.value);
        const double longest_s =
            motion.stroke_m / motion.speed_m_s + motion.speed_m_s / motion.acceleration_m_s2;
        double reach_m = motion.stroke_m;
        for (const Stroke& stroke : rung_strokes(motion))
            reach_m = std::max(reach_m, 2.0 * std::fabs(stroke.to_m));
        const bool slow =
            motion.question != TrialQuestion::resonance && longest_s > kLongestStroke_s;
        if (!slow && reach_m <= travel_m) continue;
        faults.add({"machine/out-of-range", root.place(),
                    slow ? "a stroke that takes longer than 30 s" : "strokes beyond the travel",
                    "strokes as a trial of this machine makes them",
                    "compare with the sheet as it was written"});
        return;
    }
}

}  // namespace

bool TrialSheet::answered() const {
    return frequency_Hz || ripples || !torques.empty() ||
           std::any_of(rungs.begin(), rungs.end(),
                       [](const SheetRung& r) { return r.result != RungResult::not_run; });
}

planner::Result<TrialSheet> read_sheet_text(std::string_view text, const std::string& name,
                                            const machine::Machine& machine) {
    const auto root = machine::reading::parse_toml(text, name);
    if (!root) return root.diagnostics();
    Faults faults;
    FieldReader reader(root.value(), "", faults);
    TrialSheet sheet;
    sheet.file = name;
    check_machine(reader, machine);
    read_axis(reader, machine, sheet);
    reader.require("raise");
    if (const auto question = reader.choice("raise", kQuestions)) {
        sheet.motion.question = static_cast<TrialQuestion>(*question);
        read_conditions(reader, sheet.motion);
        read_rungs(reader, sheet);
        sheet.frequency_Hz = maybe_number<planner::Frequency>(
            reader, "measured_frequency", machine::reading::above_zero_to(kMaxFrequency_Hz));
        sheet.ripples =
            maybe_number<double>(reader, "ripples", machine::reading::from_to(0.5, kMaxRipples));
        read_torques(reader, sheet);
        read_capture(reader, sheet);
        reader.finish();
        if (faults.list.empty())
            check_strokes(root.value(), machine.axes[static_cast<std::size_t>(sheet.slot)], sheet,
                          faults);
    }
    if (faults.list.empty() && !sheet.answered())
        faults.add({"trial/no-answer",
                    {name, 0, 0},
                    "no answer",
                    R"(at least one rung with result = "held" or "lost", or a measured value)",
                    "run the trial and fill in the sheet"});
    if (!faults.list.empty()) return std::move(faults).in_order(name);
    return sheet;
}

planner::Result<TrialSheet> read_sheet(const std::string& file, const machine::Machine& machine) {
    const auto text = machine::reading::read_text_file(file);
    if (!text) return text.diagnostics();
    return read_sheet_text(text.value(), file, machine);
}

}  // namespace stepper_sim::trial
