#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "planner/units/units_text.hpp"

namespace planner {
namespace {

constexpr double kSevenDigits = 5e-10;  // half a unit of the last one of 7.061552e-3

constexpr double kPi = 3.14159265358979323846;
// One multiplication and one division, each rounded once.
constexpr double kTwoRoundings = 4.5e-16;

template <class Q>
double si_of(std::string_view text) {
    const Result<Q> result = parse_quantity<Q>(text);
    EXPECT_TRUE(result) << text << ": "
                        << (result.diagnostics().empty() ? "" : to_line(result.diagnostics()[0]));
    return result ? to_si(result.value()) : std::nan("");
}

template <class Q>
Diagnostic fault_of(std::string_view text) {
    const Result<Q> result = parse_quantity<Q>(text, {"m.toml", 3, 7});
    EXPECT_FALSE(result) << text;
    return result ? Diagnostic{} : result.diagnostics().front();
}

void expect_si(double actual, double expected) {
    EXPECT_NEAR(actual, expected, std::fabs(expected) * kTwoRoundings);
}

TEST(ParseQuantity, MillimetresAreTheNearestDouble) {
    EXPECT_EQ(si_of<Length>("2 mm"), 0.002);
    EXPECT_EQ(si_of<Length>("0.02 mm"), 0.00002);
    EXPECT_EQ(si_of<Time>("650 ns"), 650e-9);
    EXPECT_EQ(si_of<Inertia>("35 g cm^2"), 35e-7);
}

TEST(ParseQuantity, EveryLengthAndTimeUnitHasItsFactor) {
    expect_si(si_of<Length>("2 cm"), 0.02);
    expect_si(si_of<Length>("2 m"), 2);
    expect_si(si_of<Length>("2 um"), 2e-6);
    expect_si(si_of<Length>("2 in"), 0.0508);
    expect_si(si_of<Length>("2 inch"), 0.0508);
    expect_si(si_of<Time>("2 s"), 2);
    expect_si(si_of<Time>("2 ms"), 2e-3);
    expect_si(si_of<Time>("2 us"), 2e-6);
    expect_si(si_of<Time>("2 min"), 120);
    expect_si(si_of<Time>("2 h"), 7200);
}

TEST(ParseQuantity, EverySpeedAndAccelerationUnitHasItsFactor) {
    expect_si(si_of<Speed>("180 mm/s"), 0.18);
    expect_si(si_of<Speed>("2 m/s"), 2);
    expect_si(si_of<Speed>("600 mm/min"), 0.01);
    expect_si(si_of<Speed>("6 m/min"), 0.1);
    expect_si(si_of<Speed>("100 in/min"), 100 * 0.0254 / 60);
    expect_si(si_of<Speed>("1 in/s"), 0.0254);
    expect_si(si_of<Acceleration>("3000 mm/s^2"), 3);
    expect_si(si_of<Acceleration>("9.8 m/s^2"), 9.8);
    expect_si(si_of<Acceleration>("100 in/s^2"), 2.54);
}

TEST(ParseQuantity, EveryMechanicalUnitHasItsFactor) {
    expect_si(si_of<Mass>("0.45 kg"), 0.45);
    expect_si(si_of<Mass>("450 g"), 0.45);
    expect_si(si_of<Force>("3 N"), 3);
    expect_si(si_of<Force>("3 mN"), 3e-3);
    expect_si(si_of<Force>("3 kN"), 3e3);
    expect_si(si_of<Stiffness>("60 N/mm"), 60e3);
    expect_si(si_of<Stiffness>("60 N/m"), 60);
    expect_si(si_of<Stiffness>("60 kN/m"), 60e3);
    expect_si(si_of<Stiffness>("6 N/um"), 6e6);
    expect_si(si_of<Inertia>("2 kg m^2"), 2);
    expect_si(si_of<Inertia>("2 kg cm^2"), 2e-4);
    expect_si(si_of<Inertia>("2 kg mm^2"), 2e-6);
}

// NIST SP 811 (2008), appendix B.8, from memory: lb, lbf, kgf, lbf in, lbf ft, lbf/in to the digits there.
TEST(ParseQuantity, PoundsAndInchesHaveTheirFactors) {
    expect_si(si_of<Mass>("2 lb"), 0.90718474);
    expect_si(si_of<Mass>("16 oz"), 0.45359237);
    EXPECT_NEAR(si_of<Force>("1 lbf"), 4.448222, 5e-7);
    EXPECT_NEAR(si_of<Force>("16 ozf"), 4.448222, 5e-7);
    expect_si(si_of<Force>("1 kgf"), 9.80665);
    expect_si(si_of<Force>("500 gf"), 4.903325);
    EXPECT_NEAR(si_of<Torque>("1 lbf in"), 0.1129848, 5e-8);
    EXPECT_NEAR(si_of<Torque>("1 lbf ft"), 1.355818, 5e-7);
    expect_si(si_of<Torque>("1 kgf cm"), 0.0980665);
    EXPECT_NEAR(si_of<Stiffness>("1 lbf/in"), 175.1268, 5e-5);
    expect_si(si_of<Stiffness>("1 kgf/mm"), 9806.65);
    expect_si(si_of<Length>("10 TPI"), 0.00254);
    expect_si(si_of<Length>("12.7 TPI"), 0.002);
}

TEST(ParseQuantity, NoThreadsPerInchAreNoLength) {
    const auto none = parse_quantity<Length>("0 TPI", {});
    ASSERT_FALSE(none);
    EXPECT_EQ(none.diagnostics().front().id, "units/not-finite");
}

TEST(ParseNumber, PercentIsAHundredth) {
    EXPECT_DOUBLE_EQ(parse_number("20 %").value(), 0.2);
    EXPECT_DOUBLE_EQ(parse_number("20%").value(), 0.2);
    EXPECT_FALSE(parse_number("20 %%"));
}

TEST(ParseQuantity, EveryTorqueUnitHasItsFactor) {
    expect_si(si_of<Torque>("2 N m"), 2);
    expect_si(si_of<Torque>("48 N cm"), 0.48);
    expect_si(si_of<Torque>("270 mN m"), 0.27);
    expect_si(si_of<Torque>("1 kg cm"), 0.0980665);
    // 1 ozf in = 7.061552e-3 N m: NIST SP 811 (2008), appendix B.8, from memory; seven digits
    // there.
    EXPECT_NEAR(si_of<Torque>("1 oz in"), 7.061552e-3, kSevenDigits);
}

TEST(ParseQuantity, EveryTurningUnitHasItsFactor) {
    expect_si(si_of<Angle>("180 deg"), kPi);
    expect_si(si_of<Angle>("2 rad"), 2);
    expect_si(si_of<AngularSpeed>("60 rpm"), 2 * kPi);
    expect_si(si_of<AngularSpeed>("60 r/min"), 2 * kPi);
    expect_si(si_of<AngularSpeed>("1 turn/s"), 2 * kPi);
    expect_si(si_of<AngularSpeed>("180 deg/s"), kPi);
    expect_si(si_of<AngularSpeed>("2 rad/s"), 2);
}

TEST(ParseQuantity, EveryElectricalUnitHasItsFactor) {
    expect_si(si_of<Current>("1.2 A"), 1.2);
    expect_si(si_of<Current>("800 mA"), 0.8);
    expect_si(si_of<Voltage>("24 V"), 24);
    expect_si(si_of<Voltage>("2 kV"), 2000);
    expect_si(si_of<Voltage>("2 mV"), 0.002);
    expect_si(si_of<Resistance>("5.3 ohm"), 5.3);
    expect_si(si_of<Resistance>("5 mohm"), 0.005);
    expect_si(si_of<Resistance>("5 kohm"), 5000);
    expect_si(si_of<Inductance>("2 H"), 2);
    expect_si(si_of<Inductance>("2.8 mH"), 0.0028);
    expect_si(si_of<Inductance>("28 uH"), 28e-6);
    expect_si(si_of<Frequency>("48 Hz"), 48);
    expect_si(si_of<Frequency>("250 kHz"), 250e3);
    expect_si(si_of<Frequency>("16 MHz"), 16e6);
    expect_si(si_of<Frequency>("1 GHz"), 1e9);
}

TEST(ParseQuantity, UsualSpellingsOfOneUnitAgree) {
    for (const char* text :
         {"48 N cm", "48 Ncm", "48Ncm", "48 N*cm", "48 N * cm", "48 N\u00B7cm"}) {
        EXPECT_EQ(si_of<Torque>(text), 0.48) << text;
    }
    for (const char* text :
         {"68 g cm^2", "68 g cm2", "68 gcm2", "68 g*cm^2", "68 g\u00B7cm\u00B2"}) {
        EXPECT_EQ(si_of<Inertia>(text), 68e-7) << text;
    }
    for (const char* text : {"2 us", "2 \u00B5s", "2 \u03BCs"}) {
        EXPECT_EQ(si_of<Time>(text), 2e-6) << text;
    }
    for (const char* text : {"5 ohm", "5 \u03A9", "5 \u2126", " 5 ohm\t"}) {
        EXPECT_EQ(si_of<Resistance>(text), 5.0) << text;
    }
    EXPECT_EQ(si_of<Acceleration>("3000 mm/s2"), 3.0);
    EXPECT_EQ(si_of<Acceleration>("3000 mm/s\u00B2"), 3.0);
}

TEST(ParseQuantity, SignsAndExponentsAreRead) {
    EXPECT_EQ(si_of<Length>("-5 mm"), -0.005);
    EXPECT_EQ(si_of<Length>("+5 mm"), 0.005);
    EXPECT_EQ(si_of<Length>(".5 mm"), 0.0005);
    EXPECT_EQ(si_of<Length>("5. mm"), 0.005);
    EXPECT_EQ(si_of<Length>("5e-1 mm"), 0.0005);
    EXPECT_EQ(si_of<Length>("1e3mm"), 1.0);
}

TEST(ParseQuantity, RefusesTextWithoutANumber) {
    for (const char* text : {"", "  ", "mm", "fast", "-", "+-5 mm", "++5 mm", "- 5 mm"}) {
        EXPECT_EQ(fault_of<Length>(text).id, "units/no-number") << text;
    }
    EXPECT_EQ(to_line(fault_of<Length>("wide")),
              "m.toml:3:7: found 'wide', expected a length such as \"8 mm\"");
}

TEST(ParseQuantity, RefusesNumberWithoutUnit) {
    EXPECT_EQ(fault_of<Speed>("80").id, "units/no-unit");
    EXPECT_EQ(to_line(fault_of<Speed>("80")),
              "m.toml:3:7: found '80', expected a speed such as \"150 mm/s\"; add the unit");
}

TEST(ParseQuantity, RefusesWhatNoDoubleHolds) {
    for (const char* text :
         {"nan mm", "inf mm", "-inf mm", "infinity mm", "1e400 mm", "-1e999 mm"}) {
        EXPECT_EQ(fault_of<Length>(text).id, "units/not-finite") << text;
    }
    EXPECT_EQ(fault_of<Frequency>("1e308 GHz").id, "units/not-finite");
}

TEST(ParseQuantity, UnknownUnitListsTheKnownOnes) {
    EXPECT_EQ(to_line(fault_of<Current>("12 parsecs")),
              "m.toml:3:7: found '12 parsecs', expected a current such as \"1.2 A\"; units known "
              "here: A, mA");
    for (const char* text : {"5 MM", "5 mm mm", "5 m m", "5 mm^2", "0x10 mm", "5 mm\n5", "5 -mm"}) {
        EXPECT_EQ(fault_of<Length>(text).id, "units/unknown-unit") << text;
    }
    EXPECT_EQ(fault_of<Torque>("5 N**m").id, "units/unknown-unit");
}

TEST(ParseQuantity, CaseOfPrefixesMatters) {
    EXPECT_EQ(fault_of<Inductance>("2.8 MH").id, "units/unknown-unit");
    EXPECT_EQ(fault_of<Torque>("2.8 MN m").id, "units/unknown-unit");
}

TEST(ParseQuantity, DecimalCommaIsNamed) {
    EXPECT_EQ(fault_of<Current>("1,2 A").hint, "write a decimal point, not a comma");
}

TEST(ParseQuantity, WrongKindNamesBothKinds) {
    EXPECT_EQ(fault_of<Length>("5 mm/s").id, "units/wrong-kind");
    EXPECT_EQ(to_line(fault_of<Length>("5 mm/s")),
              "m.toml:3:7: found '5 mm/s', expected a length such as \"8 mm\"; 'mm/s' is the unit "
              "of a speed");
    EXPECT_EQ(fault_of<Inductance>("5 MHz").hint, "'MHz' is the unit of a frequency");
    EXPECT_EQ(fault_of<Force>("5 N m").hint, "'N m' is the unit of a torque");
}

TEST(ParseQuantity, LongAndBinaryTextGivesAShortLine) {
    EXPECT_LE(to_line(fault_of<Length>("5 " + std::string(1000000, 'm'))).size(), 300U);
    EXPECT_EQ(fault_of<Length>("5 \x01\xff").found, "5 ??");
}

TEST(ParseNumber, ReadsNumbersAndRefusesUnits) {
    EXPECT_EQ(parse_number(" 0.2 ").value(), 0.2);
    EXPECT_EQ(parse_number("-1e3").value(), -1000.0);
    EXPECT_EQ(parse_number("0.2 mm").diagnostics()[0].id, "units/unexpected-text");
    EXPECT_EQ(parse_number("0.2 mm").diagnostics()[0].hint, "leave out 'mm'");
    EXPECT_EQ(parse_number("x").diagnostics()[0].id, "units/no-number");
    EXPECT_EQ(parse_number("nan").diagnostics()[0].id, "units/not-finite");
}

template <class Q>
void round_trip(double value) {
    const Q quantity = from_si<Q>(value);
    const std::string text = format_quantity(quantity, 17);
    const Result<Q> back = parse_quantity<Q>(text);
    RC_ASSERT(static_cast<bool>(back));
    // Four roundings by the unit's factors and one by the 17th digit.
    RC_ASSERT(std::fabs(to_si(back.value()) - value) <= std::fabs(value) * 3 * kTwoRoundings);
}

RC_GTEST_PROP(RoundTrip, EveryKindReadsBackWhatItWrites, ()) {
    const auto mantissa = *rc::gen::inRange<std::int64_t>(-999999999, 1000000000);
    const auto exponent = *rc::gen::inRange(-20, 4);
    const double value = static_cast<double>(mantissa) * std::pow(10.0, exponent);
    round_trip<Length>(value);
    round_trip<Time>(value);
    round_trip<Speed>(value);
    round_trip<Acceleration>(value);
    round_trip<Mass>(value);
    round_trip<Force>(value);
    round_trip<Stiffness>(value);
    round_trip<Frequency>(value);
    round_trip<Angle>(value);
    round_trip<AngularSpeed>(value);
    round_trip<Torque>(value);
    round_trip<Inertia>(value);
    round_trip<Current>(value);
    round_trip<Voltage>(value);
    round_trip<Resistance>(value);
    round_trip<Inductance>(value);
}

RC_GTEST_PROP(RoundTrip, ArbitraryTextNeverCrashesTheReader, (const std::string& text)) {
    const Result<Torque> result = parse_quantity<Torque>(text);
    if (result) {
        RC_ASSERT(std::isfinite(to_si(result.value())));
    } else {
        RC_ASSERT(result.diagnostics().size() == 1U);
    }
}

}  // namespace
}  // namespace planner
