#include <csignal>
#include <exception>

#include "stepper_sim/cli/invocation.hpp"
#include "stepper_sim/cli/terminal.hpp"

int main(int argc, char** argv) {
    using namespace stepper_sim::cli;
    // A closed pipe is then an error of the write call, reported like any other.
    std::signal(SIGPIPE, SIG_IGN);
    try {
        const Parsed parsed = parse(argc, argv);
        if (parsed.invocation.has("--progress")) Progress::show_everywhere();
        const Exit exit =
            parsed.command != nullptr ? parsed.command->run(parsed.invocation) : parsed.exit;
        return static_cast<int>(exit);
    } catch (const std::exception& error) {
        print_error(std::string("internal error: ") + error.what());
        return static_cast<int>(Exit::unusable);
    }
}
