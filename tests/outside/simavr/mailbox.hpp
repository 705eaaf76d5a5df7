/// What the test and the simulated part share in the part's memory. The test plays the planner: it
/// fills the rings, the interrupt empties them. The firmware is compiled from this; the test finds
/// the variables by name and reads them byte by byte: the part stores members without gaps, low
/// byte first.
#pragma once

#include <stdint.h>  // NOLINT(modernize-deprecated-headers): avr-gcc has no <cstdint>

namespace step_part {

constexpr uint8_t kMotors = 4;
constexpr uint8_t kRing = 64;

/// What an entry of the event ring asks for, in TimedEvent::motors.
constexpr uint16_t kWait = 0, kStep = 1, kFirstStep = 2;  // kFirstStep: the next move begins

/// A move on its way to the part: the test fills it in and sets `full`, the main loop clears it.
struct MoveBox {
    volatile uint8_t full;
    volatile uint8_t directions;  // one bit per motor, 1: up
    uint16_t steps[kMotors];
};

/// What the part and the test tell each other.
struct Status {
    volatile uint8_t moves_ready;  // moves the main loop has prepared, modulo 256
    volatile uint8_t go;           // set by the test: start the timer
    volatile uint8_t ran_dry;      // set by the interrupt: the ring was empty
    volatile uint8_t ready;        // set by the part: its memory is cleared, feeding may begin
};

}  // namespace step_part
