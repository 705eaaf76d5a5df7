#include "stepper_sim/cli/output_file.hpp"

#include <fmt/core.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <iostream>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/cli/terminal.hpp"

namespace stepper_sim::cli {

namespace {

// Files being written, for the handler, which may touch nothing but these and system calls.
constexpr std::size_t kMostOpen = 8;
std::array<std::atomic<const char*>, kMostOpen> g_asides{};
static_assert(std::atomic<const char*>::is_always_lock_free);

void remove_and_die(int signal) {
    for (const std::atomic<const char*>& aside : g_asides)
        if (const char* path = aside.load()) unlink(path);
    // The handler is gone by now (SA_RESETHAND): the caller sees death by this very signal.
    kill(getpid(), signal);
}

/// Unless whoever started the program wants the signal ignored.
void remove_on(int signal) {
    struct sigaction action {
    }, before{};
    action.sa_handler = remove_and_die;
    action.sa_flags = static_cast<int>(SA_RESETHAND);
    if (sigaction(signal, nullptr, &before) == 0 && before.sa_handler == SIG_DFL)
        sigaction(signal, &action, nullptr);
}

/// From here on an interrupt removes `aside`, which must stay where it is until forget().
void remember(const char* aside) {
    for (const int signal : {SIGINT, SIGTERM, SIGHUP})
        remove_on(signal);
    for (std::atomic<const char*>& place : g_asides) {
        const char* none = nullptr;
        if (place.compare_exchange_strong(none, aside)) return;
    }
}

void forget(const char* aside) {
    for (std::atomic<const char*>& place : g_asides) {
        const char* known = aside;
        if (place.compare_exchange_strong(known, nullptr)) return;
    }
}

}  // namespace

OutputFile::OutputFile(std::string path) : path_(std::move(path)) {
    if (to_output()) return;
    std::error_code error;
    const auto status = std::filesystem::status(path_, error);
    device_ = std::filesystem::exists(status) && !std::filesystem::is_regular_file(status) &&
              !std::filesystem::is_directory(status);
    aside_ = device_ ? path_ : fmt::format("{}.part-{}", path_, getpid());
    if (!device_) remember(aside_.c_str());
    errno = 0;
    file_.open(aside_, std::ios::binary | std::ios::trunc);
    if (!file_) why_ = errno;
    waiting_ = file_.is_open();
}

OutputFile::~OutputFile() {
    file_.close();
    if (waiting_ && !device_) std::remove(aside_.c_str());
    forget(aside_.c_str());
}

std::ostream& OutputFile::stream() {
    if (to_output()) return std::cout;
    return file_;
}

bool OutputFile::finish() {
    errno = 0;
    stream().flush();
    bool whole = stream().good();
    if (!to_output()) {
        file_.close();
        whole = whole && file_.good();
        if (whole && !device_ && std::rename(aside_.c_str(), path_.c_str()) != 0) whole = false;
    }
    if (whole) {
        waiting_ = false;
        return true;
    }
    const int why = why_ != 0 ? why_ : errno;
    print_error(fmt::format("cannot write {}: {}",
                            to_output() ? "to standard output" : planner::printable(path_, 200),
                            why != 0 ? std::strerror(why) : "the device took no more"));
    return false;
}

}  // namespace stepper_sim::cli
