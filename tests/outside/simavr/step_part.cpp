// Reference step interrupt of the `line` style for an 8-bit part, built from the pulse core. Step
// lines: port B, bits 0 to 3; direction lines: port C, bits 0 to 3. Timer 1 runs freely at an
// eighth of the clock.  The interrupt first shows what the one before worked out: directions,
// then, the set-up time later, steps; it sets the timer for the next event while the pulse is
// high, ends the pulse, and works out the next event. So the pins move at fixed cycles after the
// timer, whatever the event takes to work out.
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

#include "mailbox.hpp"
#include "stepper_sim/controller/line_steps.hpp"
#include "tests/outside/simavr/tick_queue.hpp"

using namespace step_part;
using stepper_sim::controller::LineSteps;
using stepper_sim::controller::TickQueue;
using stepper_sim::controller::TimedEvent;

namespace {

// Fill set-up and pulse up to 32 cycles (2 us) each; what they take is measured by simavr_test.cpp. What the code between takes
// differs by compiler: avr-gcc 14 makes two cycles less of it than 5.4.
constexpr uint8_t kSetUpPadding_cycles = __GNUC__ < 14 ? 2 : 4;
constexpr uint8_t kPulsePadding_cycles = 21;

constexpr uint8_t kMoves = 4;

struct Block {
    LineSteps<uint16_t, kMotors> line;
    uint8_t directions;
};

Block blocks[kMoves];
uint8_t block_written = 0;
volatile uint8_t block_read = 0xFF;  // the move being stepped
uint8_t steps_now = 0, directions_now = 0x0F;

}  // namespace

// Found by name by the test.
TickQueue<kRing> ring;
MoveBox box;
Status status;

ISR(TIMER1_COMPA_vect) {
    const uint8_t steps = steps_now;
    PORTC = directions_now;
    TimedEvent next{0, kWait};
    const bool more = ring.pop(next);
    __builtin_avr_delay_cycles(kSetUpPadding_cycles);
    PORTB = steps;
    OCR1A = static_cast<uint16_t>(OCR1A + next.wait_ticks);
    __builtin_avr_delay_cycles(kPulsePadding_cycles);
    PORTB = 0;
    uint8_t stepping = 0;
    if (!more) {
        TIMSK1 = 0;
        status.ran_dry = 1;
    } else if (next.motors != kWait) {
        if (next.motors == kFirstStep) {
            block_read = static_cast<uint8_t>(block_read + 1);
            directions_now = blocks[block_read % kMoves].directions;
        }
        stepping = static_cast<uint8_t>(blocks[block_read % kMoves].line.next());
    }
    steps_now = stepping;
}

int main() {
    DDRB = 0x0F;
    DDRC = 0x0F;
    PORTC = 0x0F;
    status.ready = 1;
    set_sleep_mode(SLEEP_MODE_IDLE);
    bool running = false;
    for (;;) {
        const auto waiting = static_cast<uint8_t>(block_written - block_read - 1);
        if (box.full != 0 && waiting < kMoves - 1) {
            Block& block = blocks[block_written % kMoves];
            block.line.begin(box.steps);
            block.directions = box.directions;
            block_written = static_cast<uint8_t>(block_written + 1);
            status.moves_ready = block_written;
            box.full = 0;
        }
        if (!running && status.go != 0) {
            running = true;
            TCNT1 = 0;
            OCR1A = 100;
            TIFR1 = _BV(OCF1A);
            TIMSK1 = _BV(OCIE1A);
            TCCR1B = _BV(CS11);
            sei();
        }
        if (running) sleep_mode();
    }
}
