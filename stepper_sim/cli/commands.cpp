#include <array>

#include "stepper_sim/cli/command_table.hpp"

namespace stepper_sim::cli {

std::span<const CommandRow> commands() {
    static const std::array kTable{kDescribeCommand, kCheckCommand,     kRatesCommand,
                                   kTorqueCommand,   kLimitsCommand,    kTrialCommand,
                                   kFitCommand,      kPulsesCommand,    kCaptureCommand,
                                   kPartsCommand,    kCompletionCommand};
    return kTable;
}

}  // namespace stepper_sim::cli
