// The program as it is, but each error's line begins with its id: the linker puts this function in the place of
// planner::to_line (--wrap in CMakeLists.txt), since users see no ids and the examples in errors.txt have to be told apart by them.
#include "planner/units/diagnostic.hpp"

// _ZN7planner7to_lineB5cxx11ERKNS_10DiagnosticE is to_line(const planner::Diagnostic&) to the linker.
std::string own_line(const planner::Diagnostic& diagnostic) asm(
    "__real__ZN7planner7to_lineB5cxx11ERKNS_10DiagnosticE");
std::string line_with_id(const planner::Diagnostic& diagnostic) asm(
    "__wrap__ZN7planner7to_lineB5cxx11ERKNS_10DiagnosticE");

std::string line_with_id(const planner::Diagnostic& diagnostic) {
    return '[' + diagnostic.id + "] " + own_line(diagnostic);
}
