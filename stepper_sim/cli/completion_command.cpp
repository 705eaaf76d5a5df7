#include <array>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/completion_script.hpp"
#include "stepper_sim/cli/terminal.hpp"

namespace stepper_sim::cli {

namespace {

constexpr auto kOptions = std::to_array<OptionRow>({
    {"SHELL", "SHELL", "bash or zsh", true, false},
});

Exit run(const Invocation& invocation) {
    const std::string shell = invocation.text("SHELL");
    if (shell != "bash" && shell != "zsh") {
        print_error("SHELL: found '" + planner::printable(shell) + "', expected bash or zsh");
        return Exit::unusable;
    }
    const std::string script =
        shell == "bash" ? bash_completion(commands()) : zsh_completion(commands());
    return print(script) ? Exit::good : Exit::unusable;
}

}  // namespace

const CommandRow kCompletionCommand{"completion",
                                    "what the tab key offers: a script for bash or zsh",
                                    "stepper_sim completion bash", kOptions, run};

}  // namespace stepper_sim::cli
