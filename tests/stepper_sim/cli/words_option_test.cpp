// check --words: what it prints, filled in and pasted, makes the programs read without another round.
#include <gtest/gtest.h>

#include "command_line.hpp"
#include "tests/stepper_sim/samples.hpp"
#include "tests/stepper_sim/temp_folder.hpp"

namespace {

using namespace stepper_sim::samples;
using stepper_sim::samples::TempFolder;

const std::string kCatalogue = " --catalogue " + std::string(STEPPER_SIM_CONFIGS) + " ";

constexpr const char* kProgram =
    "G21 G90\nM7301 S5\nG1 X10 Y10 F600\nM7301 M7302\nG7029.1 X5\nG7029.125\nHUM_ON A=1\n"
    "X20 M7303\nTUNE.X B=2 ; (quiet)\nG10 L1 X0\nX30 U5\nM2\n";

std::string words_of(const TempFolder& folder, int exit) {
    const Ran ran = run_tool("check " + folder.path().string() + "/m.toml " +
                             folder.path().string() + "/p.nc --words" + kCatalogue);
    EXPECT_EQ(ran.exit, exit) << ran.err;
    return ran.out;
}

std::string filled_in(std::string block, const std::string& meaning) {
    for (std::size_t at = 0; (at = block.find("\"?\"", at)) != std::string::npos;)
        block.replace(at, 3, '"' + meaning + '"');
    return block;
}

TEST(WordsOption, PrintsEveryWordOnceWithItsCountLineAndAxisWords) {
    const TempFolder folder;
    folder.write("m.toml", std::string(kBench));
    folder.write("p.nc", kProgram);
    const std::string block = words_of(folder, 2);  // the U word is an error, and told besides
    EXPECT_NE(block.find("\n[program.words]\n"), std::string::npos) << block;
    EXPECT_NE(block.find("M7301 = \"?\"              # 2 times, first at line 2; no axis words"),
              std::string::npos)
        << block;
    EXPECT_NE(block.find("M7303 = \"?\"              # once, at line 8; axis words beside it"),
              std::string::npos)
        << block;
    for (const char* key : {"\"G7029.1\" = ", "\"G7029.125\" = ", "HUM_ON = ", "M7302 = ",
                            "\"TUNE.X\" = ", "G10 = ", "# ignore_axes = [\"u\"]"})
        EXPECT_NE(block.find(key), std::string::npos) << key << '\n' << block;
}

TEST(WordsOption, FilledInTheBlockNeedsNoFurtherRound) {
    for (const char* meaning : {"ignore", "text", "wait"}) {
        const TempFolder folder;
        folder.write("m.toml", std::string(kBench));
        folder.write("p.nc", kProgram);
        const std::string block = filled_in(words_of(folder, 2), meaning);
        folder.write("m.toml",
                     std::string(kBench) + "\n[program]\nignore_axes = [\"u\"]\n" + block);
        const std::string again = words_of(folder, 0);
        EXPECT_TRUE(again.starts_with("# No word that neither")) << again;
        const Ran ran = run_tool("check " + folder.path().string() + "/m.toml " +
                                 folder.path().string() + "/p.nc --no-dynamics" + kCatalogue);
        EXPECT_NE(ran.exit, 2) << ran.err;
        EXPECT_EQ(ran.out.find("not a word of the open standard"), std::string::npos) << ran.out;
        EXPECT_EQ(ran.out.find("words beyond the open standard"), std::string::npos) << ran.out;
    }
}

TEST(WordsOption, APlaceholderLeftInIsRefusedWithTheMeaningsThereAre) {
    const TempFolder folder;
    folder.write("m.toml", std::string(kBench));
    folder.write("p.nc", kProgram);
    folder.write("m.toml", std::string(kBench) + words_of(folder, 2));
    const Ran ran = run_tool("check " + folder.path().string() + "/m.toml" + kCatalogue);
    EXPECT_EQ(ran.exit, 2);
    EXPECT_NE(ran.err.find("found '?', expected \"ignore\", \"text\""), std::string::npos)
        << ran.err;
}

TEST(WordsOption, AddsToATableThatIsThere) {
    const TempFolder folder;
    const std::string machine = std::string(kBench) + "\n[program.words]\nM7301 = \"ignore\"\n";
    folder.write("m.toml", machine);
    folder.write("p.nc", "G21\nM7301\nM7302\nG1 X5 F600\n");
    const std::string block = words_of(folder, 0);
    EXPECT_EQ(block.find("\n[program.words]"), std::string::npos) << block;
    EXPECT_EQ(block.find("M7301"), std::string::npos) << block;
    folder.write("m.toml", machine + filled_in(block, "ignore"));
    EXPECT_TRUE(words_of(folder, 0).starts_with("# No word"));
}

TEST(WordsOption, ACheckThatMeetsUnknownWordsNamesTheOption) {
    const TempFolder folder;
    folder.write("m.toml", std::string(kBench));
    folder.write("p.nc", "G21\nM7302\nG1 X5 F600\nG7029\n");
    const Ran ran = run_tool("check " + folder.path().string() + "/m.toml " +
                             folder.path().string() + "/p.nc --no-dynamics" + kCatalogue);
    std::size_t told = 0;
    for (std::size_t at = 0; (at = ran.out.find("--words", at)) != std::string::npos; ++at)
        ++told;
    EXPECT_EQ(told, 2U) << ran.out;
}

}  // namespace
