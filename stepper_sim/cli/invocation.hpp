/// A command line after parsing, and the table rows that describe commands. Rows are plain data: the parser (parse.cpp), the help and
/// the shell completions are all made from the same table.
#pragma once

#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace stepper_sim::cli {

enum class Exit : int { good = 0, fault = 1, unusable = 2 };

struct OptionRow {
    std::string_view name;   // "--speed", or the capitals name of a positional: "MACHINE"
    std::string_view value;  // name of its value in the help; empty for a flag
    std::string_view help;
    bool required = false;
    bool many = false;
};

/// What the user typed, by option name.
class Invocation {
  public:
    std::map<std::string, std::vector<std::string>, std::less<>> values;

    bool has(std::string_view name) const { return values.contains(name); }
    /// The first value of `name`, or `otherwise`.
    std::string text(std::string_view name, std::string_view otherwise = {}) const {
        const auto found = values.find(name);
        return found == values.end() || found->second.empty() ? std::string(otherwise)
                                                              : found->second.front();
    }
    std::vector<std::string> all(std::string_view name) const {
        const auto found = values.find(name);
        return found == values.end() ? std::vector<std::string>{} : found->second;
    }
};

struct CommandRow {
    std::string_view name;
    std::string_view summary;
    std::string_view example;  // shown at the end of its help
    std::span<const OptionRow> options;
    Exit (*run)(const Invocation& invocation);
};

/// Every command; defined in commands.cpp.
std::span<const CommandRow> commands();

/// Parses the command line. Returns the command and its invocation, or prints help or one line of error and returns the exit status.
struct Parsed {
    const CommandRow* command = nullptr;  // null: nothing to run, end with `exit`
    Invocation invocation;
    Exit exit = Exit::good;
};
Parsed parse(int argc, const char* const* argv);

}  // namespace stepper_sim::cli
