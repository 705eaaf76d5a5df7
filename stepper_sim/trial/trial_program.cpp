#include "stepper_sim/trial/trial_program.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "planner/units/units_text.hpp"

namespace stepper_sim::trial {

namespace {

constexpr double kMm = 1e3;
constexpr double kMm_min = 60e3;     // of a metre per second
constexpr double kSlowShare = 0.25;  // of the first rung's speed: rehearsal and ways to the mark
constexpr std::size_t kLongestLine = 200;
// Two runs that an eye tells apart: the second takes twice as long.
constexpr double kGentler = 0.25;
constexpr double kSeen_s = 2.0;
constexpr double kMostStrokes = 40.0;

std::string ascii(std::string text) {
    for (char& c : text)
        if (c < ' ' || c > '~' || c == '(' || c == ')') c = '.';
    return text.substr(0, kLongestLine);
}

std::string comment(const std::string& text) {
    return "(" + ascii(text) + ")\n";
}

std::string message(const std::string& text) {
    return "(MSG, " + ascii(text) + ")\n";
}

double way_length(const TrialRig& rig) {
    double square = 0.0;
    for (const double part : rig.way)
        square += part * part;
    return std::sqrt(square);
}

/// The machine's word for path acceleration, such as "M7408" and what stands before its value: "S", or "BY=" on a named line.
struct AccelerationWord {
    std::string word, value_key;
};

AccelerationWord acceleration_word(const machine::Machine& machine) {
    for (const auto& [word, rule] : machine.program.words)
        if (rule.effect == planner::WordEffect::set_acceleration) {
            const bool code = word.size() > 1 && word[1] >= '0' && word[1] <= '9';
            return {word, rule.value_key + (code ? "" : "=")};
        }
    return {};
}

std::string letters_of(const Trial& trial) {
    std::string letters;
    for (std::size_t i = 0; i < trial.rig.way.size(); ++i)
        if (trial.rig.way[i] != 0.0) letters += trial.rig.axes.letter(static_cast<int>(i));
    return planner::listed_letters(letters);
}

class Writer {
  public:
    Writer(const machine::Machine& machine, const Trial& trial)
        : machine_(machine), trial_(trial), word_(acceleration_word(machine)) {
        for (std::size_t i = 0; i < origin_m_.size(); ++i)
            origin_m_[i] =
                machine.work_offset_known ? machine.program.work_offset_m[i] : trial.reference_m[i];
    }

    std::string write() {
        head();
        rehearsal();
        if (sets_rungs()) try_word();
        for (std::size_t i = 0; i < trial_.rungs.size(); ++i)
            rung(i);
        if (!word_.word.empty()) {
            const auto s = static_cast<std::size_t>(trial_.rig.slot);
            set_acceleration(machine_.axes[s].settings.max_acceleration.value());
        }
        out_ +=
            message("Trial ended. Fill in the sheet and restore the settings of before.") + "M2\n";
        return std::move(out_);
    }

  private:
    void head() {
        out_ += comment(fmt::format("Trial: {} of axis {}, {}", to_word(trial_.motion.question),
                                    trial_.letter, trial_.machine_name));
        for (const std::string& caution : trial_cautions())
            out_ += comment(caution);
        out_ += "G21 G90 G94\n";
        for (const std::string& step : trial_preparations(machine_, trial_))
            out_ += message(step);
        out_ += message("All clear and emergency stop at hand?") + "M0\n";
    }

    double slow_m_s() const {
        const RungMotion motion = with_value(trial_.motion, trial_.rungs.front());
        if (motion.question != TrialQuestion::resonance) return kSlowShare * motion.speed_m_s;
        // Short strokes do not reach their feed.
        const double peak_m_s =
            0.5 * motion.step_m_s + 0.25 * motion.acceleration_m_s2 / trial_.rungs.back();
        return kSlowShare * std::min(motion.speed_m_s, peak_m_s);
    }

