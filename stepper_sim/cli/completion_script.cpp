#include "stepper_sim/cli/completion_script.hpp"

#include <fmt/core.h>

namespace stepper_sim::cli {

namespace {

bool is_option(const OptionRow& row) {
    return row.name.starts_with("--");
}

bool names_a_path(const OptionRow& row) {
    return row.value == "FILE" || row.value == "FOLDER";
}

std::string joined(std::span<const CommandRow> commands) {
    std::string out;
    for (const CommandRow& command : commands)
        out += (out.empty() ? "" : " ") + std::string(command.name);
    return out;
}

/// The names of those options of a command that `wanted` picks.
template <class Wanted>
std::string names(const CommandRow& command, Wanted&& wanted) {
    std::string out;
    for (const OptionRow& row : command.options)
        if (is_option(row) && wanted(row)) out += " " + std::string(row.name);
    return out;
}

/// In single quotes for either shell.
std::string quoted(std::string_view text) {
    std::string out = "'";
    for (const char c : text)
        out += c == '\'' ? std::string("'\\''") : std::string(1, c);
    return out + "'";
}

/// For the parts of a zsh specification: brackets and colons belong to its grammar.
std::string in_brackets(std::string_view text) {
    std::string out;
    for (const char c : text) {
        if (c == '[' || c == ']' || c == ':' || c == '\\') out += '\\';
        out += c;
    }
    return out;
}

std::string zsh_specification(const OptionRow& row) {
    const std::string action = names_a_path(row) ? "_files" : " ";
    if (!is_option(row))
        return quoted(fmt::format("{}:{}:{}", row.many ? "*" : "", in_brackets(row.help), action));
    std::string out = fmt::format("{}{}[{}]", row.many ? "*" : "", row.name, in_brackets(row.help));
    if (!row.value.empty()) out += fmt::format(":{}:{}", in_brackets(row.value), action);
    return quoted(out);
}

}  // namespace

std::string bash_completion(std::span<const CommandRow> commands) {
    std::string cases;
    for (const CommandRow& command : commands)
        cases += fmt::format("    {}) options='{} --help' paths='{}' values='{}' ;;\n",
                             command.name, names(command, [](const OptionRow&) { return true; }),
                             names(command, names_a_path), names(command, [](const OptionRow& row) {
                                 return !row.value.empty() && !names_a_path(row);
                             }));
    return fmt::format(R"(# Completion of stepper_sim for bash, made from its command table.
_stepper_sim() {{
  local word=${{COMP_WORDS[COMP_CWORD]}} before=${{COMP_WORDS[COMP_CWORD-1]}}
  local command=${{COMP_WORDS[1]}} options= paths= values=
  COMPREPLY=()
  if ((COMP_CWORD == 1)); then
    mapfile -t COMPREPLY < <(compgen -W '{} --help --version' -- "$word")
    return
  fi
  case $command in
{}    *) return ;;
  esac
  # What follows an option that takes a path, and what is no option, is completed as a file name.
  [[ " $paths " == *" $before "* ]] && return
  if [[ " $values " == *" $before "* ]]; then
    compopt +o default
  elif [[ $word == -* ]]; then
    mapfile -t COMPREPLY < <(compgen -W "$options" -- "$word")
  elif [[ $command == completion ]]; then
    mapfile -t COMPREPLY < <(compgen -W 'bash zsh' -- "$word")
  fi
}}
complete -o default -F _stepper_sim stepper_sim
)",
                       joined(commands), cases);
}

std::string zsh_completion(std::span<const CommandRow> commands) {
    std::string listed, cases;
    for (const CommandRow& command : commands) {
        listed += "    " +
                  quoted(fmt::format("{}:{}", command.name, in_brackets(command.summary))) + "\n";
        cases += fmt::format("    {}) _arguments", command.name);
        for (const OptionRow& row : command.options)
            cases += " \\\n      " + zsh_specification(row);
        cases += " ;;\n";
    }
    return fmt::format(R"(#compdef stepper_sim
# Completion of stepper_sim for zsh, made from its command table.
_stepper_sim() {{
  local -a commands
  commands=(
{})
  if ((CURRENT == 2)); then
    _describe command commands
    return
  fi
  local command=$words[2]
  shift words
  ((CURRENT--))
  case $command in
{}  esac
}}
if [[ $zsh_eval_context[-1] == loadautofunc ]]; then
  _stepper_sim "$@"
else
  compdef _stepper_sim stepper_sim
fi
)",
                       listed, cases);
}

}  // namespace stepper_sim::cli
