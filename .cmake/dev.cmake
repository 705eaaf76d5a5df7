# Quick to build, and quick enough to simulate: without optimisation the full motor model is ten times slower.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_CXX_FLAGS_DEBUG "-O1 -g" CACHE STRING "")
