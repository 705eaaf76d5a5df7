/// The makers of the styles: one per file. Only style.cpp's table calls them.
#pragma once

#include <memory>

#include "stepper_sim/controller/style.hpp"

namespace stepper_sim::controller {

std::unique_ptr<Style> make_ideal(const machine::Machine& machine);
std::unique_ptr<Style> make_line(const machine::Machine& machine);
std::unique_ptr<Style> make_fixed_rate(const machine::Machine& machine);
std::unique_ptr<Style> make_scheduled(const machine::Machine& machine);

}  // namespace stepper_sim::controller
