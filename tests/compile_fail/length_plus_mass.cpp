/// Must not compile: a length and a mass have no sum.
#include "planner/units/units.hpp"

int main() {
    const auto sum = planner::from_si<planner::Length>(1.0) + planner::from_si<planner::Mass>(1.0);
    return sum.value() > 0.0 ? 0 : 1;
}
