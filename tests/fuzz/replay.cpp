// Feeds every file of a folder to a fuzzer's function once: what fuzzing has found, tested in every build.
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "claims.hpp"

int main(int count, char** arguments) {
    if (count != 2) return 2;
    int replayed = 0;
    for (const auto& entry : std::filesystem::directory_iterator(arguments[1])) {
        std::printf("%s\n", entry.path().c_str());  // a crash is in the last one named
        std::fflush(stdout);
        std::ifstream in(entry.path(), std::ios::binary);
        const std::string bytes{std::istreambuf_iterator<char>(in), {}};
        LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
        ++replayed;
    }
    return replayed > 0 ? 0 : 1;
}
