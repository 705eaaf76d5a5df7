# find_package(stepper_sim): targets stepper_sim::planner and stepper_sim::stepper_sim, and the folder of the catalogue in
# stepper_sim_CATALOGUE.
@PACKAGE_INIT@
# Before the packages found below, which set the prefix anew for themselves.
set_and_check(stepper_sim_CATALOGUE "@PACKAGE_catalogue@")
include(CMakeFindDependencyMacro)
find_dependency(Boost 1.74 CONFIG)
find_dependency(fmt)
find_dependency(TBB)
include("${CMAKE_CURRENT_LIST_DIR}/stepper_sim-targets.cmake")
