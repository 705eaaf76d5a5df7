/// Runs the built program as a user would and keeps what it printed.
#pragma once

#include <gtest/gtest.h>
#include <sys/wait.h>

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

namespace stepper_sim::samples {

struct Ran {
    int exit = -1;
    std::string out, err;
};

/// `arguments` as typed in a shell; standard input is empty.
inline Ran run_tool(const std::string& arguments) {
    static int count = 0;
    const auto errors =
        std::filesystem::temp_directory_path() /
        ("stepper_sim-err-" + std::to_string(getpid()) + "-" + std::to_string(count++));
    const std::string line = std::string(STEPPER_SIM_PROGRAM) + " " + arguments + " 2>" +
                             errors.string() + " </dev/null";
    Ran ran;
    std::FILE* pipe = popen(line.c_str(), "r");
    if (pipe == nullptr) return ran;
    std::array<char, 4096> block{};
    while (const std::size_t got = std::fread(block.data(), 1, block.size(), pipe))
        ran.out.append(block.data(), got);
    const int status = pclose(pipe);
    ran.exit = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    std::ifstream in(errors, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    ran.err = text.str();
    std::filesystem::remove(errors);
    return ran;
}

}  // namespace stepper_sim::samples
