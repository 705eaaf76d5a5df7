#include "stepper_sim/cli/describe_answers.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <numbers>

#include "planner/units/units_text.hpp"
#include "stepper_sim/machine/nearest.hpp"
#include "stepper_sim/machine/typical.hpp"

namespace stepper_sim::cli {

namespace {

namespace fs = std::filesystem;

constexpr auto kKinds = std::to_array<KindRow>({
    {"bed-printer", "a printer whose bed moves", "xyze", "xy", "z", "xy"},
    {"crossed-printer", "a printer with crossed belts", "xyze", "xy", "z", "xy", true},
    {"screw-router", "a router or mill on screws", "xyz", "", "xyz", "xyz"},
    {"belt-plotter", "a plotter or cutter on belts; its Z words are skipped", "xy", "xy", "", "xy"},
});

constexpr auto kQuestions = std::to_array<Question>({
    {"kind", "What kind of machine is it", "bed-printer", nullptr},
    {"travel", "How far does each axis travel", "220 mm; 220 mm; 250 mm",
     [](const KindRow& kind) {
         return kind.axes.substr(0, std::min<std::size_t>(3, kind.axes.size()));
     }},
    {"belt", "Belts: type or pitch, teeth of the pulley, width", "2mm, 20, 6 mm",
     [](const KindRow& kind) { return kind.belts; }},
    {"screw", "Screws: lead, root diameter and free length where you know them",
     "5 mm, 13 mm, 400 mm",
     [](const KindRow& kind) { return kind.belts.empty() ? kind.screws : std::string_view(); }},
    {"mass", "What moves with each axis weighs", "0.4 kg; 1.1 kg",
     [](const KindRow& kind) { return kind.weighed; }, true, true},
    {"motor", "Motors: a part of the catalogue, or frame, current and torque of the label",
     "17, 1.5 A rms, 0.4 N m", [](const KindRow& kind) { return kind.axes; }},
    {"driver", "Drivers: a part of the catalogue", "tmc2209",
     [](const KindRow& kind) { return kind.axes; }},
    {"current", "The drivers are set to a current, rms or peak", "1.2 A peak",
     [](const KindRow& kind) { return kind.axes; }},
    {"supply", "The drivers are fed with", "24 V", [](const KindRow& kind) { return kind.axes; }},
    {"controller", "The controller, a part of the catalogue", "avr-16mhz-line", nullptr},
    {"settings", "Settings meant to be flashed: top speed, acceleration, speed step at corners",
     "180 mm/s, 2500 mm/s^2, 9 mm/s", [](const KindRow& kind) { return kind.weighed; }, true, true},
    {"microsteps", "Microsteps", "16", [](const KindRow& kind) { return kind.axes; }, false},
    {"friction", "Force that keeps each axis moving", "3 N",
     [](const KindRow& kind) { return kind.axes; }, false},
    {"stiffness", "Stiffness between motor and load", "45 N/mm",
     [](const KindRow& kind) { return kind.axes; }, false},
    {"name", "A name for the machine", "My printer", nullptr, false},
});

std::string_view trimmed(std::string_view text) {
    const auto first = text.find_first_not_of(" \t\r\n");
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

std::vector<std::string> split(std::string_view text, char between) {
    std::vector<std::string> parts;
    while (true) {
        const auto at = text.find(between);
        parts.emplace_back(trimmed(text.substr(0, at)));
        if (at == std::string_view::npos) return parts;
        text.remove_prefix(at + 1);
    }
}

/// The parts of one value, taken one by one by their units.
class Parts {
  public:
    explicit Parts(std::string_view value) : left_(split(value, ',')) {}

    /// The first that reads as a quantity of this kind and above zero.
    template <class Q>
    std::string take(double* si = nullptr) {
        return take_if([&](const std::string& part) {
            const auto read = planner::parse_quantity<Q>(part);
            if (!read || !(planner::to_si(read.value()) > 0.0)) return false;
            if (si != nullptr) *si = planner::to_si(read.value());
            return true;
        });
    }
    template <class Fits>
    std::string take_if(Fits&& fits) {
        const auto found = std::find_if(left_.begin(), left_.end(), fits);
        if (found == left_.end()) return {};
        std::string part = *found;
        left_.erase(found);
        return part;
    }
    int take_count() {
        double count = 0.0;
        take_if([&](std::string part) {
            if (part.ends_with(" teeth")) part.resize(part.size() - 6);
            const auto read = planner::parse_number(part);
            if (!read || !(read.value() >= 1.0) || read.value() > 1e5 ||
                std::floor(read.value()) != read.value())
                return false;
            count = read.value();
            return true;
        });
        return static_cast<int>(count);
    }
    /// What nobody took; empty: all was.
    std::string left() const {
        for (const std::string& part : left_)
            if (!part.empty()) return part;
        return {};
    }

  private:
    std::vector<std::string> left_;
};

/// "{ peak = "1.2 A" }" of "1.2 A peak"; empty: no current.
std::string current_table(Parts& parts) {
    std::string table;
    parts.take_if([&](std::string part) {
        std::string basis = "not_stated";
        for (const std::string_view word : {"rms", "RMS", "peak"})
            if (part.ends_with(word)) {
                basis = word == "peak" ? "peak" : "rms";
                part.resize(part.size() - word.size());
                break;
            }
        const std::string number(trimmed(part));
        const auto read = planner::parse_quantity<planner::Current>(number);
        if (!read || !(read.value().value() > 0.0)) return false;
        table = fmt::format("{{ {} = \"{}\" }}", basis, number);
        return true;
    });
    return table;
}

/// "motors/NAME.toml" where there is such a part; else empty, with a hint.
std::string catalogue_part(std::string_view folder, const std::string& said,
                           std::span<const fs::path> catalogue, std::string& hint) {
    std::string name = said;
    std::transform(name.begin(), name.end(), name.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    if (!name.starts_with(std::string(folder) + "/")) name = std::string(folder) + "/" + name;
    if (!name.ends_with(".toml")) name += ".toml";
    if (!part_file(name, catalogue).empty()) return name;
    std::vector<std::string> known;
    for (const fs::path& root : catalogue) {
        std::error_code error;
        for (fs::directory_iterator at(root / folder, error), end; !error && at != end;
             at.increment(error))
            if (at->path().extension() == ".toml") known.push_back(at->path().stem().string());
    }
    std::sort(known.begin(), known.end());
    const std::string near = machine::reading::nearest(fs::path(name).stem().string(), known);
    hint = near.empty() ? fmt::format("'stepper_sim parts {}' lists them", folder)
                        : "did you mean '" + near + "'";
    return {};
}

/// Reads one value of one question into its axis; what is wrong, or nothing.
class Reader {
  public:
    Reader(std::span<const fs::path> catalogue) : catalogue_(catalogue) {}

    std::string read(std::string_view key, const std::string& value, DescribedAxis& axis) const {
        Parts parts(value);
        std::string expected = of(key, parts, axis);
        if (!expected.empty()) return expected;
        const std::string left = parts.left();
        return left.empty() ? "" : "nothing beside it, found '" + planner::printable(left) + "'";
    }

  private:
    std::string of(std::string_view key, Parts& parts, DescribedAxis& axis) const {
        const auto need = [](const std::string& got, const char* what) {
            return got.empty() ? std::string(what) : std::string();
        };
        if (key == "travel")
            return need(axis.travel = parts.take<planner::Length>(&axis.travel_m),
                        "a length such as 220 mm");
        if (key == "belt") return belt(parts, axis);
        if (key == "screw") return screw(parts, axis);
        if (key == "mass")
            return need(axis.mass = parts.take<planner::Mass>(), "a mass such as 0.4 kg");
        if (key == "motor") return motor(parts, axis.motor);
        if (key == "driver") {
            std::string hint;
            axis.driver = catalogue_part("drivers", parts.take_if([](auto&) { return true; }),
                                         catalogue_, hint);
            return axis.driver.empty() ? "a driver of the catalogue; " + hint : "";
        }
        if (key == "current")
            return need(axis.current = current_table(parts), "a current such as 1.2 A peak");
        if (key == "supply")
            return need(axis.supply = parts.take<planner::Voltage>(), "a voltage such as 24 V");
        if (key == "settings") {
            axis.speed = parts.take<planner::Speed>();
            axis.acceleration = parts.take<planner::Acceleration>();
            axis.step = parts.take<planner::Speed>();
            return axis.speed.empty() || axis.acceleration.empty()
                       ? "a speed and an acceleration such as 180 mm/s, 2500 mm/s^2"
                       : "";
        }
        if (key == "microsteps")
            return (axis.microsteps = parts.take_count()) == 0 ? "a whole number such as 16" : "";
        if (key == "friction")
            return need(axis.friction = parts.take<planner::Force>(), "a force such as 3 N");
        return need(axis.stiffness = parts.take<planner::Stiffness>(),
                    "a stiffness such as 45 N/mm");
    }

    static std::string belt(Parts& parts, DescribedAxis& axis) {
        const machine::BeltType* type = nullptr;
        parts.take_if(
            [&](const std::string& part) { return (type = machine::belt_type(part)) != nullptr; });
        if (type != nullptr) {
            axis.belt_type = type->name;
            axis.belt_pitch = planner::format_number(type->pitch_mm) + " mm";
            axis.pitch_m = 1e-3 * type->pitch_mm;
        } else {
            axis.belt_pitch = parts.take<planner::Length>(&axis.pitch_m);
            constexpr double kSame = 1e-6;
            if (std::fabs(axis.pitch_m - 2e-3) < kSame) axis.belt_type = "2mm";
        }
        axis.teeth = parts.take_count();
        axis.belt_width = parts.take<planner::Length>();
        return axis.belt_pitch.empty() || axis.teeth == 0
                   ? "the type (2mm, T2.5, T5, AT5, HTD3M, HTD5M) or pitch of the belt, the teeth "
                     "of its "
                     "pulley and its width, such as 2mm, 20, 6 mm"
                   : "";
    }

    static std::string screw(Parts& parts, DescribedAxis& axis) {
        axis.lead = parts.take<planner::Length>(&axis.lead_m);
        axis.root = parts.take<planner::Length>();
        axis.length = parts.take<planner::Length>();
        axis.efficiency = parts.take_if([](const std::string& part) {
            const auto read = planner::parse_number(part);
            return read && read.value() > 0.0 && read.value() <= 1.0;
        });
        return axis.lead.empty()
                   ? "the lead such as 5 mm, then root diameter, length and efficiency "
                     "where known"
                   : "";
    }

    std::string motor(Parts& parts, DescribedMotor& motor) const {
        motor.frame = parts.take_count();
        motor.current = current_table(parts);
        motor.torque = parts.take<planner::Torque>();
        if (motor.frame == 0 && motor.current.empty() && motor.torque.empty()) {
            std::string hint;
            motor.part = catalogue_part("motors", parts.take_if([](auto&) { return true; }),
                                        catalogue_, hint);
            return motor.part.empty() ? "a motor of the catalogue or frame size, current and "
                                        "holding torque of its label, "
                                        "such as 17, 1.5 A rms, 0.4 N m; " +
                                            hint
                                      : "";
        }
        double angle_rad = 0.0;
        const std::string angle = parts.take<planner::Angle>(&angle_rad);
        if (!angle.empty()) {
            motor.angle = angle;
            motor.steps_per_turn =
                static_cast<int>(std::lround(2.0 * std::numbers::pi / angle_rad));
        }
        motor.resistance = parts.take<planner::Resistance>();
        motor.inductance = parts.take<planner::Inductance>();
        motor.inertia = parts.take<planner::Inertia>();
        return motor.frame == 0 || motor.current.empty() || motor.torque.empty()
                   ? "frame size, current and holding torque of the label, such as 17, 1.5 A rms, "
                     "0.4 N m"
                   : "";
    }

    std::span<const fs::path> catalogue_;
};

/// The values by axis letter; `wrong` says what does not fit. `others_too`: more values than are asked for are those of the first axes.
std::map<char, std::string> by_axis(std::string_view text, std::string_view asked,
                                    std::string_view all, bool others_too, std::string& wrong) {
    std::map<char, std::string> values, named;
    std::vector<std::string> in_turn;
    for (const std::string& piece : split(text, ';')) {
        const auto sign = piece.find('=');
        if (sign == std::string::npos) {
            if (!piece.empty()) in_turn.push_back(piece);
            continue;
        }
        const std::string letter(trimmed(std::string_view(piece).substr(0, sign)));
        const char lower =
            letter.size() == 1
                ? static_cast<char>(std::tolower(static_cast<unsigned char>(letter[0])))
                : '?';
        if (all.find(lower) == std::string_view::npos)
            wrong = fmt::format("an axis of {} before '='", all);
        else
            named[lower] = trimmed(std::string_view(piece).substr(sign + 1));
    }
    if (others_too && in_turn.size() > asked.size() && in_turn.size() <= all.size())
        asked = all.substr(0, in_turn.size());
    if (in_turn.size() > 1 && in_turn.size() != asked.size())
        wrong = fmt::format("one value, or {} with ';' between for {}", asked.size(), asked);
    for (std::size_t i = 0; i < asked.size() && !in_turn.empty() && wrong.empty(); ++i)
        values[asked[i]] = in_turn[in_turn.size() > 1 ? i : 0];
    for (auto& [letter, value] : named)
        values[letter] = std::move(value);
    return values;
}

std::string kind_names() {
    std::string names;
    for (const KindRow& row : kKinds)
        names += (names.empty() ? "" : ", ") + std::string(row.name);
    return names;
}

/// A machine of this kind of which nothing is said.
Described blank(const KindRow* kind) {
    Described out;
    out.kind = kind;
    if (kind == nullptr) return out;
    for (const char letter : kind->axes) {
        out.axes.emplace_back();
        out.axes.back().letter = letter;
    }
    return out;
}

void read_answer(const Question& question, const std::string& answer,
                 std::span<const fs::path> catalogue, Described& out,
                 std::vector<std::string>& wrong) {
    const auto complain = [&](const std::string& what, const std::string& found) {
        wrong.push_back(fmt::format("--{}: found '{}', expected {}", question.key,
                                    planner::printable(found), what));
    };
    if (question.key == "kind") {
        if (out.kind == nullptr) complain("one of " + kind_names(), answer);
    } else if (question.key == "name") {
        out.name = planner::printable(std::string(trimmed(answer)), 60);
    } else if (question.key == "controller") {
        std::string hint;
        out.controller =
            catalogue_part("controllers", std::string(trimmed(answer)), catalogue, hint);
        if (out.controller.empty()) complain("a controller of the catalogue; " + hint, answer);
    } else if (out.kind != nullptr) {
        std::string misfit;
        const auto values =
            by_axis(answer, question.axes(*out.kind), out.kind->axes, question.others_too, misfit);
        if (!misfit.empty()) complain(misfit, answer);
        for (DescribedAxis& axis : out.axes) {
            const auto value = values.find(axis.letter);
            if (value == values.end()) continue;
            const std::string expected = Reader(catalogue).read(question.key, value->second, axis);
            if (!expected.empty() &&
                (wrong.empty() || !wrong.back().starts_with(fmt::format(
                                      "--{}: found '{}'", question.key, value->second))))
                complain(expected, value->second);
        }
        for (const char letter : question.axes(*out.kind))
            if (question.needed && misfit.empty() && !values.contains(letter))
                complain(fmt::format("a value for {} too", letter), answer);
    }
}

}  // namespace

const KindRow* kind_of(const Answers& answers) {
    const auto said = answers.find("kind");
    if (said == answers.end()) return nullptr;
    const auto* const found = std::find_if(kKinds.begin(), kKinds.end(), [&](const KindRow& row) {
        return row.name == trimmed(said->second);
    });
    return found == kKinds.end() ? nullptr : found;
}

std::span<const KindRow> machine_kinds() {
    return kKinds;
}

std::span<const Question> questions() {
    return kQuestions;
}

fs::path part_file(std::string_view name, std::span<const fs::path> catalogue) {
    for (const fs::path& folder : catalogue) {
        std::error_code error;
        if (fs::is_regular_file(folder / name, error)) return folder / name;
    }
    return {};
}

Described described(const Answers& answers, std::span<const fs::path> catalogue,
                    std::vector<std::string>& wrong) {
    Described out = blank(kind_of(answers));
    std::string missing;
    for (const Question& question : kQuestions) {
        const auto answer = answers.find(question.key);
        if (answer != answers.end()) {
            read_answer(question, answer->second, catalogue, out, wrong);
            continue;
        }
        const bool of_it =
            question.axes == nullptr || out.kind == nullptr || !question.axes(*out.kind).empty();
        if (question.needed && of_it)
            missing += fmt::format("{}--{}", missing.empty() ? "" : ", ", question.key);
    }
    if (!missing.empty())
        wrong.push_back("found nothing for " + missing +
                        "; give them as options, or start it at a terminal, where it asks");
    return out;
}

std::string wrong_with(const Question& question, const Answers& answers,
                       std::span<const fs::path> catalogue) {
    Answers these;
    for (const std::string_view key : {std::string_view("kind"), question.key})
        if (const auto found = answers.find(key); found != answers.end())
            these.insert_or_assign(std::string(key), found->second);
    std::vector<std::string> wrong;
    Described out = blank(kind_of(these));
    read_answer(question, these[std::string(question.key)], catalogue, out, wrong);
    return wrong.empty() ? "" : wrong.front();
}

}  // namespace stepper_sim::cli
