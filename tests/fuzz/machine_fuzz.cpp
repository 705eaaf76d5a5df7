// Machine files: any bytes give a Machine or diagnostics of one short line each. Parts are read within the file;
// part_fuzz.cpp has them in files of their own.
#include "claims.hpp"
#include "stepper_sim/machine/read_machine.hpp"

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::require_value_or_lines(
        stepper_sim::machine::read_machine_text(fuzz::text_of(data, size), "fuzz.toml", {}), 300);
    return 0;
}
