#include <algorithm>
#include <cmath>

#include "planner/program/interpreter.hpp"
#include "planner/units/units_text.hpp"

namespace planner {
namespace {

constexpr double kMostRepeats = 10000.0;
constexpr double kMostPecks = 100000.0;  // on one line, over all its repeats
constexpr int kBackBoring = 870;
constexpr double kRounding_m = 1e-9;  // of a sum of pecks: no peck of its own
constexpr double kPeckGap_m =
    0.000254;  // RS274/NGC: a peck resumes 0.010 inch above where the last one stopped

constexpr char depth_letter_of(Plane plane) {
    switch (plane) {
        case Plane::zx:
            return 'Y';
        case Plane::yz:
            return 'X';
        case Plane::xy:
            break;
    }
    return 'Z';
}

constexpr bool pecks(int tenths) {
    return tenths == 730 || tenths == 830;
}

}  // namespace

bool Interpreter::cycle(const Line& line, std::vector<Command>& out) {
    const bool back_boring = state_.cycle.tenths == kBackBoring;
    if (back_boring) {
        used_ |= letter_bit('I') | letter_bit('J') | letter_bit('K');
    }
    used_ |= letter_bit('R') | letter_bit('Q') | letter_bit('P') | letter_bit('L');
    const char depth_letter = depth_letter_of(state_.plane);
    const int depth_slot = settings_.axes.slot(depth_letter);
    if (depth_slot < 0) {
        return fail("program/missing-axis", 1, "a drilling cycle",
                    std::string("an axis ") + depth_letter,
                    "describe the axis, or choose another plane with G17, G18 or G19");
    }
    if (state_.inverse_time) {
        return fail("program/inverse-time-feed", 1, "a drilling cycle under G93",
                    "G94 before drilling cycles");
    }
    if (back_boring && state_.plane != Plane::xy) {
        return fail("program/cycle-words", 1, "back boring in another plane than XY", "G17");
    }
    if (!cycle_words(line, depth_letter)) {
        return false;
    }
    const auto slot = static_cast<std::size_t>(depth_slot);
    const CycleState& words = state_.cycle;
    const double old_m = state_.position_m[slot];
    Hole hole{slot, 0.0, 0.0, 0.0, 0.0};
    hole.clearance_m = words.clearance_m + (state_.relative ? old_m : state_.offset_m[slot]);
    hole.bottom_m = words.bottom_m + (state_.relative ? hole.clearance_m : state_.offset_m[slot]);
    hole.counterbore_m =
        words.counterbore_m + (state_.relative ? hole.bottom_m : state_.offset_m[slot]);
    hole.retract_m =
        state_.return_to_clearance ? hole.clearance_m : std::max(old_m, hole.clearance_m);
    if (hole.bottom_m > hole.clearance_m) {
        log_.spot(SpotKind::incomplete_cycle);
    }
    int repeats = 1;
    if (!cycle_repeats(line, hole.clearance_m - hole.bottom_m, repeats)) {
        return false;
    }
    if (!state_.feed_given) {
        log_.spot(SpotKind::feed_never_set);
    }
    if (old_m < hole.clearance_m) {
        move_slot(slot, hole.clearance_m, true, out);
    }
    for (int i = 0; i < repeats; ++i) {
        AxisArray over_m = target();
        over_m[slot] = state_.position_m[slot];
        emit_move(emit(CommandKind::line, out), over_m, true);
        move_slot(slot, hole.clearance_m, true, out);
        drill(hole, out);
    }
    return true;
}

bool Interpreter::cycle_words(const Line& line, char depth_letter) {
    CycleState& words = state_.cycle;
    if (line.has(depth_letter)) {
        words.bottom_m = state_.metres(line.value(depth_letter));
        words.has_bottom = true;
    }
    if (line.has('R')) {
        words.clearance_m = state_.metres(line.value('R'));
        words.has_clearance = std::fabs(line.value('R')) <= kMaxAxisWord;
    }
    if (line.has('Q')) {
        words.peck_m = state_.metres(line.value('Q'));
        words.has_peck = words.peck_m > 0.0;
    }
    if (line.has('P')) {
        words.dwell_s = std::max(0.0, line.value('P')) * settings_.dwell_unit_s;
    }
    if (!words.has_bottom || !words.has_clearance) {
        return fail("program/cycle-words", 1, "a drilling cycle without its depth or R plane",
                    std::string("a ") + depth_letter + " word and an R word");
    }
    if (words.tenths == kBackBoring) {
        words.side_first_m = line.has('I') ? state_.metres(line.value('I')) : words.side_first_m;
        words.side_second_m = line.has('J') ? state_.metres(line.value('J')) : words.side_second_m;
        words.counterbore_m = line.has('K') ? state_.metres(line.value('K')) : words.counterbore_m;
        words.has_counterbore = words.has_counterbore || line.has('K');
        if (!words.has_counterbore) {
            return fail("program/cycle-words", 1, "back boring without its counterbore",
                        "K, where the counterbore ends, and I and J, how far to step aside");
        }
    }
    if (pecks(words.tenths) && !words.has_peck) {
        return fail("program/cycle-words", 1, "a peck cycle without its step", "a Q word above 0");
    }
    return true;
}

bool Interpreter::cycle_repeats(const Line& line, double depth_m, int& repeats) {
    const double wanted = line.has('L') ? line.value('L') : 1.0;
    if (!(wanted >= 0.0 && wanted <= kMostRepeats) || wanted != std::floor(wanted)) {
        return fail("program/cycle-words", line.column('L'), 'L' + format_number(wanted, 8),
                    "a whole number of repeats up to 10000");
    }
    const double steps = pecks(state_.cycle.tenths) ? depth_m / state_.cycle.peck_m : 1.0;
    if (steps * std::max(1.0, wanted) > kMostPecks) {
        return fail("program/cycle-words", line.has('Q') ? line.column('Q') : 1,
                    format_number(steps * std::max(1.0, wanted)) + " pecks on one line",
                    "at most 100000", "check the units of Q");
    }
    repeats = static_cast<int>(wanted);
    return true;
}

void Interpreter::move_slot(std::size_t slot, double target_m, bool traverse,
                            std::vector<Command>& out) {
    AxisArray end_m = state_.position_m;
    if (end_m[slot] == target_m) {
        return;
    }
    end_m[slot] = target_m;
    emit_move(emit(CommandKind::line, out), end_m, traverse);
}

void Interpreter::drill(const Hole& hole, std::vector<Command>& out) {
    const int word = state_.cycle.tenths;
    if (word == kBackBoring) {
        return back_bore(hole, out);
    }
    const bool dwells = word == 820 || word == 860 || word == 880 || word == 890;
    const bool feeds_out = word == 840 || word == 850 || word == 890;
    const bool stops_spindle = word == 840 || word == 860 || word == 880;
    if (pecks(word)) {
        peck(hole, out);
    } else {
        move_slot(hole.slot, hole.bottom_m, false, out);
    }
    if (dwells) {
        emit(CommandKind::dwell, out).seconds = state_.cycle.dwell_s;
    }
    if (stops_spindle) {
        emit(CommandKind::wait, out);
    }
    if (feeds_out) {
        move_slot(hole.slot, hole.clearance_m, false, out);
    }
    move_slot(hole.slot, hole.retract_m, true, out);
    if (stops_spindle) {
        emit(CommandKind::wait, out);
    }
}

// The tool goes down beside the hole's axis, bores upwards and leaves as it came; the spindle stands
// still, turned so that the tool fits through, wherever it is aside.
void Interpreter::back_bore(const Hole& hole, std::vector<Command>& out) {
    move_aside(1.0, out);
    emit(CommandKind::wait, out);
    move_slot(hole.slot, hole.bottom_m, true, out);
    move_aside(-1.0, out);
    emit(CommandKind::wait, out);
    move_slot(hole.slot, hole.counterbore_m, false, out);
    move_slot(hole.slot, hole.bottom_m, false, out);
    emit(CommandKind::wait, out);
    move_aside(1.0, out);
    move_slot(hole.slot, hole.retract_m, true, out);
    move_aside(-1.0, out);
    emit(CommandKind::wait, out);
}

// By I and J away from the hole's axis (1), or back (-1).
void Interpreter::move_aside(double direction, std::vector<Command>& out) {
    AxisArray end_m = state_.position_m;
    const auto shift = [&](char letter, double by_m) {
        const int slot = settings_.axes.slot(letter);
        if (slot >= 0) {
            end_m[static_cast<std::size_t>(slot)] += direction * by_m;
        }
    };
    shift('X', state_.cycle.side_first_m);
    shift('Y', state_.cycle.side_second_m);
    emit_move(emit(CommandKind::line, out), end_m, true);
}

// G83 clears the hole after each peck, G73 only breaks the chip.
void Interpreter::peck(const Hole& hole, std::vector<Command>& out) {
    const double step_m = state_.cycle.peck_m;
    double depth_m = hole.clearance_m;
    while (depth_m > hole.bottom_m) {
        depth_m -= step_m;
        if (depth_m - hole.bottom_m < kRounding_m) {
            depth_m = hole.bottom_m;
        }
        move_slot(hole.slot, depth_m, false, out);
        if (depth_m <= hole.bottom_m) {
            break;
        }
        if (state_.cycle.tenths == 830) {
            move_slot(hole.slot, hole.clearance_m, true, out);
        }
        move_slot(hole.slot, std::min(hole.clearance_m, depth_m + kPeckGap_m), true, out);
    }
}

}  // namespace planner
