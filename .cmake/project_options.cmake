# Warnings, language level and sanitizers for our own targets: link PRIVATE, never export.
find_program(CCACHE_PROGRAM ccache)
if(CCACHE_PROGRAM AND NOT CMAKE_CXX_COMPILER_LAUNCHER)
  set(CMAKE_CXX_COMPILER_LAUNCHER ${CCACHE_PROGRAM})
endif()

add_library(project_options INTERFACE)
target_compile_features(project_options INTERFACE cxx_std_20)
target_compile_options(project_options INTERFACE
  -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wsign-conversion -Wdouble-promotion -Wold-style-cast
  -Wimplicit-fallthrough -Wnull-dereference
  -ffp-contract=off)  # the same ticks on every machine: no fused multiply-add
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  # With optimisation g++ 12 warns of overlap and null pointers inside its own std::string where there are none
  # (GCC bugs 105651, 105762).
  target_compile_options(project_options INTERFACE $<$<NOT:$<CONFIG:Debug>>:-Wno-restrict>
    $<$<NOT:$<CONFIG:Debug>>:-Wno-null-dereference>)
  if(STEPPER_SIM_SANITIZE)
    # Under the sanitizers it takes std::regex for uninitialised (GCC bug 105562).
    target_compile_options(project_options INTERFACE -Wno-maybe-uninitialized)
  endif()
endif()
# Another release may warn of what is right, and a newcomer cannot do anything about it.
string(REGEX MATCH "^[0-9]+" compiler_release "${CMAKE_CXX_COMPILER_VERSION}")
set(tested_compilers GNU-12 GNU-14 Clang-14)  # the README names them
if(STEPPER_SIM_WERROR AND "${CMAKE_CXX_COMPILER_ID}-${compiler_release}" IN_LIST tested_compilers)
  target_compile_options(project_options INTERFACE -Werror)
elseif(STEPPER_SIM_WERROR)
  message(STATUS "note: warnings are not errors, since ${CMAKE_CXX_COMPILER_ID} ${CMAKE_CXX_COMPILER_VERSION} is not among the tested compilers")
endif()
if(STEPPER_SIM_SANITIZE)
  target_compile_options(project_options INTERFACE
    -fsanitize=${STEPPER_SIM_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer)
  target_link_options(project_options INTERFACE -fsanitize=${STEPPER_SIM_SANITIZE})
endif()
if(STEPPER_SIM_COVERAGE)
  target_compile_options(project_options INTERFACE --coverage -fprofile-update=single)  # lost counts do not matter, whether there is one does
  target_link_options(project_options INTERFACE --coverage)
endif()
