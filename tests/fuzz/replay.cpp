// Feeds every file of a folder to a fuzzer's function, then COUNT noisy copies of them: what fuzzing has found, and a short fuzz run, in
// every build. The noise is the same in every run. Arguments: folder count. What fails is left in the working folder as failed-TARGET.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "claims.hpp"

namespace {

constexpr std::size_t kLongest = 8192;  // bytes; as tests/fuzz/run
constexpr std::size_t kLongestPiece = 64;
constexpr int kMostEdits = 6;

struct Noise {
    std::mt19937_64 random{20261127};  // any seed

    std::size_t below(std::size_t count) { return count > 0 ? random() % count : 0; }

    /// A place of `text` and a length from there on.
    std::pair<std::size_t, std::size_t> piece(const std::string& text) {
        const std::size_t at = below(text.size() + 1);
        return {at, std::min(below(kLongestPiece), text.size() - at)};
    }

    void edit(std::string& text, const std::string& other) {
        static const std::vector<std::string> kOdd = {
            "-",  "nan", "inf", "1e999", "-0", "0",    "99999999999999999999", "\n", "\r",
            "\"", "[",   "]",   "=",     ".",  "\xff", std::string(1, '\0')};
        const auto [at, length] = piece(text);
        const auto [from, taken] = piece(other);
        switch (below(6)) {
            case 0:
                if (at < text.size()) text[at] = static_cast<char>(text[at] ^ (1 << below(8)));
                break;
            case 1:
                text.erase(at, length);
                break;
            case 2:
                text.insert(at, text.substr(at, length));
                break;
            case 3:
                text.replace(at, length, other.substr(from, taken));
                break;
            case 4:
                text.replace(at, below(2) * length, kOdd[below(kOdd.size())]);
                break;
            default:
                text.resize(at);
        }
        text.resize(std::min(text.size(), kLongest));
    }
};

void feed(const std::string& bytes) {
    // NOLINTNEXTLINE(*-reinterpret-cast)
    LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
}

}  // namespace

int main(int count, char** arguments) {
    if (count != 3) return 2;
    std::vector<std::filesystem::path> files;
    for (const auto& entry : std::filesystem::directory_iterator(arguments[1]))
        files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    std::vector<std::string> seeds;
    for (const auto& file : files) {
        std::printf("%s\n", file.c_str());  // a crash is in the last one named
        std::fflush(stdout);
        std::ifstream in(file, std::ios::binary);
        seeds.emplace_back(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
        feed(seeds.back());
    }
    if (seeds.empty()) return 1;

    const std::string left = "failed-" + files.front().parent_path().filename().string();
    Noise noise;
    for (int i = std::atoi(arguments[2]); i > 0; --i) {
        std::string text = seeds[noise.below(seeds.size())];
        for (std::size_t edits = 1 + noise.below(kMostEdits); edits > 0; --edits)
            noise.edit(text, seeds[noise.below(seeds.size())]);
        std::ofstream(left, std::ios::binary) << text;
        feed(text);
    }
    std::filesystem::remove(left);
    return 0;
}
