#include "stepper_sim/machine/nearest.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <vector>

namespace stepper_sim::machine::reading {
namespace {

const std::vector<std::string> kKeys = {"mass", "friction", "vertical", "max_speed"};

TEST(EditDistance, CountsEachKindOfEditOnce) {
    EXPECT_EQ(edit_distance("mass", "mass", 9), 0U);
    EXPECT_EQ(edit_distance("mas", "mass", 9), 1U);
    EXPECT_EQ(edit_distance("masss", "mass", 9), 1U);
    EXPECT_EQ(edit_distance("mess", "mass", 9), 1U);
    EXPECT_EQ(edit_distance("amss", "mass", 9), 1U);
    EXPECT_EQ(edit_distance("", "mass", 9), 4U);
    // The classic pair: two substitutions and one insertion.
    EXPECT_EQ(edit_distance("kitten", "sitting", 9), 3U);
}

TEST(EditDistance, StopsCaringAboveTheLimit) {
    EXPECT_EQ(edit_distance("kitten", "sitting", 2), 3U);
    EXPECT_EQ(edit_distance(std::string(100000, 'a'), "mass", 2), 3U);
}

TEST(Nearest, FindsAMistypedWordAndNotADifferentOne) {
    EXPECT_EQ(nearest("frction", kKeys), "friction");
    EXPECT_EQ(nearest("maxspeed", kKeys), "max_speed");
    EXPECT_EQ(nearest("colour", kKeys), "");
    EXPECT_EQ(nearest("mass", {}), "");
}

TEST(Suggest, ListsTheKnownWordsWhenNothingIsNear) {
    EXPECT_EQ(suggest("frction", kKeys), "did you mean 'friction'");
    EXPECT_EQ(suggest("colour", kKeys), "known here: mass, friction, vertical, max_speed");
}

RC_GTEST_PROP(EditDistance, IsSymmetricAndWithinTheLongerWord,
              (const std::string& a, const std::string& b)) {
    const std::size_t limit = std::max(a.size(), b.size());
    const std::size_t distance = edit_distance(a, b, limit);
    RC_ASSERT(distance == edit_distance(b, a, limit));
    RC_ASSERT(distance <= limit);
    RC_ASSERT((distance == 0) == (a == b));
}

}  // namespace
}  // namespace stepper_sim::machine::reading
