#include "planner/units/unit_table.hpp"

#include <array>
#include <string>

namespace planner::unit_table {
namespace {

// Exact by definition: the international inch (0.0254 m) and pound (0.45359237 kg, 16 ounces) of
// 1959, standard gravity (9.80665 m/s^2, 3rd CGPM 1901).
constexpr double kInch_um = 25400.0;
constexpr double kGravity_m_s2 = 9.80665;
constexpr double kOunce_kg = 0.028349523125;
constexpr double kPound_kg = 0.45359237;
constexpr double kPi = 3.14159265358979323846;

constexpr auto kLength = std::to_array<Unit>({{"mm", 1, 1e3},
                                              {"cm", 1, 1e2},
                                              {"m"},
                                              {"um", 1, 1e6},
                                              {"in", kInch_um, 1e6},
                                              {"inch", kInch_um, 1e6},
                                              // Threads per inch: the lead of a single start.
                                              {"TPI", kInch_um, 1e6, true}});
constexpr auto kTime = std::to_array<Unit>(
    {{"s"}, {"ms", 1, 1e3}, {"us", 1, 1e6}, {"ns", 1, 1e9}, {"min", 60}, {"h", 3600}});
constexpr auto kSpeed = std::to_array<Unit>({{"mm/s", 1, 1e3},
                                             {"m/s"},
                                             {"mm/min", 1, 6e4},
                                             {"m/min", 1, 60},
                                             {"in/min", kInch_um, 6e7},
                                             {"in/s", kInch_um, 1e6}});
constexpr auto kAcceleration =
    std::to_array<Unit>({{"mm/s^2", 1, 1e3}, {"m/s^2"}, {"in/s^2", kInch_um, 1e6}});
constexpr auto kMass =
    std::to_array<Unit>({{"kg"}, {"g", 1, 1e3}, {"lb", kPound_kg}, {"oz", kOunce_kg}});
constexpr auto kForce = std::to_array<Unit>({{"N"},
                                             {"mN", 1, 1e3},
                                             {"kN", 1e3},
                                             {"lbf", kPound_kg* kGravity_m_s2},
                                             {"ozf", kOunce_kg* kGravity_m_s2},
                                             {"kgf", kGravity_m_s2},
                                             {"gf", kGravity_m_s2, 1e3}});
constexpr auto kStiffness =
    std::to_array<Unit>({{"N/mm", 1e3},
                         {"N/um", 1e6},
                         {"N/m"},
                         {"kN/m", 1e3},
                         {"lbf/in", kPound_kg* kGravity_m_s2 * 1e6, kInch_um},
                         {"kgf/mm", kGravity_m_s2 * 1e3}});
constexpr auto kFrequency = std::to_array<Unit>({{"Hz"}, {"kHz", 1e3}, {"MHz", 1e6}, {"GHz", 1e9}});
constexpr auto kAngle = std::to_array<Unit>({{"deg", kPi, 180}, {"rad"}});
constexpr auto kAngularSpeed = std::to_array<Unit>({{"rpm", kPi, 30},
                                                    {"r/min", kPi, 30},
                                                    {"rad/s"},
                                                    {"deg/s", kPi, 180.0},
                                                    {"turn/s", 2.0 * kPi}});
// "kg cm" on a motor's data sheet is the weight of a kilogram on an arm of a centimetre; "oz in"
// likewise.
constexpr auto kTorque =
    std::to_array<Unit>({{"N m"},
                         {"N cm", 1, 1e2},
                         {"mN m", 1, 1e3},
                         {"kg cm", kGravity_m_s2, 1e2},
                         {"oz in", kOunce_kg* kGravity_m_s2* kInch_um, 1e6},
                         {"ozf in", kOunce_kg* kGravity_m_s2* kInch_um, 1e6},
                         {"kgf cm", kGravity_m_s2, 1e2},
                         {"lbf in", kPound_kg* kGravity_m_s2* kInch_um, 1e6},
                         {"lbf ft", 12.0 * kPound_kg* kGravity_m_s2* kInch_um, 1e6}});
constexpr auto kInertia =
    std::to_array<Unit>({{"g cm^2", 1, 1e7}, {"kg m^2"}, {"kg cm^2", 1, 1e4}, {"kg mm^2", 1, 1e6}});
constexpr auto kCurrent = std::to_array<Unit>({{"A"}, {"mA", 1, 1e3}});
constexpr auto kVoltage = std::to_array<Unit>({{"V"}, {"kV", 1e3}, {"mV", 1, 1e3}});
constexpr auto kResistance = std::to_array<Unit>({{"ohm"}, {"mohm", 1, 1e3}, {"kohm", 1e3}});
constexpr auto kInductance = std::to_array<Unit>({{"H"}, {"mH", 1, 1e3}, {"uH", 1, 1e6}});

constexpr auto kLengthChoice = std::to_array<Choice>({{10, "m"}, {1e-5, "mm"}, {0, "um"}});
constexpr auto kTimeChoice =
    std::to_array<Choice>({{1, "s"}, {1e-3, "ms"}, {1e-6, "us"}, {0, "ns"}});
constexpr auto kSpeedChoice = std::to_array<Choice>({{0, "mm/s"}});
constexpr auto kAccelerationChoice = std::to_array<Choice>({{0, "mm/s^2"}});
constexpr auto kMassChoice = std::to_array<Choice>({{0.1, "kg"}, {0, "g"}});
constexpr auto kForceChoice = std::to_array<Choice>({{1e4, "kN"}, {0.1, "N"}, {0, "mN"}});
constexpr auto kStiffnessChoice = std::to_array<Choice>({{100, "N/mm"}, {0, "N/m"}});
constexpr auto kFrequencyChoice =
    std::to_array<Choice>({{1e9, "GHz"}, {1e6, "MHz"}, {1e3, "kHz"}, {0, "Hz"}});
constexpr auto kAngleChoice = std::to_array<Choice>({{0, "deg"}});
constexpr auto kAngularSpeedChoice = std::to_array<Choice>({{0, "rpm"}});
constexpr auto kTorqueChoice = std::to_array<Choice>({{0.1, "N m"}, {0, "N cm"}});
constexpr auto kInertiaChoice = std::to_array<Choice>({{1e-4, "kg cm^2"}, {0, "g cm^2"}});
constexpr auto kCurrentChoice = std::to_array<Choice>({{0.1, "A"}, {0, "mA"}});
constexpr auto kVoltageChoice = std::to_array<Choice>({{1e3, "kV"}, {0.1, "V"}, {0, "mV"}});
constexpr auto kResistanceChoice =
    std::to_array<Choice>({{1e3, "kohm"}, {0.1, "ohm"}, {0, "mohm"}});
constexpr auto kInductanceChoice = std::to_array<Choice>({{1, "H"}, {1e-4, "mH"}, {0, "uH"}});

// In the order of Kind.
constexpr std::array<KindRow, kKindCount> kRows = {{
    {"a length", "8 mm", kLength, kLengthChoice},
    {"a time", "2 us", kTime, kTimeChoice},
    {"a speed", "150 mm/s", kSpeed, kSpeedChoice},
    {"an acceleration", "3000 mm/s^2", kAcceleration, kAccelerationChoice},
    {"a mass", "0.45 kg", kMass, kMassChoice},
    {"a force", "3 N", kForce, kForceChoice},
    {"a stiffness", "60 N/mm", kStiffness, kStiffnessChoice},
    {"a frequency", "48 Hz", kFrequency, kFrequencyChoice},
    {"an angle", "1.8 deg", kAngle, kAngleChoice},
    {"a turning speed", "150 rpm", kAngularSpeed, kAngularSpeedChoice},
    {"a torque", "48 N cm", kTorque, kTorqueChoice},
    {"an inertia", "68 g cm^2", kInertia, kInertiaChoice},
    {"a current", "1.2 A", kCurrent, kCurrentChoice},
    {"a voltage", "24 V", kVoltage, kVoltageChoice},
    {"a resistance", "5.3 ohm", kResistance, kResistanceChoice},
    {"an inductance", "2.8 mH", kInductance, kInductanceChoice},
}};

constexpr std::size_t index_of(Kind kind) {
    return static_cast<std::size_t>(kind);
}

struct Spelling {
    std::string_view written;
    std::string_view means;
};
// Both code points of the micro and the ohm sign: U+00B5 and U+03BC, U+03A9 and U+2126.
constexpr auto kSpellings = std::to_array<Spelling>({{"\u00B5", "u"},
                                                     {"\u03BC", "u"},
                                                     {"\u03A9", "ohm"},
                                                     {"\u2126", "ohm"},
                                                     {"\u00B2", "^2"},
                                                     {"\u00B7", "*"}});

std::string plain(std::string_view text) {
    std::string result;
    while (!text.empty()) {
        std::size_t taken = 0;
        for (const Spelling& spelling : kSpellings) {
            if (text.starts_with(spelling.written)) {
                result += spelling.means;
                taken = spelling.written.size();
            }
        }
        if (taken == 0) {
            result += text.front();
            taken = 1;
        }
        text.remove_prefix(taken);
    }
    return result;
}

/// A blank of the table matches any run of blanks and at most one '*', also none.
std::size_t product_sign_length(std::string_view text) {
    std::size_t length = 0;
    bool star = false;
    while (length < text.size() && (text[length] == ' ' || (text[length] == '*' && !star))) {
        star = star || text[length] == '*';
        ++length;
    }
    return length;
}

bool same_unit(std::string_view table, std::string_view text) {
    for (const char expected : table) {
        if (expected == ' ') {
            text.remove_prefix(product_sign_length(text));
        } else if (!text.empty() && text.front() == expected) {
            text.remove_prefix(1);
        } else if (expected != '^') {
            return false;
        }
    }
    return text.empty();
}

}  // namespace

const KindRow& row(Kind kind) {
    return kRows[index_of(kind)];
}

const Unit* find_unit(Kind kind, std::string_view text) {
    constexpr std::size_t kLongestSpelling = 32;
    if (text.size() > kLongestSpelling) {
        return nullptr;
    }
    const std::string wanted = plain(text);
    for (const Unit& unit : row(kind).units) {
        if (same_unit(unit.text, wanted)) {
            return &unit;
        }
    }
    return nullptr;
}

const KindRow* find_kind(std::string_view text) {
    for (std::size_t i = 0; i < kKindCount; ++i) {
        if (find_unit(static_cast<Kind>(i), text) != nullptr) {
            return &kRows[i];
        }
    }
    return nullptr;
}

}  // namespace planner::unit_table
