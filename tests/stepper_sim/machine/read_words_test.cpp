// [program.words] by word and by meaning, named lines, and the habits of [program].
#include <gtest/gtest.h>

#include "machine_texts.hpp"

namespace stepper_sim::machine::test {
namespace {

TEST(ReadWords, AWordMayBeTheKeyAndItsMeaningTheValue) {
    const auto result = read_text(
        with("[program.words]\n",
             "[program.words]\nm7401 = \"ignore\"\n\"G7029.125\" = \"wait\"\nM7408 = "
             "\"set_acceleration s\"\nHURRY = \"set_acceleration By\"\nHUM.X = \"text\"\n"));
    ASSERT_FALSE(result);  // a dotted key is a table
    EXPECT_NE(planner::to_line(result.diagnostics()[0]).find("HUM"), std::string::npos);

    const auto good = read_text(
        with("[program.words]\n",
             "[program.words]\nm7401 = \"ignore\"\n\"G7029.125\" = \"wait\"\nM7408 = "
             "\"set_acceleration s\"\nHURRY = \"set_acceleration By\"\n\"HUM.X\" = \"text\"\n"));
    ASSERT_TRUE(good) << planner::to_line(good.diagnostics()[0]);
    const auto& words = good.value().program.words;
    EXPECT_EQ(words.at("M7401").effect, planner::WordEffect::ignore);
    EXPECT_EQ(words.at("G7029.125").effect, planner::WordEffect::wait);
    EXPECT_EQ(words.at("M7408").value_key, "S");
    EXPECT_EQ(words.at("HURRY").value_key, "BY");
    EXPECT_EQ(words.at("HUM.X").effect, planner::WordEffect::text);
}

TEST(ReadWords, CallsAreDeclaredByWordToo) {
    const auto result = read_text(
        with("[program.words]\n",
             "[program.words]\nM7401 = \"call P L\"\nM7402 = \"return\"\nM7403 = \"call P\"\n"));
    ASSERT_TRUE(result) << planner::to_line(result.diagnostics()[0]);
    const auto& words = result.value().program.words;
    EXPECT_EQ(words.at("M7401").effect, planner::WordEffect::call);
    EXPECT_EQ(words.at("M7401").value_key, "P");
    EXPECT_EQ(words.at("M7401").repeat_key, "L");
    EXPECT_EQ(words.at("M7402").effect, planner::WordEffect::give_back);
    EXPECT_EQ(words.at("M7403").repeat_key, "");
}

TEST(ReadWords, NamesStandInTheListsToo) {
    const auto result = read_text(with("ignore = [\"M7307\",", "ignore = [\"hum_on\", \"M7307\","));
    ASSERT_TRUE(result) << planner::to_line(result.diagnostics()[0]);
    EXPECT_EQ(result.value().program.words.at("HUM_ON").effect, planner::WordEffect::ignore);
    const auto value = read_text(with("\"M7317 S\"", "\"HURRY BY\""));
    ASSERT_TRUE(value) << planner::to_line(value.diagnostics()[0]);
    EXPECT_EQ(value.value().program.words.at("HURRY").value_key, "BY");
}

TEST(ReadWords, AMeaningThatIsNoneIsRefusedWithThoseThereAre) {
    for (const char* line : {"M7401 = \"?\"", "M7401 = 3", "M7401 = \"set_acceleration\"",
                             "M7401 = \"set_acceleration AB\"", "M7401 = \"ignore S\"",
                             "M7401 = \"call\"", "M7401 = \"call P L Q\""}) {
        const auto result =
            read_text(with("[program.words]\n", std::string("[program.words]\n") + line + "\n"));
        ASSERT_FALSE(result) << line;
        EXPECT_EQ(result.diagnostics()[0].id, "machine/unknown-choice") << line;
    }
    const auto twice = read_text(with("[program.words]\n", "[program.words]\nM7307 = \"wait\"\n"));
    ASSERT_FALSE(twice);
    EXPECT_EQ(twice.diagnostics()[0].id, "machine/conflict");
}

TEST(ReadProgram, HabitsOfTheControllerAreRead) {
    const auto result = read_text(with(
        "rapid = \"feed\"", "rapid = \"feed\"\ne_reading = \"relative\"\nafter_g80 = \"resume\""));
    ASSERT_TRUE(result) << planner::to_line(result.diagnostics()[0]);
    EXPECT_EQ(result.value().program.e_reading, planner::EReading::relative);
    EXPECT_TRUE(result.value().program.resume_after_g80);
    const auto plain = read_text(std::string(kFullMachine));
    EXPECT_EQ(plain.value().program.e_reading, planner::EReading::as_axes);
    EXPECT_FALSE(plain.value().program.resume_after_g80);
}

}  // namespace
}  // namespace stepper_sim::machine::test
