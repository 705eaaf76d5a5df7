// The one file that includes CLI11: it costs many seconds to compile.
#include <CLI/CLI.hpp>
#include <cstdio>

#include "stepper_sim/cli/invocation.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::cli {

namespace {

constexpr std::size_t kNameColumn = 26;

/// Help beside a column of names, inside the terminal's width; the parser indents what follows a break.
std::string beside_names(std::string_view help) {
    std::string lines = report::wrapped(help, 0, 0, report::kTextWidth - kNameColumn);
    lines.pop_back();
    return lines;
}

/// A command line that fits the terminal and can still be pasted: broken between words, not in quotes.
std::string pasteable(std::string_view example) {
    std::string out = "  ";
    std::size_t used = out.size();
    while (!example.empty()) {
        std::size_t end = 1;
        for (bool quoted = false; end < example.size() && (quoted || example[end] != ' '); ++end)
            if (example[end] == '"') quoted = !quoted;
        if (used + end + 2 > report::kTextWidth) {
            out += " \\\n   ";
            used = 3;
        }
        out += example.substr(0, end);
        used += end;
        example.remove_prefix(end);
    }
    return out;
}

void add_option(CLI::App& app, const OptionRow& row, Invocation& invocation) {
    const std::string name(row.name);
    const std::string help = beside_names(row.help);
    const CLI::callback_t keep = [&invocation, name](const CLI::results_t& results) {
        invocation.values[name] = results;
        return true;
    };
    if (row.value.empty() && name.starts_with("--")) {
        app.add_flag_callback(
            name, [&invocation, name] { invocation.values[name] = {}; }, help);
        return;
    }
    CLI::Option* option = app.add_option(name, keep, help);
    option->type_name(std::string(row.value));
    option->required(row.required);
    if (!row.many)
        option->expected(1);
    else if (name.starts_with("--"))
        option->type_size(1)->allow_extra_args(false)->multi_option_policy(
            CLI::MultiOptionPolicy::TakeAll);
    else
        option->expected(CLI::detail::expected_max_vector_size);
}

}  // namespace

Parsed parse(int argc, const char* const* argv) {
    Parsed parsed;
    CLI::App app("Checks stepper-driven machines for lost steps before their settings are flashed.",
                 "stepper_sim");
    app.set_version_flag("--version", std::string(report::kVersion));
    app.require_subcommand(1);
    app.get_formatter()->column_width(kNameColumn);
    app.footer(
        "Exit status: 0 clear or thin, 1 fault (or thin with --strict), 2 unusable input.\n"
        "A prediction is not a proof: first runs slow and unloaded, emergency stop in\nreach.");
    for (const CommandRow& row : commands()) {
        CLI::App* sub = app.add_subcommand(std::string(row.name), beside_names(row.summary));
        sub->footer("Example:\n" + pasteable(row.example));
        for (const OptionRow& option : row.options)
            add_option(*sub, option, parsed.invocation);
        sub->callback([&parsed, &row] { parsed.command = &row; });
    }
    try {
        app.parse(argc, argv);
    } catch (const CLI::Success& help) {
        app.exit(help);
        parsed.command = nullptr;
    } catch (const CLI::ParseError& error) {
        // The parser's own words for a mistyped command do not name it; say what was typed and where to look.
        std::string said = error.what();
        if (argc > 1 && said == "A subcommand is required")
            said = "'" + std::string(argv[1]) + "' is not a command";
        for (char& c : said)
            if (c == '\n') c = ' ';
        print_error(said + "; see 'stepper_sim --help'");
        parsed.command = nullptr;
        parsed.exit = Exit::unusable;
    }
    return parsed;
}

}  // namespace stepper_sim::cli
