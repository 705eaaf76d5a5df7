#include "stepper_sim/cli/describe_text.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cctype>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/guesses.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/machine/read_parts.hpp"

namespace stepper_sim::cli {

namespace {

namespace fs = std::filesystem;

constexpr int kUsualMicrosteps = 16;
// Guess: the free length of belt or screw beyond the travel: carriage, clamps, bearings.
constexpr double kBeyondTravel_m = 0.1;

std::string in_quotes(const std::string& value) {
    std::string out = "\"";
    for (const char c : value)
        out += c == '"' || c == '\\' ? std::string("\\") + c : std::string(1, c);
    return out + "\"";
}

/// A line of the file with its comment in a column of its own.
void line(std::string& out, const std::string& text, const std::string& comment = {}) {
    constexpr std::size_t kColumn = 44;
    out += text;
    if (!comment.empty())
        out += std::string(text.size() < kColumn ? kColumn - text.size() : 2, ' ') + "# " + comment;
    out += '\n';
}

/// "assumed: 8 mm; lead screws of desktop printers have 2 to 12 mm (Guess)"
std::string assumed(const std::string& band) {
    return "assumed: " + band;
}

/// What describes a kind's axis that was not asked about.
struct Usual {
    const char *mass, *mass_band, *speed, *acceleration, *step;
};
Usual usual(char letter) {
    if (letter == 'e')
        return {"0.02 kg", "0.01 to 0.05 kg of filament (Guess)", "40 mm/s", "1000 mm/s^2",
                "1.5 mm/s"};
    return {"1.5 kg", "0.5 to 3 kg for what the screw lifts (Guess)", "8 mm/s", "100 mm/s^2",
            "0.5 mm/s"};
}

class Writer {
  public:
    Writer(const Described& machine, const std::vector<fs::path>& catalogue)
        : machine_(machine), catalogue_(catalogue) {}

    std::string text() {
        head();
        for (const DescribedAxis& axis : machine_.axes)
            of_axis(axis);
        foot();
        return std::move(out_);
    }

  private:
    void head() {
        line(out_,
             "# " + std::string(machine_.kind->says) +
                 ", as described. Values marked \"assumed\" were not given: put in your own.");
        line(out_, "# configs/every-key.toml shows all that a machine file may say.");
        line(out_, "name = " + in_quotes(machine_.name.empty() ? std::string(machine_.kind->name)
                                                               : machine_.name));
        line(out_, std::string("kinematics = ") +
                       (machine_.kind->crossed ? "\"crossed-belt\"" : "\"cartesian\""));
        line(out_, "controller = " + in_quotes(machine_.controller));
        line(out_, "\n[planning]");
        line(out_, "corner = \"speed-step\"",
             assumed("corners by a speed step; else \"deviation\""));
        line(out_, "lookahead_moves = 16", assumed("8 to 64 in small controllers (Guess)"));
        line(out_, "arc_tolerance = \"0.02 mm\"", assumed("0.002 to 0.05 mm (Guess)"));
    }

    void of_axis(const DescribedAxis& axis) {
        line(out_, fmt::format("\n[axes.{}]", axis.letter));
        if (axis.travel.empty())
            line(out_, "# no travel: it is endless");
        else
            line(out_, fmt::format("travel = [\"0 mm\", {}]", in_quotes(axis.travel)));
        const double travel_per_turn_m = drive(axis);
        motor(axis);
        line(out_, "driver = " + in_quotes(axis.driver));
        line(out_, "current = " + axis.current,
             axis.current.find("not_stated") != std::string::npos ? mark(axis, "current") : "");
        line(out_, "supply = " + in_quotes(axis.supply));
        const int microsteps = microsteps_of(axis);
        line(out_, fmt::format("microsteps = {}", microsteps),
             axis.microsteps == 0 ? assumed("1 to 256; what the driver's pins or settings say")
                                  : "");
        load(axis);
        line(out_,
             "stiffness = " + (axis.stiffness.empty() ? "\"guess\"" : in_quotes(axis.stiffness)),
             axis.stiffness.empty() ? mark(axis, "stiffness") : "");
        line(out_, "damping = \"guess\"", mark(axis, "damping"));
        settings(axis, microsteps, travel_per_turn_m);
    }

