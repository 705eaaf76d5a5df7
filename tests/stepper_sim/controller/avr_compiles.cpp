// Compiled with avr-g++ only: the whole pulse core, instantiated.
#include "stepper_sim/controller/line_steps.hpp"
#include "tests/outside/simavr/tick_queue.hpp"
#include "tests/stepper_sim/controller/accumulator.hpp"

using namespace stepper_sim::controller;

template class stepper_sim::controller::LineSteps<uint16_t, 4>;
template class stepper_sim::controller::LineSteps<uint32_t, 4>;
template class stepper_sim::controller::TickQueue<32>;

bool use(Accumulator& accumulator, TickQueue<32>& queue, TimedEvent& event) {
    return accumulator.next(0, 1) && queue.pop(event);
}
