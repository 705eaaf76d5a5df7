#include "stepper_sim/report/test_xml.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <vector>

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/report/escape.hpp"

namespace stepper_sim::report {

namespace {

struct Counts {
    std::size_t cases = 0, failures = 0, errors = 0;
};

std::string attributes(const std::string& name, const Counts& counts) {
    return fmt::format(R"(name="{}" tests="{}" failures="{}" errors="{}")", html_text(name),
                       counts.cases, counts.failures, counts.errors);
}

bool fails(const check::Finding& finding, bool strict) {
    return finding.grade == check::Grade::fault || (finding.grade == check::Grade::risk && strict);
}

std::string failure(const check::Finding& finding) {
    return fmt::format("      <failure type=\"{}\" message=\"{}\"/>\n",
                       check::to_word(finding.grade), html_text(finding.message));
}

/// The cases of one pair; `suite` as an attribute's value.
std::string cases_of(const check::PairReport& pair, const std::string& suite, bool strict,
                     Counts& counts) {
    std::string out;
    const auto add = [&](std::string_view name, const std::string& inside) {
        ++counts.cases;
        out += fmt::format("    <testcase classname=\"{}\" name=\"{}\"", suite, name);
        out += inside.empty() ? "/>\n" : ">\n" + inside + "    </testcase>\n";
    };
    if (!pair.report) {
        std::string errors;
        for (const planner::Diagnostic& error : pair.errors)
            errors += fmt::format("      <error message=\"{}\"/>\n", html_text(to_line(error)));
        counts.errors += pair.errors.size();
        add("reading", errors);
        return out;
    }
    std::vector<std::string_view> names;
    for (const check::CheckRow& row : check::check_table())
        names.push_back(row.name);
    for (const check::Finding& finding :
         pair.report->findings)  // of no check: ends of guesses not seen
        if (std::find(names.begin(), names.end(), finding.check) == names.end())
            names.push_back(finding.check);
    for (const std::string_view name : names) {
        std::string failures;
        for (const check::Finding& finding : pair.report->findings)
            if (finding.check == name && fails(finding, strict)) failures += failure(finding);
        if (!failures.empty()) ++counts.failures;
        add(name, failures);
    }
    return out;
}

}  // namespace

std::string test_xml(std::span<const check::PairReport> pairs, bool strict) {
    Counts all;
    std::string suites;
    for (const check::PairReport& pair : pairs) {
        const std::string name =
            pair.program.empty() ? pair.machine : pair.machine + " " + pair.program;
        Counts counts;
        const std::string cases = cases_of(pair, html_text(name), strict, counts);
        suites += "  <testsuite " + attributes(name, counts) + ">\n" + cases + "  </testsuite>\n";
        all = {all.cases + counts.cases, all.failures + counts.failures,
               all.errors + counts.errors};
    }
    return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites " +
           attributes("stepper_sim check", all) + ">\n" + suites + "</testsuites>\n";
}

}  // namespace stepper_sim::report