    /// Returns the travel per motor turn.
    double drive(const DescribedAxis& axis) {
        if (axis.teeth > 0) {
            std::string text = fmt::format("drive = {{ belt_pitch = {}, pulley_teeth = {}",
                                           in_quotes(axis.belt_pitch), axis.teeth);
            if (!axis.belt_type.empty()) text += ", belt_type = " + in_quotes(axis.belt_type);
            if (!axis.belt_width.empty()) text += ", belt_width = " + in_quotes(axis.belt_width);
            const bool spans = !axis.belt_type.empty() && !axis.belt_width.empty();
            if (spans) text += ", belt_span = " + beyond_travel(axis);
            line(out_, text + " }",
                 spans ? assumed("belt_span, the travel and 100 mm (Guess)") : "");
            return axis.pitch_m * axis.teeth;
        }
        if (axis.letter == 'e') {
            line(out_, "drive = { screw_lead = \"24 mm\", efficiency = 0.9, gear_ratio = 3.0 }",
                 assumed("a wheel that feeds 24 mm a turn, behind a 3:1 gear (Guess)"));
            return 0.024 / 3.0;
        }
        std::string text = "drive = { screw_lead = ", what;
        text += axis.lead.empty() ? "\"8 mm\"" : in_quotes(axis.lead);
        if (axis.lead.empty()) what = "screw_lead, 2 to 12 mm on printers (Guess); ";
        text += ", efficiency = " + (axis.efficiency.empty() ? "0.35" : axis.efficiency);
        if (axis.efficiency.empty())
            what += "efficiency, 0.25 to 0.6 sliding, 0.9 with balls (Guess); ";
        if (!axis.root.empty()) {
            text += ", screw_root = " + in_quotes(axis.root);
            text += ", screw_length = " +
                    (axis.length.empty() ? beyond_travel(axis) : in_quotes(axis.length));
            if (axis.length.empty()) what += "screw_length, the travel and 100 mm (Guess); ";
            what += "screw_ends, fixed-free, the slowest; ";
        }
        if (!what.empty()) what.resize(what.size() - 2);
        line(out_, text + " }", what.empty() ? "" : assumed(what));
        return axis.lead.empty() ? 0.008 : axis.lead_m;
    }

    static std::string beyond_travel(const DescribedAxis& axis) {
        return in_quotes(planner::format_quantity(
            planner::from_si<planner::Length>(axis.travel_m + kBeyondTravel_m)));
    }

    void motor(const DescribedAxis& axis) {
        const DescribedMotor& motor = axis.motor;
        line(out_, mark(axis, "motor"));
        if (!motor.part.empty()) {
            line(out_, "motor = " + in_quotes(motor.part));
            return;
        }
        const auto or_guess = [](const std::string& value) {
            return value.empty() ? std::string("\"guess\"") : in_quotes(value);
        };
        line(out_, fmt::format(
                       "motor = {{ name = \"frame {}, by its label\", frame = {}, step_angle = {}, "
                       "rated_current = {}, holding_torque = {}, resistance = {}, inductance = {}, "
                       "rotor_inertia = {}, source = {{ document = \"its label\", known = "
                       "\"read\" }} }}",
                       motor.frame, motor.frame, in_quotes(motor.angle), motor.current,
                       in_quotes(motor.torque), or_guess(motor.resistance),
                       or_guess(motor.inductance), or_guess(motor.inertia)));
    }

    /// Stands for the band of a guess until the file was read once.
    static std::string mark(const DescribedAxis& axis, std::string_view what) {
        return fmt::format("#@{}.{}@", axis.letter, what);
    }

    int microsteps_of(const DescribedAxis& axis) const {
        if (axis.microsteps > 0) return axis.microsteps;
        const auto driver = machine::read_driver(part_file(axis.driver, catalogue_));
        if (!driver || driver.value().microsteps.empty()) return kUsualMicrosteps;
        int best = driver.value().microsteps.front();
        for (const int offered : driver.value().microsteps)
            if (offered <= kUsualMicrosteps && (offered > best || best > kUsualMicrosteps))
                best = offered;
        return best;
    }

    int steps_per_turn(const DescribedAxis& axis) const {
        if (axis.motor.part.empty()) return axis.motor.steps_per_turn;
        const auto motor = machine::read_motor(part_file(axis.motor.part, catalogue_));
        return motor ? motor.value().steps_per_turn : axis.motor.steps_per_turn;
    }

