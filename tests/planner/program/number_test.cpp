#include "planner/program/number.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <bit>
#include <cstdlib>
#include <string>

namespace planner::test {
namespace {

rc::Gen<std::string> digits(int most) {
    return rc::gen::mapcat(rc::gen::inRange(0, most + 1), [](int count) {
        return rc::gen::container<std::string>(static_cast<std::size_t>(count),
                                               rc::gen::inRange('0', static_cast<char>('9' + 1)));
    });
}

// strtod() rounds correctly; it would read exponents, of which there are none here.
RC_GTEST_PROP(Number, IsTheNearestDoubleHoweverLong, ()) {
    const std::string sign = *rc::gen::element<std::string>("", "-", "+");
    const std::string text =
        sign + *digits(12) + *rc::gen::element<std::string>("", ".") + *digits(12);
    const std::string rest = *rc::gen::element<std::string>("", "\n", " Y1", ".5", "Y12345678",
                                                            "\xFF\xFF\xFF", ";12345678");
    const std::string line = text + rest;
    const char* const begin = line.data();
    const char* const end = begin + line.size();
    for (const NumberScan scan : {scan_number(begin, end), scan_short_number(begin, end)}) {
        if (scan.next == nullptr) {
            RC_ASSERT(text.find_first_of("0123456789") == std::string::npos);
            continue;
        }
        const std::string read(begin, scan.next);
        RC_ASSERT(read.size() >= text.size() && (read == text || rest == ".5"));
        RC_ASSERT(std::bit_cast<std::uint64_t>(scan.value) ==
                  std::bit_cast<std::uint64_t>(std::strtod(read.c_str(), nullptr)));
    }
}

RC_GTEST_PROP(Number, ShortAndGeneralScanAgreeOnAnyBytes, (const std::string& bytes)) {
    const std::string text = *rc::gen::oneOf(
        rc::gen::just(bytes), rc::gen::container<std::string>(
                                  rc::gen::elementOf(std::string("0123456789.-+ \n\xC6\xFF/:"))));
    if (text.empty()) {
        return;
    }
    const char* const end = text.data() + text.size();
    const NumberScan a = scan_number(text.data(), end);
    const NumberScan b = scan_short_number(text.data(), end);
    RC_ASSERT(a.next == b.next);
    RC_ASSERT(std::bit_cast<std::uint64_t>(a.value) == std::bit_cast<std::uint64_t>(b.value));
}

}  // namespace
}  // namespace planner::test
