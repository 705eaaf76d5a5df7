/// What is wrong with a user's input, and the result type every reader returns.
/// A reader reports ALL errors it finds; a caller prints them one line each and ends with exit
/// status 2. What a legal machine cannot do is not a Diagnostic but a Finding
/// (stepper_sim/check/finding.hpp).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace planner {

/// A place in a text; line and column count from 1, and 0 means "the whole file".
struct Place {
    std::string file;
    std::uint64_t line = 0;
    std::uint64_t column = 0;
};

struct Diagnostic {
    std::string id;  // stable, such as "units/wrong-kind"; see DEVELOPERS.md#errors
    Place place;
    std::string found;     // what stands there, quoted from the input and shortened
    std::string expected;  // what would have been right
    std::string hint;      // the remedy; may be empty
};

/// "file:3:7: found '12 parsecs', expected a length such as \"8 mm\"; did you mean ...": always one
/// line, control characters of the input shown as '?', never longer than about 300 bytes.
std::string to_line(const Diagnostic& diagnostic);

/// Text made safe to print on one line: control and non-UTF-8 bytes become '?', longer than `limit`
/// bytes is cut with "...".
std::string printable(std::string_view text, std::size_t limit = 60);

/// A value, or the reasons why there is none. Holds a value exactly when there are no diagnostics.
template <class T>
class [[nodiscard]] Result {
  public:
    Result(T value) : value_(std::move(value)) {}  // NOLINT(google-explicit-constructor)
    Result(std::vector<Diagnostic> diagnostics)
        : diagnostics_(std::move(diagnostics)) {}  // NOLINT(google-explicit-constructor)
    Result(Diagnostic diagnostic) {
        diagnostics_.push_back(std::move(diagnostic));
    }  // NOLINT(google-explicit-constructor)

    explicit operator bool() const { return value_.has_value(); }
    const T& value() const& { return value_.value(); }
    const std::vector<Diagnostic>& diagnostics() const& { return diagnostics_; }
    // By value from a temporary, so that "for (... : read(file).diagnostics())" is safe.
    T value() && { return std::move(value_).value(); }
    std::vector<Diagnostic> diagnostics() && { return std::move(diagnostics_); }

  private:
    std::optional<T> value_;
    std::vector<Diagnostic> diagnostics_;
};

}  // namespace planner
