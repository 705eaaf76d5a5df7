#include <fmt/core.h>

#include <algorithm>
#include <numbers>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/candidates.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/motor/electrical.hpp"

namespace stepper_sim::check {

namespace {

// A motor set within this of its rating is at its rating: dial and trimmer settings are no finer.
constexpr double kAtRating = 1.01;

std::string amps(const planner::Current& current) {
    return planner::format_quantity(current, 3);
}

std::string_view mistake_words(motor::BasisMistake mistake) {
    switch (mistake) {
        case motor::BasisMistake::plate_rms_set_as_peak:
            return "; the numbers suggest that the plate's RMS current was set as a peak: 29 % of "
                   "the torque is given away";
        case motor::BasisMistake::plate_peak_set_as_rms:
            return "; the numbers suggest that a peak was read as RMS: 41 % too much";
        case motor::BasisMistake::driver_peak_set_as_rms:
            return "; the numbers suggest that the driver's peak limit was set as RMS: 41 % too "
                   "much";
        case motor::BasisMistake::none:
            break;
    }
    return {};
}

std::string_view grade_words(motor::CurrentGrade grade) {
    switch (grade) {
        case motor::CurrentGrade::weak:
            return "under half of it: microsteps lose their accuracy";
        case motor::CurrentGrade::limited_time:
            return "the makers allow that for a limited time only";
        case motor::CurrentGrade::seconds:
            return "the makers allow that for seconds only";
        case motor::CurrentGrade::never:
            return "no maker allows that";
        case motor::CurrentGrade::continuous:
            break;
    }
    return "within the rating";
}

/// A rating whose basis the maker leaves open is read as a peak: the cautious way for a driver.
bool rated_as_peak(const machine::RatedCurrent& rating) {
    return rating.basis != machine::CurrentBasis::rms;
}

void against_motor(const machine::Machine& machine, const machine::Axis& axis, Findings& findings) {
    const motor::CurrentUse use = motor::current_use(axis.motor, axis.current);
    const motor::BasisMistake mistake = motor::basis_mistake(axis.motor, axis.driver, axis.current);
    const bool over = use.share > kAtRating;
    if (over || use.grade == motor::CurrentGrade::weak || mistake != motor::BasisMistake::none) {
        Finding finding = words::about("motor-current", over ? Grade::fault : Grade::note, axis);
        finding.value = axis.current.rms().value();
        finding.limit = axis.motor.rated_current.rms().value();
        finding.unit = "A";
        finding.message = fmt::format(
            "{}: the driver is set to {} RMS ({} peak), {} of the motor's rated {} RMS and {} of "
            "its rated copper loss; {}{}",
            axis.letter, amps(axis.current.rms()), amps(axis.current.peak()),
            words::percent(use.share), amps(axis.motor.rated_current.rms()),
            words::percent(use.loss_share), grade_words(use.grade), mistake_words(mistake));
        const SettingChange highest = candidates::highest_current(machine, axis);
        if (over || (mistake == motor::BasisMistake::plate_rms_set_as_peak &&
                     highest.to.value > highest.now))
            candidates::add(finding.changes, {{highest}});
        findings.push_back(std::move(finding));
    }
    if (axis.motor.rated_current.basis == machine::CurrentBasis::not_stated) {
        Finding finding = words::about("motor-current", Grade::note, axis);
        finding.value = axis.current.rms().value();
        finding.limit = axis.motor.rated_current.value.value();
        finding.unit = "A";
        finding.message = fmt::format(
            "{}: the maker of motor {} does not say whether {} is RMS or peak; taken as RMS",
            axis.letter, axis.motor.name, amps(axis.motor.rated_current.value));
        findings.push_back(std::move(finding));
    }
}

void against_driver(const machine::Machine& machine, const machine::Axis& axis,
                    Findings& findings) {
    if (!axis.driver.current_max) {
        Finding finding = words::about("motor-current", Grade::note, axis);
        finding.message =
            fmt::format("{}: driver {} has no published current rating; check its heat yourself",
                        axis.letter, axis.driver.name);
        findings.push_back(std::move(finding));
        return;
    }
    const machine::RatedCurrent& rating = *axis.driver.current_max;
    const bool as_peak = rated_as_peak(rating);
    const double limit = rating.value.value();
    const double set = as_peak ? axis.current.peak().value() : axis.current.rms().value();
    if (set <= limit * kAtRating) return;
    Finding finding = words::about(
        "motor-current",
        rating.basis == machine::CurrentBasis::not_stated ? Grade::risk : Grade::fault, axis);
    finding.value = set;
    finding.limit = limit;
    finding.unit = "A";
    finding.message = fmt::format(
        "{}: {} {} is above the {} {} of driver {}{}", axis.letter,
        planner::format_quantity(planner::from_si<planner::Current>(set), 3),
        as_peak ? "peak" : "RMS", amps(rating.value), as_peak ? "peak" : "RMS", axis.driver.name,
        rating.basis == machine::CurrentBasis::not_stated
            ? " (basis not stated by the maker, read as peak)"
            : "");
    candidates::add(finding.changes, {{candidates::highest_current(machine, axis)}});
    findings.push_back(std::move(finding));
}

}  // namespace

void check_motor_current(const CheckInput& input, Findings& findings) {
    for (const machine::Axis& axis : input.machine.axes) {
        against_motor(input.machine, axis, findings);
        against_driver(input.machine, axis, findings);
    }
}

}  // namespace stepper_sim::check
