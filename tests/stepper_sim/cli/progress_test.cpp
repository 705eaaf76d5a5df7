#include <gtest/gtest.h>

#include <chrono>
#include <string>
#include <thread>

#include "stepper_sim/cli/terminal.hpp"

namespace {

using stepper_sim::cli::Progress;

/// What a wait of over a second shows on standard error, which is no terminal here.
std::string shown_half_way() {
    testing::internal::CaptureStderr();
    Progress progress("counting sheep");
    std::this_thread::sleep_for(std::chrono::milliseconds(1100));
    progress.share(0.5);
    progress.share(0.6);
    progress.done();
    return testing::internal::GetCapturedStderr();
}

TEST(Progress, OffATerminalItIsShownWhereItIsAskedFor) {
    EXPECT_EQ(shown_half_way(), "");
    Progress::show_everywhere();
    const std::string line = shown_half_way();
    EXPECT_TRUE(line.starts_with("counting sheep: 50 %, about ")) << line;
    EXPECT_TRUE(line.ends_with(" left\n")) << line;
    EXPECT_EQ(line.find('\r'), std::string::npos) << line;
}

}  // namespace
