#include "stepper_sim/machine/text_file.hpp"

#include <fstream>

namespace stepper_sim::machine::reading {
namespace {

namespace fs = std::filesystem;

planner::Diagnostic fault(const char* id, const fs::path& file, std::string found,
                          std::string expected, std::string hint = {}) {
    return {id, {file.string(), 0, 0}, std::move(found), std::move(expected), std::move(hint)};
}

std::string kind_name(fs::file_type type) {
    if (type == fs::file_type::directory) {
        return "a folder";
    }
    if (type == fs::file_type::fifo) {
        return "a pipe";
    }
    return "not a regular file";
}

}  // namespace

planner::Result<std::string> read_text_file(const fs::path& file) {
    const std::string expected = "a file to read";
    std::error_code error;
    const fs::file_status status = fs::status(file, error);
    if (status.type() == fs::file_type::not_found) {
        return fault("machine/no-file", file, "no such file", expected);
    }
    if (status.type() == fs::file_type::none || status.type() == fs::file_type::unknown) {
        return fault("machine/unreadable-file", file, error.message(), expected);
    }
    if (!fs::is_regular_file(status)) {
        return fault("machine/unreadable-file", file, kind_name(status.type()), expected);
    }
    std::ifstream stream(file, std::ios::binary);
    if (!stream) {
        return fault("machine/unreadable-file", file, "a file that cannot be opened", expected,
                     "check its permissions");
    }
    // Read in pieces and not by the size told: some files tell none.
    std::string text;
    std::string piece(std::size_t{1} << 16U, '\0');
    while (stream && text.size() <= kMaxFile_bytes) {
        stream.read(piece.data(), static_cast<std::streamsize>(piece.size()));
        text.append(piece, 0, static_cast<std::size_t>(stream.gcount()));
    }
    if (stream.bad()) {
        return fault("machine/unreadable-file", file, "a file that cannot be read", expected);
    }
    if (text.size() > kMaxFile_bytes) {
        return fault("machine/file-too-large", file, "more than 4 MB", "a file of at most 4 MB");
    }
    return text;
}

}  // namespace stepper_sim::machine::reading
