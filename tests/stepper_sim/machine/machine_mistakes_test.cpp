// One mistake at a time in a complete machine file: the exact lines a user sees, with line and
// column of the value.
#include <gtest/gtest.h>

#include <ostream>

#include "tests/stepper_sim/machine/machine_texts.hpp"

namespace stepper_sim::machine::test {
namespace {

struct Mistake {
    const char* name;
    const char* from;
    const char* to;
    const char* lines;
};

void PrintTo(const Mistake& mistake, std::ostream* stream) {
    *stream << mistake.name;
}

class MachineMistake : public testing::TestWithParam<Mistake> {};

TEST_P(MachineMistake, GivesExactlyTheseLines) {
    EXPECT_EQ(faults_of(with(GetParam().from, GetParam().to)), GetParam().lines);
}

const Mistake kMistakes[] = {
    {"MissingName", "name = \"Bench plotter\"", "",
     "m.toml:1:1: found nothing, expected the key name, text in quotes"},
    {"EmptyAssignment", "name = \"Bench plotter\"", "name = ",
     "m.toml:1:8: found 'name =', expected TOML; key-value pair: expected value, saw '\\n'"},
    {"NumberForText", "name = \"Bench plotter\"", "name = 3",
     "m.toml:1:8: found '3', expected text in quotes for name"},
    {"EmptyText", "name = \"Bench plotter\"", "name = \"\"",
     "m.toml:1:8: found nothing, expected text of 1 to 2000 bytes without control characters for "
     "name"},
    {"ControlCharacterInText", "name = \"Bench plotter\"", "name = \"a\\u001b[31m\"",
     "m.toml:1:8: found 'a?[31m', expected text of 1 to 2000 bytes without control characters for "
     "name"},
    {"MistypedKinematics", "kinematics = \"crossed-belt\"", "kinematics = \"crosed-belt\"",
     "m.toml:2:14: found 'crosed-belt', expected \"cartesian\" or \"crossed-belt\" for kinematics; "
     "did you mean \"crossed-belt\""},
    {"MistypedTable", "[planning]", "[plannning]",
     "m.toml:1:1: found nothing, expected the key planning\n"
     "m.toml:19:2: found 'plannning', expected a key of this file; did you mean 'planning'"},
    {"MassInNewtons", "mass = \"2 kg\"", "mass = \"2 N\"",
     "m.toml:33:17: found '2 N', expected a mass such as \"0.45 kg\" for axes.y.load.mass; 'N' is "
     "the unit of a force"},
    {"MassWithoutQuotes", "mass = \"2 kg\"", "mass = 2",
     "m.toml:33:17: found '2', expected a mass such as \"0.45 kg\" for axes.y.load.mass; write it "
     "in quotes, with its unit"},
    {"MassWithoutUnit", "mass = \"2 kg\"", "mass = \"2\"",
     "m.toml:33:17: found '2', expected a mass such as \"0.45 kg\" for axes.y.load.mass; add the "
     "unit"},
    {"MassAsFlag", "mass = \"2 kg\"", "mass = true",
     "m.toml:33:17: found 'true', expected a mass such as \"0.45 kg\" for axes.y.load.mass"},
    {"ZeroMass", "mass = \"2 kg\"", "mass = \"0 kg\"",
     "m.toml:33:17: found '0 kg', expected a mass such as \"0.45 kg\" above 0 kg and at most 10000 "
     "kg for axes.y.load.mass"},
    {"NegativeMass", "mass = \"2 kg\"", "mass = \"-2 kg\"",
     "m.toml:33:17: found '-2 kg', expected a mass such as \"0.45 kg\" above 0 kg and at most "
     "10000 kg for axes.y.load.mass"},
    {"MassTooLargeForADouble", "mass = \"2 kg\"", "mass = \"1e400 kg\"",
     "m.toml:33:17: found '1e400 kg', expected a mass such as \"0.45 kg\" for axes.y.load.mass; "
     "the number must be finite and of a size that a computer can hold"},
    {"MassInWords", "mass = \"2 kg\"", "mass = \"heavy\"",
     "m.toml:33:17: found 'heavy', expected a mass such as \"0.45 kg\" for axes.y.load.mass"},
    {"MassInUnknownUnit", "mass = \"2 kg\"", "mass = \"2 stone\"",
     "m.toml:33:17: found '2 stone', expected a mass such as \"0.45 kg\" for axes.y.load.mass; "
     "units known here: kg, g, lb, oz"},
    {"MistypedKey", "mass = \"2 kg\"", "mas = \"2 kg\"",
     "m.toml:33:8: found nothing, expected the key axes.y.load.mass, a mass such as \"0.45 kg\"\n"
     "m.toml:33:10: found 'mas', expected a key of axes.y.load; did you mean 'mass'"},
    {"TravelReversed", "travel = [\"0 mm\", \"300 mm\"]", "travel = [\"300 mm\", \"0 mm\"]",
     "m.toml:55:10: found '300 mm to 0 mm', expected a lowest value below the highest for "
     "axes.x.travel"},
    {"TravelOfOneValue", "travel = [\"0 mm\", \"300 mm\"]", "travel = [\"300 mm\"]",
     "m.toml:55:10: found 'a list of 1', expected a list of two, lowest and highest, for "
     "axes.x.travel"},
    {"TravelNotAList", "travel = [\"0 mm\", \"300 mm\"]", "travel = \"300 mm\"",
     "m.toml:55:10: found '300 mm', expected a list for axes.x.travel"},
    {"ScrewWithoutEfficiency", "efficiency = 0.4, ", "",
     "m.toml:28:9: found nothing, expected the key axes.y.drive.efficiency, a number"},
    {"EfficiencyAboveOne", "efficiency = 0.4", "efficiency = 1.1",
     "m.toml:28:45: found '1.1', expected a number above 0 and at most 1 for "
     "axes.y.drive.efficiency"},
    {"EfficiencyNotANumber", "efficiency = 0.4", "efficiency = nan",
     "m.toml:28:45: found 'nan', expected a number above 0 and at most 1 for "
     "axes.y.drive.efficiency"},
    {"NeitherBeltNorScrew", "screw_lead = \"8 mm\"", "pulley_teeth = 3",
     "m.toml:28:9: found 'none of them', expected exactly one of belt_pitch (with pulley_teeth), "
     "screw_lead (with efficiency) for axes.y.drive"},
    {"BeltAndScrew", "pulley_teeth = 20", "screw_lead = \"8 mm\"",
     "m.toml:56:9: found 'both of them', expected exactly one of belt_pitch (with pulley_teeth), "
     "screw_lead (with efficiency) for axes.x.drive"},
    {"BeltWithEfficiency", "pulley_teeth = 20", "pulley_teeth = 20, efficiency = 0.4",
     "m.toml:56:64: found '0.4', expected no efficiency beside belt_pitch"},
    {"TeethWithFraction", "pulley_teeth = 20", "pulley_teeth = 20.0",
     "m.toml:56:47: found '20.0', expected a whole number for axes.x.drive.pulley_teeth"},
    {"TooManyTeeth", "pulley_teeth = 20", "pulley_teeth = 99999999999",
     "m.toml:56:47: found '99999999999', expected a whole number at least 1 and at most 10000 for "
     "axes.x.drive.pulley_teeth"},
    {"TeethInQuotes", "pulley_teeth = 20", "pulley_teeth = \"20\"",
     "m.toml:56:47: found '20', expected a whole number for axes.x.drive.pulley_teeth; write it "
     "without quotes"},
    {"CurrentOfBothBases", "current = { rms = \"1.2 A\" }",
     "current = { rms = \"1.2 A\", peak = \"1 A\" }",
     "m.toml:57:11: found 'rms and peak', expected exactly one of rms, peak, not_stated for "
     "axes.x.current; the peak of the sine is 1.41 times its rms"},
    {"CurrentOfTwoBasesOneNotStated", "current = { rms = \"1.2 A\" }",
     "current = { rms = \"1.2 A\", not_stated = \"1 A\" }",
     "m.toml:57:11: found 'rms and not_stated', expected exactly one of rms, peak, not_stated for "
     "axes.x.current; the peak of the sine is 1.41 times its rms"},
    {"CurrentWithoutTableNorUnit", "current = { rms = \"1.2 A\" }", "current = \"1.2 V\"",
     "m.toml:57:11: found '1.2 V', expected a current such as \"1.2 A\" for axes.x.current; 'V' is "
     "the unit of a voltage"},
    {"CurrentAsNumber", "current = { rms = \"1.2 A\" }", "current = 1.2",
     "m.toml:57:11: found '1.2', expected { rms = \"1.2 A\" } or { peak = \"1.2 A\" } for "
     "axes.x.current; the peak of the sine is 1.41 times its rms"},
    {"CurrentKeyInCapitals", "current = { rms = \"1.2 A\" }", "current = { RMS = \"1.2 A\" }",
     "m.toml:57:11: found 'none of them', expected exactly one of rms, peak, not_stated for "
     "axes.x.current; "
     "the peak of the sine is 1.41 times its rms\n"
     "m.toml:57:13: found 'RMS', expected a key of axes.x.current; did you mean 'rms'"},
    {"RatedCurrentMistyped", "rated_current = { peak", "rated_current = { pek",
     "m.toml:38:17: found 'none of them', expected exactly one of rms, peak, not_stated for "
     "axes.y.motor.rated_current; the peak of the sine is 1.41 times its rms\n"
     "m.toml:38:19: found 'pek', expected a key of axes.y.motor.rated_current; did you mean "
     "'peak'"},
    {"DampingOfOne", "damping = 0.04", "damping = 1",
     "m.toml:62:43: found '1', expected a number above 0 and below 1 for axes.x.modes[1].damping"},
    {"TooManyStepsPerMm", "steps_per_mm = 80,", "steps_per_mm = 1e6,", ""},
    {"WindowTooLarge", "lookahead_moves = 16", "lookahead_moves = 70000",
     "m.toml:22:19: found '70000', expected a whole number at least 0 and at most 65536 for "
     "planning.lookahead_moves"},
    {"SpeedStepMissingInSpeedStepMode", "corner = \"deviation\"", "corner = \"speed-step\"",
     "m.toml:34:12: found nothing, expected the key axes.y.settings.speed_step"},
    {"DeviationMissing", "deviation = \"0.02 mm\"", "",
     "m.toml:19:1: found nothing, expected the key planning.deviation"},
    {"UnknownAxisLetter", "[axes.x]", "[axes.q]",
     "m.toml:54:7: found 'q', expected a key of axes; known here: x, y, z, a, b, c, u, v, w, e\n"
     "m.toml:65:1: found nothing, expected the key axes.x.current, { rms = \"1.4 A\" } or { peak = "
     "\"1.4 A\" }\n"
     "m.toml:65:1: found nothing, expected the key axes.x.drive\n"
     "m.toml:65:1: found nothing, expected the key axes.x.load\n"
     "m.toml:65:1: found nothing, expected the key axes.x.microsteps, a whole number\n"
     "m.toml:65:1: found nothing, expected the key axes.x.settings\n"
     "m.toml:65:1: found nothing, expected the key axes.x.supply, a voltage such as \"24 V\""},
    {"AxisLetterInCapitals", "[axes.x]", "[axes.X]",
     "m.toml:54:7: found 'X', expected a key of axes; did you mean 'x'\n"
     "m.toml:65:1: found nothing, expected the key axes.x.current, { rms = \"1.4 A\" } or { peak = "
     "\"1.4 A\" }\n"
     "m.toml:65:1: found nothing, expected the key axes.x.drive\n"
     "m.toml:65:1: found nothing, expected the key axes.x.load\n"
     "m.toml:65:1: found nothing, expected the key axes.x.microsteps, a whole number\n"
     "m.toml:65:1: found nothing, expected the key axes.x.settings\n"
     "m.toml:65:1: found nothing, expected the key axes.x.supply, a voltage such as \"24 V\""},
    {"StepsPerInterruptForScheduled", "style = \"line\"", "style = \"scheduled\"",
     "m.toml:16:27: found '4', expected no max_steps_per_interrupt for style \"scheduled\""},
    {"FixedRateWithoutBaseRate", "style = \"line\"", "style = \"fixed-rate\"",
     "m.toml:4:1: found nothing, expected the key controller.base_rate\n"
     "m.toml:16:27: found '4', expected no max_steps_per_interrupt for style \"fixed-rate\""},
    {"MistypedStyle", "style = \"line\"", "style = \"liney\"",
     "m.toml:6:9: found 'liney', expected \"ideal\" or \"line\" or \"fixed-rate\" or \"scheduled\" "
     "for controller.style; did you mean \"line\""},
    {"MissingStyle", "style = \"line\"", "",
     "m.toml:4:1: found nothing, expected the key controller.style"},
    {"StepsPerInterruptNotAPowerOfTwo", "max_steps_per_interrupt = 4",
     "max_steps_per_interrupt = 3",
     "m.toml:16:27: found '3', expected a power of two for controller.max_steps_per_interrupt"},
    {"MissingClock", "clock = \"16 MHz\"", "",
     "m.toml:4:1: found nothing, expected the key controller.clock"},
    {"ProcessorShareAboveOne", "processor_share = 0.7", "processor_share = 1.5",
     "m.toml:12:19: found '1.5', expected a number above 0 and at most 1 for "
     "controller.processor_share"},
    {"GuessOfWhatNobodyMayGuess", "supply = \"36 V\"", "supply = \"guess\"",
     "m.toml:31:10: found 'guess', expected a voltage such as \"24 V\" for axes.y.supply"},
    {"CurveOfOnePoint", "points = [[\"0 rpm\", \"0.3 N m\"], [\"60 rpm\", \"0.25 N m\"]]",
     "points = [[\"0 rpm\", \"0.3 N m\"]]",
     "m.toml:44:10: found '1 points', expected points [\"speed\", \"torque\"] of rising speed, at "
     "least two, for axes.y.motor.curves[1].points"},
    {"CurveWithoutRisingSpeed", "[\"60 rpm\", \"0.25 N m\"]", "[\"0 rpm\", \"0.25 N m\"]",
     "m.toml:44:33: found '0 rpm', expected points [\"speed\", \"torque\"] of rising speed, at "
     "least two, for axes.y.motor.curves[1].points"},
    {"PointOfOneValue", "[\"60 rpm\", \"0.25 N m\"]", "[\"60 rpm\"]",
     "m.toml:44:33: found 'a list', expected points [\"speed\", \"torque\"] of rising speed, at "
     "least two, for axes.y.motor.curves[1].points"},
    {"PointNotAList", "[\"60 rpm\", \"0.25 N m\"]", "\"60 rpm\"",
     "m.toml:44:33: found '60 rpm', expected points [\"speed\", \"torque\"] of rising speed, at "
     "least two, for axes.y.motor.curves[1].points"},
    {"StepAngleThatDividesNoTurn", "step_angle = \"1.8 deg\"", "step_angle = \"1.7 deg\"",
     "m.toml:69:14: found '1.7 deg', expected an angle that divides the turn into a multiple of 4 "
     "full steps, such as 1.8 deg, for axes.x.motor.step_angle"},
    {"MissingStepAngle", "step_angle = \"1.8 deg\"", "",
     "m.toml:65:1: found nothing, expected the key axes.x.motor.step_angle, an angle such as \"1.8 "
     "deg\""},
    {"StatedRateMissing", "step_rate_max = \"250 kHz\"", "",
     "m.toml:92:20: found 'true', expected the stated rate as step_rate_max"},
    {"NoMicrostepsAtAll", "microsteps = [1, 8]", "microsteps = []",
     "m.toml:51:14: found 'an empty list', expected at least one number for "
     "axes.y.driver.microsteps"},
    {"ZeroInMicrosteps", "microsteps = [1, 8]", "microsteps = [1, 0]",
     "m.toml:51:18: found '0', expected a whole number at least 1 and at most 65536 for "
     "axes.y.driver.microsteps"},
    {"DriverSupplyReversed", "supply = [\"8.2 V\", \"45 V\"]", "supply = [\"8.2 V\", \"4.5 V\"]",
     "m.toml:50:10: found '8.2 V to 4.5 V', expected a lowest value below the highest for "
     "axes.y.driver.supply"},
    {"MissingRegulator", "regulator = \"sine\"", "",
     "m.toml:45:1: found nothing, expected the key axes.y.driver.regulator"},
    {"RapidAsNumber", "rapid = \"feed\"", "rapid = 3",
     "m.toml:101:9: found '3', expected \"traverse\" or \"feed\" for program.rapid"},
    {"IgnoredAxesThatExistOrAreNoLetters", "ignore_axes = [\"e\", \"a\"]",
     "ignore_axes = [\"e\", \"x\", \"ee\"]",
     "m.toml:105:21: found 'x', expected letters that are not axes of this machine for "
     "program.ignore_axes\n"
     "m.toml:105:26: found 'ee', expected axis letters (x y z a b c u v w e) for "
     "program.ignore_axes"},
    {"StartOfAnAxisThatIsNotThere", "start = { x", "start = { z",
     "m.toml:106:11: found 'z', expected a key of program.start; known here: x, y"},
    {"WorkOffsetAsNumber", "work_offset = { x = \"10 mm\" }", "work_offset = 3",
     "m.toml:108:15: found '3', expected a table of lengths or \"unknown\" for "
     "program.work_offset"},
    {"WordOfAnotherLetter", "\"M7307\"", "\"S904\"",
     "m.toml:110:11: found 'S904', expected a G or M word such as \"M7306\", or the name "
     "that a line begins with, for program.words.ignore"},
    {"WordWithAValueLetter", "\"M7307\"", "\"M7307 S\"",
     "m.toml:110:11: found 'M7307 S', expected a G or M word such as \"M7306\", or the name "
     "that a line begins with, for program.words.ignore"},
    {"AccelerationWordWithoutValueLetter", "\"M7317 S\"", "\"M7317\"",
     "m.toml:113:20: found 'M7317', expected a G or M word and the letter of its value, such as "
     "\"M7306 S\", or the name that a line begins with and the key of its value, for "
     "program.words.set_acceleration"},
    {"CallWordWithoutLetters", "[program.words]", "[program.words]\ncall = \"M7320\"",
     "m.toml:110:8: found 'M7320', expected a G or M word, the letter of the program's number and "
     "that of the repeats, such as \"M7306 P L\", for program.words.call"},
    {"CallWordWithAWordBehindIt", "[program.words]", "[program.words]\ncall = \"M7320 P LL\"",
     "m.toml:110:8: found 'M7320 P LL', expected a G or M word, the letter of the program's number "
     "and that of the repeats, such as \"M7306 P L\", for program.words.call"},
    {"ToolWithoutNumber", "[program.words]", "tool_lengths = { a = \"1 mm\" }\n[program.words]",
     "m.toml:109:18: found 'a', expected a tool number from 1 to 99999"},
    {"WordGivenTwice", "\"M7318\"", "\"M7307\"",
     "m.toml:114:14: found 'M7307', expected each word once in program.words"},
    {"MistypedWordEffect", "[program.words]", "[program.words]\nignored = 1",
     "m.toml:110:1: found 'ignored', expected a key of program.words; did you mean 'ignore'"},
    {"SourceWithoutKnown", "known = \"read\", note = \"made up\"", "note = \"made up\"",
     "m.toml:17:10: found nothing, expected the key controller.source.known, \"read\", "
     "\"second-hand\" or \"recalled\""},
    {"PartFileThatIsNotThere", "[axes.x.driver]\nname = \"D1\"",
     "[axes.x.driver]\npart = \"drivers/no.toml\"",
     "m.toml:85:8: found 'drivers/no.toml', expected the file of a part for axes.x.driver.part; "
     "looked in ., .."},
    {"ControllerAsNumber", "[controller]\n", "controller = 5\n[planner]\n",
     "m.toml:4:14: found '5', expected the name of a part file, or a table, for controller\n"
     "m.toml:5:2: found 'planner', expected a key of this file; known here: name, kinematics, "
     "controller, planning, axes, program, capture"},
    {"UnknownKeysFarFromAnyKnownOne", "[axes.y]\n", "[axes.y]\nz = 2\nq = 5\n",
     "m.toml:27:1: found 'z', expected a key of axes.y; known here: travel, drive, motors, motor, "
     "driver, current, supply, microsteps, load, stiffness, damping, modes, "
     "running_factor, running_factor_at, settings\n"
     "m.toml:28:1: found 'q', expected a key of axes.y; known here: travel, drive, motors, motor, "
     "driver, current, supply, microsteps, load, stiffness, damping, modes, "
     "running_factor, running_factor_at, settings"},
    {"ModeNotATable", "modes = [{", "modes = [3, {",
     "m.toml:62:10: found '3', expected a table for axes.x.modes[1]"},
    {"OpenTableHeader", "[planning]", "[planning",
     "m.toml:19:10: found '[planning', expected TOML; table header: expected ']', saw '\\n'"},
    {"BrokenUnicode", "name =", "\xff =",
     "m.toml:1:1: found '? = \"Bench plotter\"', expected letters outside ASCII only in quotes"},
    {"BrokenUnicodeInQuotes", "Bench", "B\xff",
     "m.toml:1:9: found 'name = \"B? plotter\"', expected TOML; Encountered invalid utf-8 "
     "sequence"},
    {"ParametersThatAreNoNumbers", "100 = 2.5", "100 = \"a\"\n6000 = 1\nx = 1",
     "m.toml:117:7: found 'a', expected a number for program.parameters.100; write it without "
     "quotes\n"
     "m.toml:118:1: found '6000', expected a parameter number from 1 to 5400\n"
     "m.toml:119:1: found 'x', expected a parameter number from 1 to 5400"},
    {"NegativeFriction", "friction = \"3 N\"", "friction = \"-3 N\"",
     "m.toml:33:36: found '-3 N', expected a force such as \"3 N\" at least 0 N and at most 1000 "
     "kN for axes.y.load.friction"},
    {"ZeroMicrosteps", "microsteps = 16\n", "microsteps = 0\n",
     "m.toml:59:14: found '0', expected a whole number at least 1 and at most 65536 for "
     "axes.x.microsteps"},
    {"NoMotors", "motors = 2", "motors = 0",
     "m.toml:29:10: found '0', expected a whole number at least 1 and at most 8 for axes.y.motors"},
    {"ZeroTick", "tick = \"2 MHz\"", "tick = \"0 Hz\"",
     "m.toml:8:8: found '0 Hz', expected a frequency such as \"48 Hz\" at least 1 kHz and at most "
     "10 GHz for controller.tick"},
    {"ZeroRunningFactor", "running_factor = 0.72", "running_factor = 0",
     "m.toml:63:18: found '0', expected a number above 0 and at most 2 for axes.x.running_factor"},
    {"DateForText", "name = \"M1\"", "name = 1979-05-27",
     "m.toml:66:8: found 'a date', expected text in quotes for axes.x.motor.name"},
    {"TwoFaultsOfOneMistypedKey", "max_speed = \"20 mm/s\", ", "max_sped = \"20 mm/s\", ",
     "m.toml:34:12: found nothing, expected the key axes.y.settings.max_speed, a speed such as "
     "\"150 mm/s\"\n"
     "m.toml:34:36: found 'max_sped', expected a key of axes.y.settings; did you mean 'max_speed'"},
};

INSTANTIATE_TEST_SUITE_P(MachineFile, MachineMistake, testing::ValuesIn(kMistakes),
                         [](const auto& test) { return std::string(test.param.name); });

TEST(MachineMistakes, AreReportedTogetherInTheOrderOfTheirPlaces) {
    std::string text = with("\"crossed-belt\"", "\"polar\"");
    text = with("lookahead_moves = 16", "lookahead_moves = -1", text);
    text = with("\"24 V\"", "24", text);
    text = with("tick = \"2 MHz\"", "tick = \"2 m\"", text);
    text = with("\"60 N/mm\"", "\"60 N\"", text);
    std::vector<std::uint64_t> lines;
    for (const planner::Diagnostic& d : read_text(text).diagnostics())
        lines.push_back(d.place.line);
    EXPECT_EQ(lines, (std::vector<std::uint64_t>{2, 8, 22, 42, 61}));
}

}  // namespace
}  // namespace stepper_sim::machine::test
