/// The rows of the command table: a new command is one file and one row here and in commands.cpp.
#pragma once

#include "stepper_sim/cli/invocation.hpp"

namespace stepper_sim::cli {

extern const CommandRow kCheckCommand;
extern const CommandRow kRatesCommand;
extern const CommandRow kTorqueCommand;
extern const CommandRow kLimitsCommand;
extern const CommandRow kTrialCommand;
extern const CommandRow kFitCommand;
extern const CommandRow kDescribeCommand;
extern const CommandRow kPartsCommand;
extern const CommandRow kPulsesCommand;
extern const CommandRow kCaptureCommand;
extern const CommandRow kCompletionCommand;

}  // namespace stepper_sim::cli
