#include "stepper_sim/run/binding.hpp"

namespace stepper_sim::run {

std::string_view to_word(Binding binding) {
    switch (binding) {
        case Binding::none:
            return "nothing";
        case Binding::driver:
            return "driver";
        case Binding::controller:
            return "controller";
        case Binding::tick:
            return "tick";
        case Binding::torque:
            return "torque";
        case Binding::curve_end:
            return "curve's end";
        case Binding::start_step:
            return "start step";
        case Binding::resonance:
            return "resonance";
        case Binding::instability:
            return "instability";
        case Binding::screw_whip:
            return "screw whip";
        case Binding::travel:
            return "travel";
        case Binding::path_cap:
            return "path cap";
        case Binding::top_speed:
            break;
    }
    return "top speed";
}

}  // namespace stepper_sim::run
