#include <fmt/core.h>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim {

namespace {

// A motor set within this of its rating is at its rating: dial and trimmer settings are no finer.
constexpr double kAtRating = 1.01;
// Common practice, no source: below half of the rated current microstep position suffers and torque is wasted
// (the makers' remark that torque nears detent torque there: Trinamic QSH4218 manual, section on current settings).
constexpr double kWeak = 0.5;

std::string amps(planner::Current current) { return planner::format_quantity(current, 3); }

void against_motor(const Axis& axis, Findings& findings) {
    const double set = axis.current.rms().value(), rated = axis.motor.rated_current.rms().value();
    if (set > rated * kAtRating || set < rated * kWeak) {
        const bool over = set > rated;
        Finding finding = words::about("motor-current", over ? Grade::fault : Grade::note, axis);
        finding.value = set;
        finding.limit = rated;
        finding.unit = "A";
        finding.message = fmt::format("{}: the driver is set to {} RMS ({} peak), {} the motor's rated {} RMS{}", axis.letter,
                                      amps(axis.current.rms()), amps(axis.current.peak()), over ? "above" : "under half of",
                                      amps(axis.motor.rated_current.rms()),
                                      over && axis.current.basis == CurrentBasis::rms && set < rated * 1.5 && set > rated * 1.35
                                          ? "; 1.41 times: was a peak read as RMS?"
                                          : "");
        if (over) finding.change = fmt::format("axes.{}.current = {{ rms = \"{}\" }}", static_cast<char>(axis.letter | 0x20), amps(axis.motor.rated_current.rms()));
        findings.push_back(std::move(finding));
    }
    if (axis.motor.rated_current.basis == CurrentBasis::not_stated) {
        Finding finding = words::about("motor-current", Grade::note, axis);
        finding.value = set;
        finding.limit = rated;
        finding.unit = "A";
        finding.message = fmt::format("{}: the maker of motor {} does not say whether {} is RMS or peak; taken as RMS", axis.letter,
                                      axis.motor.name, amps(axis.motor.rated_current.value));
        findings.push_back(std::move(finding));
    }
}

void against_driver(const Axis& axis, Findings& findings) {
    if (!axis.driver.current_max) {
        Finding finding = words::about("motor-current", Grade::note, axis);
        finding.message = fmt::format("{}: driver {} has no published current rating; check its heat yourself", axis.letter, axis.driver.name);
        findings.push_back(std::move(finding));
        return;
    }
    // A rating whose basis the maker leaves open is read as a peak: the cautious way for a driver.
    const RatedCurrent& rating = *axis.driver.current_max;
    const bool as_peak = rating.basis != CurrentBasis::rms;
    const double limit = rating.value.value();
    const double set = as_peak ? axis.current.peak().value() : axis.current.rms().value();
    if (set <= limit * kAtRating) return;
    Finding finding = words::about("motor-current", rating.basis == CurrentBasis::not_stated ? Grade::risk : Grade::fault, axis);
    finding.value = set;
    finding.limit = limit;
    finding.unit = "A";
    finding.message = fmt::format("{}: {} {} is above the {} {} of driver {}{}", axis.letter,
                                  planner::format_quantity(planner::from_si<planner::Current>(set), 3), as_peak ? "peak" : "RMS",
                                  amps(rating.value), as_peak ? "peak" : "RMS", axis.driver.name,
                                  rating.basis == CurrentBasis::not_stated ? " (basis not stated by the maker, read as peak)" : "");
    findings.push_back(std::move(finding));
}

}  // namespace

void check_motor_current(const CheckInput& input, Findings& findings) {
    for (const Axis& axis : input.machine.axes) {
        against_motor(axis, findings);
        against_driver(axis, findings);
    }
}

}  // namespace stepper_sim
