# find_package(stepper_sim): targets stepper_sim::planner and stepper_sim::stepper_sim.
include(CMakeFindDependencyMacro)
find_dependency(Boost 1.74)
find_dependency(fmt)
find_dependency(TBB)
include("${CMAKE_CURRENT_LIST_DIR}/stepper_sim-targets.cmake")
