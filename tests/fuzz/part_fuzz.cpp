// Part files: any bytes, read as motor, driver and controller, give a part or diagnostics of one short line each.
#include <sys/mman.h>
#include <unistd.h>

#include "claims.hpp"
#include "stepper_sim/machine/read_parts.hpp"

namespace {

/// A file in memory, empty.
int memory_file() {
    const int file = memfd_create("part.toml", 0);
    fuzz::require(file >= 0);
    return file;
}

}  // namespace

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const int file = memory_file();
    static const std::string path = "/proc/self/fd/" + std::to_string(file);
    fuzz::require(ftruncate(file, 0) == 0);
    fuzz::require(pwrite(file, data, size, 0) == static_cast<ssize_t>(size));
    fuzz::require_value_or_lines(stepper_sim::machine::read_motor(path), 300);
    fuzz::require_value_or_lines(stepper_sim::machine::read_driver(path), 300);
    fuzz::require_value_or_lines(stepper_sim::machine::read_controller(path), 300);
    return 0;
}
