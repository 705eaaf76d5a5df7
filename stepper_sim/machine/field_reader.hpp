/// Reads the fields of one TOML table into values: checks presence, type, unit and range, and
/// reports ALL that is wrong. A value that cannot be had comes back as T{} (need) or empty (maybe)
/// and leaves a diagnostic, so a reader goes on to the end of its table; whoever started the
/// reading looks at Faults last. A key that was never asked for is an error: finish() tells.
#pragma once

#include <cmath>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/machine/toml_node.hpp"

namespace stepper_sim::machine::reading {

/// Collects what is wrong with one reading. Keeps the first kMaxFaults; a file that bad is not a
/// machine file.
struct Faults {
    static constexpr std::size_t kMaxFaults = 100;
    std::vector<planner::Diagnostic> list;

    void add(planner::Diagnostic diagnostic) {
        if (!full()) {
            list.push_back(std::move(diagnostic));
        }
    }
    void add(const std::vector<planner::Diagnostic>& diagnostics) {
        for (const planner::Diagnostic& diagnostic : diagnostics) {
            add(diagnostic);
        }
    }
    bool full() const { return list.size() >= kMaxFaults; }
    /// Those of the file `first` before others, by place, each once.
    std::vector<planner::Diagnostic> in_order(const std::string& first) &&;
};

/// Admissible values, in SI. An open end excludes its value, and at a finite range's low end also what
/// lies nearer to it than any arithmetic survives: a denormal mass is no mass.
struct Range {
    static constexpr double kNearest = 1e-14;  // of the range
    double low = -std::numeric_limits<double>::infinity();
    double high = std::numeric_limits<double>::infinity();
    bool low_open = false;
    bool high_open = false;

    bool holds(double value) const {
        const double nearest =
            std::isfinite(low) && std::isfinite(high) ? kNearest * (high - low) : 0.0;
        return std::isfinite(value) && (low_open ? value > low + nearest : value >= low) &&
               (high_open ? value < high : value <= high);
    }
};
constexpr Range above_zero_to(double high) {
    return {0.0, high, true, false};
}
constexpr Range zero_to(double high) {
    return {0.0, high, false, false};
}
constexpr Range from_to(double low, double high) {
    return {low, high, false, false};
}

/// The value of a node as T: bool, int, double, std::string or a quantity of units.hpp. `key` names
/// it in messages. Errors: machine/wrong-type, machine/out-of-range and the units/ ids.
template <class T>
std::optional<T> value_of(const Node& node, const Range& range, const std::string& key,
                          Faults& faults);

/// What a value of type T looks like, for messages: `a voltage such as "24 V"`.
template <class T>
std::string kind_name();

class FieldReader {
  public:
    /// `path` names the table in messages, such as "axes.x"; empty for the whole file. Both
    /// references must outlive the reader.
    FieldReader(const Node& table, std::string path, Faults& faults);

    /// The field's node, or null. Asking makes the key a known one.
    const Node* find(std::string_view key);
    /// Likewise; absence is the error machine/missing-key, which says what `looks` would do.
    const Node* require(std::string_view key, const std::string& looks = {});

    template <class T>
    T need(std::string_view key, const Range& range = {}) {
        const Node* node = require(key, kind_name<T>());
        return node != nullptr ? value_of<T>(*node, range, full_name(key), *faults_).value_or(T{})
                               : T{};
    }
    template <class T>
    std::optional<T> maybe(std::string_view key, const Range& range = {}) {
        const Node* node = find(key);
        return node != nullptr ? value_of<T>(*node, range, full_name(key), *faults_) : std::nullopt;
    }
    /// Likewise where "guess" may stand, which says like its absence that nobody knows.
    template <class T>
    std::optional<T> maybe_guess(std::string_view key, const Range& range = {}) {
        return is_guess(find(key)) ? std::nullopt : maybe<T>(key, range);
    }
    template <class T>
    T value_or(std::string_view key, T absent, const Range& range = {}) {
        return maybe<T>(key, range).value_or(absent);
    }
    /// The place of the text in `names`, which are the only ones allowed. Error:
    /// machine/unknown-choice.
    std::optional<std::size_t> choice(std::string_view key, std::span<const std::string> names);

    /// A table or list below this one, or null; another type is the error machine/wrong-type.
    const Node* table(std::string_view key);
    const Node* list(std::string_view key);

    static bool is_guess(const Node* node) {
        return node != nullptr && node->kind == Node::Kind::text && node->text == "guess";
    }
    bool has(std::string_view key) const { return find_field(*table_, key) != nullptr; }
    std::string full_name(std::string_view key) const;
    Faults& faults() { return *faults_; }
    const Node& node() const { return *table_; }

    /// Reports the keys nobody asked for (machine/unknown-key). Call once, after the last field.
    void finish();

  private:
    const Node* of_kind(std::string_view key, Node::Kind kind, const char* expected);

    const Node* table_;
    std::string path_;
    Faults* faults_;
    std::vector<std::string> known_;
};

/// "'k' is not a table": a table is expected at `node`. True if it is one. Error:
/// machine/wrong-type.
bool is_table(const Node& node, const std::string& key, Faults& faults);

}  // namespace stepper_sim::machine::reading
