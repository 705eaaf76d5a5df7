# No debug information: it costs a third of the time. The tests of the core are built once more, with sanitizers (asan.cmake).
set(CMAKE_BUILD_TYPE Release CACHE STRING "")
set(CMAKE_CXX_FLAGS_RELEASE "-O2 -DNDEBUG" CACHE STRING "")
set(STEPPER_SIM_WERROR ON CACHE BOOL "")
set(STEPPER_SIM_SUITES "core;whole" CACHE STRING "")
