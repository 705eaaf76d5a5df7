#include "stepper_sim/limits/search_progress.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <vector>

namespace stepper_sim::limits {
namespace {

constexpr std::array kStages{SearchStage::alone, SearchStage::settling, SearchStage::raising,
                             SearchStage::with_margin};

/// What is shown where every stage asks so many questions; the last entry of each stage in `ends`.
std::vector<double> shown(std::size_t programs, int questions,
                          std::vector<double>* ends = nullptr) {
    std::vector<double> all;
    SearchProgress progress([&](double share) { all.push_back(share); }, 4, programs);
    for (const SearchStage stage : kStages) {
        progress.begin(stage);
        if (ends != nullptr) ends->push_back(all.back());
        for (int i = 0; i < questions; ++i)
            progress.asked();
    }
    progress.done();
    return all;
}

TEST(SearchProgress, NeverGoesBackNorBeyondOne) {
    for (const std::size_t programs : {0U, 1U, 7U})
        for (const int questions : {0, 3, 80, 1000}) {
            const std::vector<double> all = shown(programs, questions);
            EXPECT_TRUE(std::ranges::is_sorted(all)) << programs << " " << questions;
            EXPECT_GE(all.front(), 0.0);
            EXPECT_EQ(all.back(), 1.0);
        }
}

TEST(SearchProgress, EveryQuestionMovesIt) {
    const std::vector<double> all = shown(1, 20);
    EXPECT_EQ(std::ranges::adjacent_find(all.begin(), all.begin() + 20, std::greater_equal<>()),
              all.begin() + 20);
}

TEST(SearchProgress, ProgramsMakeTheLaterStagesLonger) {
    std::vector<double> without, with;
    shown(0, 0, &without);
    shown(2, 0, &with);
    ASSERT_EQ(with.size(), kStages.size());
    EXPECT_LT(with[1], without[1]);                         // each axis alone
    EXPECT_GT(with[3] - with[1], without[3] - without[1]);  // together
}

}  // namespace
}  // namespace stepper_sim::limits
