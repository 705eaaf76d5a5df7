/// Where a program comes from: a file of G-code, the same read once and kept as moves (plan_file.hpp), or moves made up in memory
/// (worst_moves.hpp). The pipeline goes over each as often as it needs to.
#pragma once

#include <concepts>
#include <filesystem>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "planner/path/move.hpp"
#include "planner/program/program_notes.hpp"

namespace stepper_sim::run {

/// A program as the path has it: no setting of an axis has touched it yet.
struct ProgramMoves {
    std::vector<planner::Move>
        moves;  // in machine coordinates, each beginning where the one before ends
    planner::ProgramNotes notes;
    double trailing_rest_s = 0.0;  // dwells that no move followed
};

class ProgramSource {
  public:
    template <class File>
    requires std::convertible_to<File, std::filesystem::path>
    // NOLINTNEXTLINE(bugprone-forwarding-reference-overload): it takes nothing but paths
    ProgramSource(File&& file) : file_(std::forward<File>(file)), name_(file_.string()) {}

    /// Made up; `name` stands for the file in reports.
    ProgramSource(std::string name, std::vector<planner::Move> moves) : name_(std::move(name)) {
        ProgramMoves made_up;
        made_up.moves = std::move(moves);
        made_up.notes.units_stated = true;
        moves_ = std::make_shared<const ProgramMoves>(std::move(made_up));
    }

    /// This file, whose moves were read.
    ProgramSource with(ProgramMoves moves) const {
        ProgramSource out = *this;
        out.moves_ = std::make_shared<const ProgramMoves>(std::move(moves));
        return out;
    }

    const std::string& name() const { return name_; }
    const std::filesystem::path& file() const { return file_; }
    bool made_up() const { return file_.empty(); }
    /// Null where the file's text is to be read.
    const ProgramMoves* moves() const { return moves_.get(); }

  private:
    std::filesystem::path file_;
    std::string name_;
    std::shared_ptr<const ProgramMoves> moves_;
};

}  // namespace stepper_sim::run
