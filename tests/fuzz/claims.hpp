/// What every fuzzer claims of what a reader says. A claim that fails ends the program, which the fuzzer takes for a finding.
#pragma once

#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

#include "planner/units/diagnostic.hpp"

// libFuzzer's name for it.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace fuzz {

inline std::string_view text_of(const std::uint8_t* data, std::size_t size) {
    return {reinterpret_cast<const char*>(data), size};  // NOLINT(*-reinterpret-cast)
}

inline void require(bool claim) {
    if (!claim) std::abort();
}

/// A value or diagnostics, never both or neither; each diagnostic is one line of at most `longest` characters.
template <class T>
void require_value_or_lines(const planner::Result<T>& result, std::size_t longest) {
    require(static_cast<bool>(result) == result.diagnostics().empty());
    for (const planner::Diagnostic& diagnostic : result.diagnostics()) {
        const std::string line = planner::to_line(diagnostic);
        require(line.size() <= longest && line.find('\n') == std::string::npos);
    }
}

}  // namespace fuzz
