/// Writes a generated program of a given length: write_program print|milling MOVES FEED_MM_MIN FILE
#include <cstdlib>
#include <fstream>
#include <iostream>
#include <string_view>

#include "bench/milling_program.hpp"
#include "bench/print_program.hpp"

int main(int argc, char** argv) {
    using namespace stepper_sim::bench;
    if (argc != 5) {
        std::cerr << "write_program print|milling MOVES FEED_MM_MIN FILE\n";
        return 2;
    }
    const std::size_t moves = std::strtoul(argv[2], nullptr, 10);
    const double feed_mm_min = std::strtod(argv[3], nullptr);
    std::ofstream file(argv[4], std::ios::binary);
    file << (std::string_view(argv[1]) == "milling" ? milling_program(moves, feed_mm_min)
                                                    : print_program(moves, feed_mm_min));
    return file.flush() ? 0 : 1;
}
