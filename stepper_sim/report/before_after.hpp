/// Two reports side by side: the same programs on the machine as it is and on the one that it would become. One list of what differs,
/// which text, Markdown, JSON and page show.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "stepper_sim/check/report.hpp"

namespace stepper_sim::report {

struct BeforeAfter {
    const check::Report &before, &after;
};

struct Difference {
    std::string what;  // "X max_speed"
    std::string before, after;
};

/// Verdict and time always, then every setting and figure that differs; what one machine lacks is "-".
std::vector<Difference> differences(const BeforeAfter& both);

/// Findings of one that the other has not at the same motor, as "grade: motor X: ...".
std::vector<std::string> findings_gone(const BeforeAfter& both);
std::vector<std::string> findings_new(const BeforeAfter& both);

std::string before_after_text(const BeforeAfter& both);
std::string before_after_markdown(const BeforeAfter& both);
/// Schema stepper_sim.before_after.1: both reports whole, and what differs.
std::string before_after_json(const BeforeAfter& both);

}  // namespace stepper_sim::report
