// The programs in configs/programs are the output of the generator beside them, byte for byte.
#include <gtest/gtest.h>

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

class ShippedPrograms : public ::testing::Test {
  protected:
    void SetUp() override {
        if (!succeeds("python3 --version > /dev/null 2>&1")) GTEST_SKIP() << "python3 is missing";
        std::string name = (fs::temp_directory_path() / "stepper_sim_programs_XXXXXX").string();
        ASSERT_NE(mkdtemp(name.data()), nullptr);
        written_ = name;
    }
    void TearDown() override {
        if (!written_.empty()) fs::remove_all(written_);
    }

    const fs::path committed_ = fs::path(STEPPER_SIM_CONFIGS) / "programs";
    fs::path written_;
};

}  // namespace

TEST_F(ShippedPrograms, AreWhatTheGeneratorWrites) {
    ASSERT_TRUE(succeeds("python3 '" + (committed_ / "generate.py").string() + "' '" +
                         written_.string() + "'"));
    int written = 0;
    for (const auto& entry : fs::directory_iterator(written_)) {
        const fs::path name = entry.path().filename();
        EXPECT_TRUE(contents(entry.path()) == contents(committed_ / name)) << name;
        EXPECT_LT(entry.file_size(), kLargest_bytes) << name;
        ++written;
    }
    int committed = 0;
    for (const auto& entry : fs::directory_iterator(committed_)) {
        committed += entry.path().extension() == ".gcode" ? 1 : 0;
    }
    EXPECT_EQ(written, committed);
    EXPECT_GT(written, 0);
}
