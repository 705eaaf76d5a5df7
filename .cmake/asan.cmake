# The tests of the core under the address and undefined-behaviour sanitizers, and which lines they run.
set(CMAKE_BUILD_TYPE RelWithDebInfo CACHE STRING "")
set(CMAKE_CXX_FLAGS_RELWITHDEBINFO "-O1 -g1" CACHE STRING "")
set(STEPPER_SIM_WERROR ON CACHE BOOL "")
set(STEPPER_SIM_SANITIZE "address,undefined" CACHE STRING "")
set(STEPPER_SIM_SUITES core CACHE STRING "")
set(STEPPER_SIM_COVERAGE ON CACHE BOOL "")
