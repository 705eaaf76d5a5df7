// The programs in configs/programs are the output of the generator beside them, byte for byte.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

namespace {

namespace fs = std::filesystem;

constexpr std::uintmax_t kLargest_bytes = 300'000;  // keeps a checkout small

std::string contents(const fs::path& path) {
    std::ifstream stream(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), {}};
}

bool succeeds(const std::string& command) {
    return std::system(command.c_str()) == 0;  // NOLINT(cert-env33-c): a fixed command in a test
}

std::size_t programs_in(const fs::path& folder) {
    const auto is_program = [](const fs::directory_entry& entry) {
        return entry.path().extension() == ".gcode";
    };
    return static_cast<std::size_t>(std::count_if(fs::directory_iterator(folder), {}, is_program));
}

}  // namespace

TEST(ShippedPrograms, AreWhatTheGeneratorWrites) {
    if (!succeeds("python3 --version > /dev/null 2>&1")) {
        GTEST_SKIP() << "python3 is missing";
    }
    const fs::path committed = fs::path(STEPPER_SIM_CONFIGS) / "programs";
    std::string name = (fs::temp_directory_path() / "stepper_sim_programs_XXXXXX").string();
    ASSERT_NE(mkdtemp(name.data()), nullptr);
    const fs::path written(name);
    EXPECT_TRUE(succeeds("python3 '" + (committed / "generate.py").string() + "' '" + name + "'"));
    EXPECT_GT(programs_in(written), 0U);
    EXPECT_EQ(programs_in(written), programs_in(committed));
    for (const auto& entry : fs::directory_iterator(written)) {
        const fs::path file = entry.path().filename();
        EXPECT_TRUE(contents(entry.path()) == contents(committed / file)) << file;
        EXPECT_LT(entry.file_size(), kLargest_bytes) << file;
    }
    fs::remove_all(written);
}