    void move_to(double along_m, double speed_m_s) {
        std::string line = "G1";
        for (std::size_t i = 0; i < trial_.rig.way.size(); ++i)
            if (trial_.rig.way[i] != 0.0)
                line += fmt::format(
                    " {}{:.4f}", trial_.rig.axes.letter(static_cast<int>(i)),
                    (trial_.reference_m[i] + trial_.rig.way[i] * along_m - origin_m_[i]) * kMm);
        out_ += line + fmt::format(" F{:.2f}\n", speed_m_s * way_length(trial_.rig) * kMm_min);
    }

    void rest(double seconds) {
        out_ += fmt::format("G4 P{}\n",
                            planner::format_number(seconds / machine_.program.dwell_unit_s, 6));
    }

    void set_acceleration(double axis_m_s2) {
        // In program units, which are millimetres here, along the path.
        out_ += fmt::format("{} {}{:.2f}\n", word_.word, word_.value_key,
                            axis_m_s2 * way_length(trial_.rig) * kMm);
    }

    bool sets_rungs() const {
        return trial_.motion.question == TrialQuestion::acceleration && !word_.word.empty();
    }

    /// The most that a rung goes to either side of the mark.
    double reach_m() const {
        double reach_m = 0.0;
        for (const double value : trial_.rungs)
            for (const Stroke& stroke : rung_strokes(with_value(trial_.motion, value)))
                reach_m = std::max(reach_m, std::fabs(stroke.to_m));
        return reach_m;
    }

    /// No more than the machine is set to now, nor than the first rung.
    double gentle_m_s2() const {
        const auto s = static_cast<std::size_t>(trial_.rig.slot);
        return std::min(with_value(trial_.motion, trial_.rungs.front()).acceleration_m_s2,
                        machine_.axes[s].settings.max_acceleration.value());
    }

    /// Whether the controller knows the word is seen before anything is raised: a controller that ignores it runs both runs alike.
    void try_word() {
        const double accel_m_s2 = gentle_m_s2();
        const double speed_m_s = with_value(trial_.motion, trial_.rungs.front()).speed_m_s;
        // Strokes that just reach the speed at most, so that a quarter of the acceleration takes twice the time.
        const double stroke_m = std::min(2.0 * reach_m(), speed_m_s * speed_m_s / accel_m_s2);
        const double stroke_s = 2.0 * std::sqrt(stroke_m / accel_m_s2);
        const int pairs =
            static_cast<int>(std::ceil(0.5 * std::min(kSeen_s / stroke_s, kMostStrokes)));
        const double run_s = 2.0 * pairs * stroke_s;
        out_ += message(fmt::format(
            "Now the word {} is tried: two runs of {} strokes, of about {:.1f} s and {:.1f} s",
            word_.word, 2 * pairs, run_s, run_s / std::sqrt(kGentler)));
        out_ += "M0\n";
        for (const double share : {1.0, kGentler}) {
            set_acceleration(share * accel_m_s2);
            for (int i = 0; i < pairs; ++i) {
                move_to(0.5 * stroke_m, speed_m_s);
                move_to(-0.5 * stroke_m, speed_m_s);
            }
            move_to(0.0, speed_m_s);
            rest(kTrialRest_s);
        }
        out_ += message(fmt::format(
            "Was the second run much slower? If not the controller ignores {}: end here and make "
            "the trial without it",
            word_.word));
        out_ += "M0\n";
        out_ += message(fmt::format(
            "Set max acceleration of {} to {}; the program sets each rung's own with {}",
            letters_of(trial_),
            rung_text(TrialQuestion::acceleration,
                      with_value(trial_.motion, trial_.rungs.back()).acceleration_m_s2),
            word_.word));
        out_ += "M0\n";
    }

    /// Slowly over all the room a rung takes.
    void rehearsal() {
        out_ += comment("Rehearsal: slowly over the whole stretch");
        if (!word_.word.empty()) set_acceleration(gentle_m_s2());
        move_to(0.0, slow_m_s());
        const double far_m = reach_m();
        for (const double to_m : {far_m, -far_m, 0.0})
            move_to(to_m, slow_m_s());
        out_ += message("Rehearsal done. Mark where the axis stands: the reference mark.") + "M0\n";
    }

