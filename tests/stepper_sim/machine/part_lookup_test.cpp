#include <gtest/gtest.h>
#include <sys/stat.h>

#include "stepper_sim/machine/catalogue.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/machine/read_parts.hpp"
#include "tests/stepper_sim/machine/machine_texts.hpp"
#include "tests/stepper_sim/temp_folder.hpp"

namespace stepper_sim::machine::test {

using samples::TempFolder;
namespace {

namespace fs = std::filesystem;

const std::string kMotor = R"(name = "File motor"
step_angle = "1.8 deg"
rated_current = { not_stated = "1 A" }
holding_torque = "0.3 N m"
resistance = "2 ohm"
inductance = "3 mH"
rotor_inertia = "40 g cm^2"
)";
const std::string kDriver = R"(name = "File driver"
step_high_min = "1 us"
step_low_min = "1 us"
supply = ["8 V", "40 V"]
microsteps = [16]
regulator = "sine"
)";
const std::string kController = "name = \"File controller\"\nstyle = \"ideal\"\n";

/// A one-axis machine whose motor is `motor`, a TOML value.
std::string machine_with(const std::string& motor) {
    return R"(name = "Small"
kinematics = "cartesian"
controller = { name = "Exact", style = "ideal" }
planning = { corner = "speed-step", lookahead_moves = 0, arc_tolerance = "0.01 mm" }
[axes.z]
drive = { belt_pitch = "2 mm", pulley_teeth = 20 }
motor = )" +
           motor + R"(
driver = { name = "D", step_high_min = "1 us", step_low_min = "1 us", supply = ["8 V", "40 V"], microsteps = [16], regulator = "sine" }
current = { rms = "1 A" }
supply = "24 V"
microsteps = 16
load = { mass = "1 kg", friction = "1 N" }
settings = { steps_per_mm = 80, max_speed = "180 mm/s", max_acceleration = "3000 mm/s^2", speed_step = "10 mm/s" }
)";
}

class PartLookup : public testing::Test {
  protected:
    /// The motor of a machine file in this test's folder, or the first complaint about it.
    std::string motor_name(const std::string& motor, const std::vector<fs::path>& catalogue = {}) {
        const auto result =
            read_machine(folder.write("machines/m.toml", machine_with(motor)), catalogue);
        if (result) return result.value().axes.at(0).motor.name;
        return lines_of(result).front().substr((folder.path() / "machines/").string().size());
    }
    TempFolder folder;
};

TEST_F(PartLookup, OwnFolderComesBeforeParentBeforeCatalogue) {
    const TempFolder catalogue;
    catalogue.write("motors/a.toml", with("File motor", "From catalogue", kMotor));
    EXPECT_EQ(motor_name("\"motors/a.toml\"", {catalogue.path()}), "From catalogue");
    folder.write("motors/a.toml", with("File motor", "From parent", kMotor));
    EXPECT_EQ(motor_name("\"motors/a.toml\"", {catalogue.path()}), "From parent");
    folder.write("machines/motors/a.toml", with("File motor", "From own", kMotor));
    EXPECT_EQ(motor_name("\"motors/a.toml\"", {catalogue.path()}), "From own");
}

TEST_F(PartLookup, PartKeepsTheNameTheMachineGaveIt) {
    folder.write("motors/a.toml", kMotor);
    const auto result = read_machine(folder.write("m.toml", machine_with("\"motors/a.toml\"")), {});
    ASSERT_TRUE(result);
    EXPECT_EQ(result.value().axes[0].motor.file, "motors/a.toml");
}

TEST_F(PartLookup, MachineValuesReplaceThoseOfThePart) {
    folder.write("motors/a.toml", kMotor);
    const auto result = read_machine(
        folder.write("m.toml", machine_with("{ part = \"motors/a.toml\", resistance = \"9 ohm\", "
                                            "rated_current = { rms = \"2 A\" } }")),
        {});
    ASSERT_TRUE(result) << lines_of(result).front();
    const MotorPart& motor = result.value().axes[0].motor;
    EXPECT_EQ(motor.name, "File motor");
    EXPECT_EQ(motor.file, "motors/a.toml");
    EXPECT_EQ(motor.resistance.value().value(), 9.0);
    EXPECT_EQ(motor.rated_current.basis, CurrentBasis::rms);
    EXPECT_EQ(motor.inductance.value().value(), 0.003);
}

TEST_F(PartLookup, MistakesCarryThePlaceInThePartFile) {
    folder.write("motors/a.toml", with("\"3 mH\"", "\"3 mF\"", kMotor));
    EXPECT_NE(motor_name("\"motors/a.toml\"").find("motors/a.toml:6:14: found '3 mF'"),
              std::string::npos);
}

TEST_F(PartLookup, OverridingValueCarriesItsPlaceInTheMachineFile) {
    folder.write("motors/a.toml", kMotor);
    EXPECT_EQ(motor_name("{ part = \"motors/a.toml\", resistance = \"9 mH\" }"),
              "m.toml:7:48: found '9 mH', expected a resistance such as \"5.3 ohm\" for "
              "resistance; 'mH' is the unit of an inductance");
}

