#include "stepper_sim/cli/output_file.hpp"

#include <fmt/core.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <iostream>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/cli/terminal.hpp"

namespace stepper_sim::cli {

OutputFile::OutputFile(std::string path) : path_(std::move(path)) {
    if (to_output()) return;
    std::error_code error;
    const auto status = std::filesystem::status(path_, error);
    device_ = std::filesystem::exists(status) && !std::filesystem::is_regular_file(status) &&
              !std::filesystem::is_directory(status);
    aside_ = device_ ? path_ : fmt::format("{}.part-{}", path_, getpid());
    errno = 0;
    file_.open(aside_, std::ios::binary | std::ios::trunc);
    if (!file_) why_ = errno;
    waiting_ = file_.is_open();
}

OutputFile::~OutputFile() {
    file_.close();
    if (waiting_ && !device_) std::remove(aside_.c_str());
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
