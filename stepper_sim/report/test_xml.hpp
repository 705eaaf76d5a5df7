/// The verdicts of a check as the XML that build servers read from test runs (testsuites, testsuite, testcase, failure, error): a suite for
/// each machine with each program, a case for each check. No standard fixes that format; only the elements all readers share are used.
#pragma once

#include <span>
#include <string>

#include "stepper_sim/check/check_pairs.hpp"

namespace stepper_sim::report {

/// Faults fail their case, with `strict` risks do too; what could not be judged is an error.
std::string test_xml(std::span<const check::PairReport> pairs, bool strict);

}  // namespace stepper_sim::report