    void rung(std::size_t index) {
        const double value = trial_.rungs[index];
        const std::string name =
            fmt::format("Rung {} of {}: {} {}", index + 1, trial_.rungs.size(),
                        to_word(trial_.motion.question), rung_text(trial_.motion.question, value));
        const std::string wanted = rung_preparation(machine_, trial_, value);
        out_ += message(name + (wanted.empty() ? "" : ". " + wanted)) + "M0\n";
        const RungMotion motion = with_value(trial_.motion, value);
        if (!word_.word.empty()) set_acceleration(motion.acceleration_m_s2);
        for (const Stroke& stroke : rung_strokes(motion)) {
            if (stroke.rest_before_s > 0.0) rest(stroke.rest_before_s);
            move_to(stroke.to_m, motion.speed_m_s);
        }
        rest(kTrialRest_s);
        out_ += message("On the mark? If not, steps are lost: end here, write it down.") + "M0\n";
    }

    const machine::Machine& machine_;
    const Trial& trial_;
    AccelerationWord word_;
    planner::AxisArray origin_m_{};
    std::string out_;
};

}  // namespace

std::vector<std::string> trial_cautions() {
    return {
        "Moving machines injure: keep clear, keep the emergency stop in reach.",
        "Rehearse without load, tool or part, then with the stated mass; stay within all ratings.",
        "Stop at the first loss. Local rules come first."};
}

std::vector<std::string> trial_preparations(const machine::Machine& machine, const Trial& trial) {
    std::vector<std::string> steps;
    const motor::MotorLoads loads = motor::motor_loads(machine);
    for (std::size_t i = 0; i < machine.axes.size(); ++i)
        if (trial.rig.way[i] != 0.0 && motor::weight_drives_back(loads, i))
            steps.push_back(
                fmt::format("Support {} so that it cannot fall: it may come down when it loses "
                            "steps or its motor is off.",
                            machine.axes[i].letter));
    if (machine.work_offset_known)
        steps.emplace_back("Home the machine.");
    else
        steps.push_back("Move " + letters_of(trial) +
                        " to the middle of travel and set program zero there.");
    const RungMotion top = with_value(trial.motion, trial.rungs.back());
    const std::string letters = letters_of(trial);
    if (trial.motion.question == TrialQuestion::acceleration &&
        !acceleration_word(machine).word.empty())
        steps.push_back("Leave max acceleration of " + letters +
                        " as it is: the program says when to set it, once it has shown that the "
                        "controller knows " +
                        acceleration_word(machine).word + ".");
    const auto s = static_cast<std::size_t>(trial.rig.slot);
    if (trial.motion.question == TrialQuestion::resonance &&
        (acceleration_word(machine).word.empty() ||
         top.acceleration_m_s2 > machine.axes[s].settings.max_acceleration.value()))
        steps.push_back("Set max acceleration of " + letters + " to " +
                        rung_text(TrialQuestion::acceleration, top.acceleration_m_s2) + ".");
    if (trial.motion.question == TrialQuestion::speed)
        steps.push_back("Set max speed of " + letters + " to " +
                        rung_text(TrialQuestion::speed, top.speed_m_s) + ".");
    if (machine.planning.path_acceleration)
        steps.emplace_back("Set path acceleration to at least that of the axis.");
    return steps;
}

std::string rung_preparation(const machine::Machine& machine, const Trial& trial, double value) {
    const std::string letters = letters_of(trial);
    if (trial.motion.question == TrialQuestion::step)
        return "Set speed step of " + letters + " to " + rung_text(TrialQuestion::step, value);
    if (trial.motion.question == TrialQuestion::acceleration &&
        acceleration_word(machine).word.empty())
        return "Set max acceleration of " + letters + " to " +
               rung_text(TrialQuestion::acceleration, value);
    return {};
}

std::string trial_program(const machine::Machine& machine, const Trial& trial) {
    return Writer(machine, trial).write();
}

}  // namespace stepper_sim::trial
