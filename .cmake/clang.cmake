# A second compiler, and what only it can do in one build: address and undefined-behaviour sanitizers, fuzzers.
# A variable read before it is set holds a pattern, so that the tests see it.
set(CMAKE_C_COMPILER clang CACHE STRING "")
set(CMAKE_CXX_COMPILER clang++ CACHE STRING "")
set(CMAKE_BUILD_TYPE RelWithDebInfo CACHE STRING "")
set(CMAKE_CXX_FLAGS_RELWITHDEBINFO "-O1 -g1 -ftrivial-auto-var-init=pattern" CACHE STRING "")
set(STEPPER_SIM_WERROR ON CACHE BOOL "")
set(STEPPER_SIM_SANITIZE "address,undefined" CACHE STRING "")
set(STEPPER_SIM_FUZZ ON CACHE BOOL "")
