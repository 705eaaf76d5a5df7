#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "planner/units/units_text.hpp"

namespace planner {
namespace {

template <class Q>
std::string written(double value_si) {
    return format_quantity(from_si<Q>(value_si));
}

TEST(FormatNumber, KeepsSignificantDigitsWithoutNeedlessZeros) {
    EXPECT_EQ(format_number(0.0), "0");
    EXPECT_EQ(format_number(-0.0), "0");
    EXPECT_EQ(format_number(180.0), "180");
    EXPECT_EQ(format_number(1.2), "1.2");
    EXPECT_EQ(format_number(-1.23456), "-1.235");
    EXPECT_EQ(format_number(123456.0), "123500");
    EXPECT_EQ(format_number(0.00123456, 2), "0.0012");
    EXPECT_EQ(format_number(99.996), "100");
    EXPECT_EQ(format_number(5.0, 0), "5");
    EXPECT_EQ(format_number(0.1, 99), "0.10000000000000001");
}

TEST(FormatNumber, UsesAnExponentOnlyOutsideTheReadableRange) {
    EXPECT_EQ(format_number(1e-4), "0.0001");
    EXPECT_EQ(format_number(9.9994e-5), "9.999e-5");
    EXPECT_EQ(format_number(999e6), "999000000");
    EXPECT_EQ(format_number(999999e3, 4), "1e9");
    EXPECT_EQ(format_number(1.5e9), "1.5e9");
    EXPECT_EQ(format_number(std::numeric_limits<double>::denorm_min(), 2), "4.9e-324");
}

TEST(FormatNumber, NamesWhatIsNotFinite) {
    EXPECT_EQ(format_number(std::numeric_limits<double>::infinity()), "inf");
    EXPECT_EQ(format_number(-std::numeric_limits<double>::infinity()), "-inf");
    EXPECT_EQ(format_number(std::nan("")), "nan");
}

TEST(FormatQuantity, ChoosesTheUnitAPersonWould) {
    EXPECT_EQ(written<Length>(0.3), "300 mm");
    EXPECT_EQ(written<Length>(25.0), "25 m");
    EXPECT_EQ(written<Length>(2e-6), "2 um");
    EXPECT_EQ(written<Length>(0.0), "0 mm");
    EXPECT_EQ(written<Time>(0.0042), "4.2 ms");
    EXPECT_EQ(written<Time>(1.9e-6), "1.9 us");
    EXPECT_EQ(written<Time>(6.5e-7), "650 ns");
    EXPECT_EQ(written<Speed>(0.18), "180 mm/s");
    EXPECT_EQ(written<Acceleration>(3.0), "3000 mm/s^2");
    EXPECT_EQ(written<Mass>(0.45), "0.45 kg");
    EXPECT_EQ(written<Mass>(0.05), "50 g");
    EXPECT_EQ(written<Force>(3.0), "3 N");
    EXPECT_EQ(written<Stiffness>(60e3), "60 N/mm");
    EXPECT_EQ(written<Frequency>(1200.0), "1.2 kHz");
    EXPECT_EQ(written<Frequency>(16e6), "16 MHz");
    EXPECT_EQ(written<Angle>(3.14159265358979323846), "180 deg");
    EXPECT_EQ(written<AngularSpeed>(2 * 3.14159265358979323846), "60 rpm");
    EXPECT_EQ(written<Torque>(0.35), "0.35 N m");
    EXPECT_EQ(written<Torque>(-0.05), "-5 N cm");
    EXPECT_EQ(written<Inertia>(35e-7), "35 g cm^2");
    EXPECT_EQ(written<Inertia>(3e-4), "3 kg cm^2");
    EXPECT_EQ(written<Current>(1.2), "1.2 A");
    EXPECT_EQ(written<Current>(0.05), "50 mA");
    EXPECT_EQ(written<Voltage>(24.0), "24 V");
    EXPECT_EQ(written<Resistance>(5.3), "5.3 ohm");
    EXPECT_EQ(written<Inductance>(0.0028), "2.8 mH");
}

TEST(FormatQuantity, NotFiniteValuesKeepAUnit) {
    EXPECT_EQ(written<Speed>(std::numeric_limits<double>::infinity()), "inf mm/s");
}

TEST(FormatDuration, SplitsLongTimesIntoHoursMinutesAndSeconds) {
    EXPECT_EQ(format_duration(3671.0), "1 h 1 min 11 s");
    EXPECT_EQ(format_duration(71.3), "1 min 11 s");
    EXPECT_EQ(format_duration(60.0), "1 min");
    EXPECT_EQ(format_duration(3600.0), "1 h");
    EXPECT_EQ(format_duration(3605.0), "1 h 0 min 5 s");
    EXPECT_EQ(format_duration(7260.0), "2 h 1 min");
    EXPECT_EQ(format_duration(-71.3), "-1 min 11 s");
}

TEST(FormatDuration, KeepsThreeDigitsOfShortTimes) {
    EXPECT_EQ(format_duration(4.27), "4.27 s");
    EXPECT_EQ(format_duration(59.94), "59.9 s");
    EXPECT_EQ(format_duration(59.96), "1 min");
    EXPECT_EQ(format_duration(0.00427), "4.27 ms");
    EXPECT_EQ(format_duration(0.0), "0 s");
}

TEST(FormatDuration, ExtremeTimesDoNotOverflow) {
    EXPECT_EQ(format_duration(1e300), "1e300 s");
    EXPECT_EQ(format_duration(std::nan("")), "nan ns");
    EXPECT_EQ(format_duration(std::numeric_limits<double>::infinity()), "inf s");
}

TEST(Listed, HasCommasAndOneLastWord) {
    EXPECT_EQ(listed({}), "");
    EXPECT_EQ(listed_letters("X"), "X");
    EXPECT_EQ(listed_letters("XY"), "X and Y");
    EXPECT_EQ(listed_letters("XYZ"), "X, Y and Z");
    EXPECT_EQ(listed(std::vector<std::string>{"a", "b"}, "or"), "a or b");
}

RC_GTEST_PROP(FormatNumber, SeventeenDigitsReadBackExactly, (double value)) {
    RC_PRE(std::isfinite(value));
    RC_ASSERT(parse_number(format_number(value, 17)).value() == value);
}

}  // namespace
}  // namespace planner
