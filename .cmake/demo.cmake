# The program as users run it: no tests, no debug information. It also overrules what an older build/demo remembers.
set(CMAKE_BUILD_TYPE Release CACHE STRING "" FORCE)
set(CMAKE_CXX_FLAGS_RELEASE "-O2 -DNDEBUG" CACHE STRING "" FORCE)
set(STEPPER_SIM_TESTS OFF CACHE BOOL "" FORCE)
