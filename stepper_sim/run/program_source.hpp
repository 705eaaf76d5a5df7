/// Where a program comes from: a file of G-code, or moves made up in memory (worst_moves.hpp). The pipeline reads
/// either, as often as it needs to.
#pragma once

#include <concepts>
#include <filesystem>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "planner/path/move.hpp"

namespace stepper_sim::run {

class ProgramSource {
  public:
    template <class File>
    requires std::convertible_to<File, std::filesystem::path>
    // NOLINTNEXTLINE(bugprone-forwarding-reference-overload): it takes nothing but paths
    ProgramSource(File&& file) : file_(std::forward<File>(file)), name_(file_.string()) {}

    /// Moves in machine coordinates, each beginning where the one before ends; `name` stands for
    /// the file in reports.
    ProgramSource(std::string name, std::vector<planner::Move> moves)
        : name_(std::move(name)),
          moves_(std::make_shared<const std::vector<planner::Move>>(std::move(moves))) {}

    const std::string& name() const { return name_; }
    const std::filesystem::path& file() const { return file_; }
    /// Null where the program is a file.
    const std::vector<planner::Move>* moves() const { return moves_.get(); }

  private:
    std::filesystem::path file_;
    std::string name_;
    std::shared_ptr<const std::vector<planner::Move>> moves_;
};

}  // namespace stepper_sim::run