    void load(const DescribedAxis& axis) {
        const Usual often = usual(axis.letter);
        std::string text =
            "load = { mass = " + in_quotes(axis.mass.empty() ? often.mass : axis.mass);
        text += ", friction = " + (axis.friction.empty() ? "\"guess\"" : in_quotes(axis.friction));
        if (axis.letter == 'z') text += ", vertical = true";
        std::string what =
            axis.mass.empty() ? assumed(std::string("mass, ") + often.mass_band) : "";
        if (axis.friction.empty()) what += (what.empty() ? "" : "; ") + mark(axis, "friction");
        line(out_, text + " }", what);
        if (machine_.kind->belts.empty())
            line(out_,
                 "# a tool that cuts needs more: friction = sliding force and the largest cutting "
                 "force");
    }

    void settings(const DescribedAxis& axis, int microsteps, double travel_per_turn_m) {
        const Usual often = usual(axis.letter);
        const bool given = !axis.speed.empty();
        std::string step = axis.step;
        if (given && step.empty())
            if (const auto speed = planner::parse_quantity<planner::Speed>(axis.speed))
                step = planner::format_quantity(speed.value() * 0.05, 2);
        if (step.empty()) step = often.step;
        const double steps_per_mm = steps_per_turn(axis) * microsteps / (1e3 * travel_per_turn_m);
        std::string what = "steps_per_mm from the mechanics";
        if (!given) what += "; " + assumed("the rest, usual for such an axis (Guess)");
        if (given && axis.step.empty())
            what += "; " + assumed("speed_step, a twentieth of the speed (Guess)");
        line(out_, "# " + what);
        line(out_, fmt::format(
                       "settings = {{ steps_per_mm = {}, max_speed = {}, max_acceleration = {}, "
                       "speed_step = {} }}",
                       planner::format_number(steps_per_mm, 8),
                       in_quotes(given ? axis.speed : often.speed),
                       in_quotes(given ? axis.acceleration : often.acceleration), in_quotes(step)));
    }

    void foot() {
        line(out_,
             "\n[program]                 # what your controller's G-code means beyond the open "
             "standard");
        line(out_, "rapid = \"traverse\"",
             assumed("G0 at top speed; \"feed\" where it moves at the feed rate"));
        line(out_, "units = \"mm\"", assumed("before the first G20 or G21"));
        if (machine_.kind->axes == "xy")
            line(out_, "ignore_axes = [\"z\"]",
                 "the pen or blade is lifted without a motor of its own");
        line(out_,
             "# [program.words] names the words that only your controller knows: "
             "configs/every-key.toml");
    }

    const Described& machine_;
    const std::vector<fs::path>& catalogue_;
    std::string out_;
};

/// The band of one kind of guess on one axis; empty: it is none.
std::string band_of(const std::vector<check::Guess>& guesses, char letter, std::string_view what) {
    std::string out, source;
    for (const check::Guess& guess : guesses) {
        const bool of_motor = guess.key == check::GuessKey::rotor_inertia ||
                              guess.key == check::GuessKey::resistance ||
                              guess.key == check::GuessKey::inductance;
        const bool meant = what == "motor"     ? of_motor
                           : what == "current" ? guess.key == check::GuessKey::current
                                               : check::name_of(guess.key) == what;
        if (std::tolower(guess.axis) != letter || !meant) continue;
        out += fmt::format("{}{} {}", out.empty() ? "" : ", ", check::name_of(guess.key),
                           check::band_text(guess));
        source = guess.source;  // one mark, one source
    }
    return out.empty() ? out : out + " (" + source + ")";
}

/// Puts the bands where their marks are; a line that is nothing but the mark of no guess goes.
void fill_in(const machine::Machine& machine, std::string& text) {
    const std::vector<check::Guess> guesses =
        check::guesses_of(machine, run::motor_models(machine));
    for (std::size_t at = text.find("#@"); at != std::string::npos; at = text.find("#@", at)) {
        const std::size_t end = text.find('@', at + 2) + 1;
        const std::string band =
            band_of(guesses, text[at + 2], std::string_view(text).substr(at + 4, end - at - 5));
        const bool whole = at == 0 || text[at - 1] == '\n';
        if (!band.empty())
            text.replace(at, end - at, (whole ? "# assumed: " : "assumed: ") + band);
        else if (whole)
            text.erase(at, end - at + 1);
        else
            text.replace(at, end - at, "no matter: rigid beside the rotor");
    }
}

}  // namespace

planner::Result<std::string> machine_text(const Described& machine,
                                          const std::vector<fs::path>& catalogue) {
    std::string text = Writer(machine, catalogue).text();
    const auto read = machine::read_machine_text(text, "described.toml", catalogue);
    if (!read) return read.diagnostics();
    fill_in(read.value(), text);
    return text;
}

}  // namespace stepper_sim::cli
