/// Must not compile: a speed is not comparable with an acceleration.
#include "planner/units/units.hpp"

int main() {
    return planner::from_si<planner::Speed>(1.0) < planner::from_si<planner::Acceleration>(1.0) ? 0
                                                                                                : 1;
}