// What a part leaves open is guessed from the others of its size: check/guesses.hpp.
TEST_F(PartLookup, APartMayLeaveOpenWhatItsClassTells) {
    for (const char* line :
         {"rotor_inertia = \"40 g cm^2\"", "inductance = \"3 mH\"", "resistance = \"2 ohm\""}) {
        folder.write("motors/a.toml", with(line, "", kMotor));
        EXPECT_EQ(motor_name("\"motors/a.toml\""), "File motor") << line;
    }
}

TEST_F(PartLookup, MissingFileSuggestsTheNearestOne) {
    folder.write("motors/abc17.toml", kMotor);
    EXPECT_EQ(motor_name("\"motors/acb17.toml\""),
              "m.toml:7:9: found 'motors/acb17.toml', expected the file of a part for "
              "axes.z.motor; did you mean \"motors/abc17.toml\"");
    EXPECT_NE(motor_name("\"gone/far_away.toml\"").find("; looked in "), std::string::npos);
}

TEST_F(PartLookup, FolderPipeLoopAndDeviceAreRefusedAtOnce) {
    fs::create_directories(folder.path() / "motors/d.toml");
    ASSERT_EQ(mkfifo((folder.path() / "motors/p.toml").c_str(), 0600), 0);
    fs::create_symlink("l.toml", folder.path() / "motors/l.toml");
    EXPECT_NE(motor_name("\"motors/d.toml\"").find(" is a folder"), std::string::npos);
    EXPECT_NE(motor_name("\"motors/p.toml\"").find(" is a pipe"), std::string::npos);
    EXPECT_NE(motor_name("\"motors/l.toml\"").find("m.toml:7:9: found 'motors/l.toml'"),
              std::string::npos);
    EXPECT_NE(motor_name("\"/dev/zero\"").find("not a regular file"), std::string::npos);
    EXPECT_NE(motor_name("\"\"").find("m.toml:7:9: found nothing"), std::string::npos);
    EXPECT_NE(motor_name("\"" + std::string(5000, 'n') + "\"").find("m.toml:7:9: found"),
              std::string::npos);
}

TEST_F(PartLookup, PartFileCannotNameAnotherPart) {
    folder.write("motors/a.toml", "part = \"motors/a.toml\"\n" + kMotor);
    EXPECT_NE(motor_name("\"motors/a.toml\"").find("found 'part', expected a key of this file"),
              std::string::npos);
}

TEST_F(PartLookup, LargeBinaryAndBrokenPartFilesGiveOneLine) {
    folder.write("motors/large.toml", std::string(std::size_t{5} << 20U, '#'));
    EXPECT_NE(motor_name("\"motors/large.toml\"").find("more than 4 MB"), std::string::npos);
    folder.write("motors/binary.toml", std::string("\x7f"
                                                   "ELF\0\x01\xff\xfe",
                                                   8));
    EXPECT_NE(motor_name("\"motors/binary.toml\"").find("expected text without control"),
              std::string::npos);
    folder.write("motors/empty.toml", "");
    EXPECT_NE(motor_name("\"motors/empty.toml\"").find("expected the key"), std::string::npos);
}

TEST_F(PartLookup, WrongTypeOfAPartIsSaid) {
    EXPECT_EQ(motor_name("17"),
              "m.toml:7:9: found '17', expected the name of a part file, or a table, for "
              "axes.z.motor");
    EXPECT_EQ(motor_name("{ part = 3 }"),
              "m.toml:7:18: found '3', expected the name of a part file for axes.z.motor.part");
}

TEST(ReadMachineFile, MissingFileIsOneLine) {
    EXPECT_EQ(
        lines_of(read_machine("no/such.toml", {})),
        (std::vector<std::string>{"no/such.toml: found 'no such file', expected a file to read"}));
}

TEST(ReadParts, EachKindIsReadFromItsFile) {
    const TempFolder folder;
    const auto motor = read_motor(folder.write("m.toml", kMotor));
    ASSERT_TRUE(motor);
    EXPECT_EQ(motor.value().name, "File motor");
    EXPECT_EQ(motor.value().file, (folder.path() / "m.toml").generic_string());
    EXPECT_EQ(motor.value().rated_current.basis, CurrentBasis::not_stated);
    EXPECT_EQ(read_driver(folder.write("d.toml", kDriver)).value().name, "File driver");
    EXPECT_EQ(read_controller(folder.write("c.toml", kController)).value().name, "File controller");
    EXPECT_FALSE(read_driver(folder.path() / "m.toml"));
    EXPECT_FALSE(read_motor(folder.path()));
}

TEST(Catalogue, ListsEveryPartSortedAndKeepsBadOnes) {
    const TempFolder folder;
    folder.write("motors/b.toml", kMotor);
    folder.write("motors/a.toml", "name = 3");
    folder.write("motors/readme.txt", "not a part");
    folder.write("drivers/d.toml", kDriver);
    const Catalogue catalogue = read_catalogue(folder.path());
    ASSERT_EQ(catalogue.motors.size(), 2U);
    EXPECT_EQ(catalogue.motors[0].name, "motors/a.toml");
    EXPECT_FALSE(catalogue.motors[0].part);
    EXPECT_TRUE(catalogue.motors[1].part);
    EXPECT_EQ(catalogue.drivers.size(), 1U);
    EXPECT_TRUE(catalogue.controllers.empty());
    EXPECT_TRUE(read_catalogue(folder.path() / "gone").motors.empty());
}

}  // namespace
}  // namespace stepper_sim::machine::test
