#include <fmt/core.h>

#include "planner/units/units_text.hpp"
#include "stepper_sim/capture/capture.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim::capture {
namespace {

void judge_channels(CaptureReport& report, const OtherChannels& channels) {
    check::Finding finding;
    finding.check = "channels";
    finding.grade = check::Grade::fault;
    finding.unit = "1";
    if (!channels.alike.empty()) {
        finding.value = static_cast<double>(channels.alike.size());
        finding.message = fmt::format(
            "the trace does not fit the program with its lines as named; with others it does, in "
            "more than one way: motors {} move alike. Name their lines with --channel as they are "
            "wired",
            planner::listed_letters(channels.alike));
        report.findings.push_back(std::move(finding));
        return;
    }
    std::string options;
    std::vector<std::string> exchanged;
    for (const OtherChannels::Motor& motor : channels.motors) {
        exchanged.push_back(fmt::format("motor {} steps on {} with its direction on {}",
                                        motor.letter, motor.step, motor.direction));
        const auto letter = planner::axis_key(motor.letter);
        options += fmt::format(" --channel step.{}={} --channel direction.{}={}", letter,
                               motor.step, letter, motor.direction);
    }
    for (const std::string& line : channels.inverts)
        options += " --invert " + line;
    finding.value = static_cast<double>(channels.motors.size());
    finding.message = fmt::format(
        "the trace does not fit the program with its lines as named, but with exactly these "
        "exchanged: {}; it is compared so here. Exchange the wires, or say{}",
        planner::listed(exchanged), options);
    report.findings.push_back(std::move(finding));
}

void judge_settings(CaptureReport& report, const machine::Machine& machine,
                    const OtherSettings& settings) {
    check::Finding finding;
    finding.check = "settings";
    finding.grade = check::Grade::fault;
    finding.unit = "1";
    finding.value = settings.in_place;
    finding.limit = 1.0;
    std::vector<std::string> as_well;
    for (const SettingScales& scales : settings.others)
        as_well.push_back(scales_text(scales, machine));
    std::string others = planner::listed(as_well, "or");
    if (!others.empty()) others = "; the trace does not tell this from " + others;
    finding.message = fmt::format(
        "the trace looks like this program with {}: {} of the steps are in place then, nine in ten "
        "of them within {}{}; it is compared so here. Say in the machine file what ran, or set "
        "the controller as the file says",
        scales_text(settings.scales, machine), check::words::percent(settings.in_place),
        check::words::interval(settings.within_s), others);
    report.findings.push_back(std::move(finding));
}

}  // namespace

void judge_explained(const machine::Machine& machine, CaptureReport& report) {
    if (report.channels) judge_channels(report, *report.channels);
    if (report.settings) judge_settings(report, machine, *report.settings);
}

}  // namespace stepper_sim::capture
