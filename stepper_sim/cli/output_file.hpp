/// A file written piece by piece beside its place and renamed when whole, so that a half-written
/// one is never taken for whole; "-" is standard output. For whole texts: write_file, terminal.hpp.
#pragma once

#include <fstream>
#include <ostream>
#include <string>

namespace stepper_sim::cli {

class OutputFile {
  public:
    explicit OutputFile(std::string path);
    OutputFile(const OutputFile&) = delete;
    OutputFile& operator=(const OutputFile&) = delete;
    ~OutputFile();  // removes what was not finished

    std::ostream& stream();
    bool good() { return stream().good(); }
    /// Puts the file in its place; false, with an error printed, when that or any write failed.
    [[nodiscard]] bool finish();

  private:
    bool to_output() const { return path_ == "-"; }

    std::string path_, aside_;
    bool device_ = false;  // written in place: a device or pipe cannot be renamed over
    bool waiting_ = false;
    int why_ = 0;
    std::ofstream file_;
};

}  // namespace stepper_sim::cli
