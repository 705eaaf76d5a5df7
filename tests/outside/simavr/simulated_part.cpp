#include "simulated_part.hpp"

#include <sim_avr.h>
#include <sim_elf.h>
#include <sim_interrupts.h>

#include <avr_ioport.h>

#include <algorithm>
#include <cstdlib>
#include <cstring>
#include <stdexcept>

#include "mailbox.hpp"

namespace stepper_sim::testing {
namespace {

constexpr std::uint8_t kTimer1CompareA = 11;    // vector number of the ATmega328P
constexpr std::uint32_t kDataSpace = 0x800000;  // where the linker puts memory addresses
constexpr std::int64_t kLead_ticks = 400;       // from the priming interrupt to the first event

class Part {
  public:
    Part(const std::string& elf, const std::vector<PartMove>& moves,
         const std::vector<PartEvent>& events)
        : moves_(moves), events_(events) {
        elf_firmware_t firmware{};
        if (elf_read_firmware(elf.c_str(), &firmware) != 0) {
            throw std::runtime_error("cannot read " + elf);
        }
        avr_ = avr_make_mcu_by_name("atmega328p");
        avr_init(avr_);
        avr_load_firmware(avr_, &firmware);
        avr_->frequency = 16'000'000;
        avr_->log = 0;
        avr_->sleep = [](avr_t*, avr_cycle_count_t) {};
        ring_ = address(firmware, "ring");
        box_ = address(firmware, "box");
        status_ = address(firmware, "status");
        for (std::uint8_t bit = 0; bit < 4; ++bit) {
            watch_pin('B', bit, bit);
            watch_pin('C', bit, static_cast<std::uint8_t>(bit + 4));
        }
        avr_irq_register_notify(avr_get_interrupt_irq(avr_, kTimer1CompareA) + AVR_INT_IRQ_RUNNING,
                                on_handler, this);
        before_ = events.front().tick - kLead_ticks;
    }
    Part(const Part&) = delete;
    Part& operator=(const Part&) = delete;
    ~Part() {
        avr_terminate(avr_);
        std::free(avr_);  // NOLINT(cppcoreguidelines-no-malloc): simavr allocates it so
    }

    PartRun run() {
        while (!finished_ && !lost_match_) {
            constexpr int kBetweenFeeds = 16;
            for (int i = 0; i < kBetweenFeeds && !finished_; ++i) {
                const int state = avr_run(avr_);
                if (state == cpu_Done || state == cpu_Crashed) return run_;
                finished_ = avr_->data[status_ + 2] != 0;
            }
            feed();
        }
        for (int i = 0; i < 400; ++i)
            avr_run(avr_);  // the last handler to its end
        run_.complete = next_event_ == events_.size() && !lost_match_;
        run_.last_cycle = avr_->cycle;
        return std::move(run_);
    }

  private:
    struct Pin {
        Part* part;
        std::uint8_t pin;
    };

    static std::uint16_t address(const elf_firmware_t& firmware, const char* name) {
        for (std::uint32_t i = 0; i < firmware.symbolcount; ++i) {
            if (std::strcmp(firmware.symbol[i]->symbol, name) == 0) {
                return static_cast<std::uint16_t>(firmware.symbol[i]->addr - kDataSpace);
            }
        }
        throw std::runtime_error(std::string("the firmware has no ") + name);
    }

    void watch_pin(char port, std::uint8_t bit, std::uint8_t pin) {
        pins_[pin] = {this, pin};
        avr_irq_register_notify(
            avr_io_getirq(avr_, static_cast<std::uint32_t>(AVR_IOCTL_IOPORT_GETIRQ(port)), bit),
            on_pin, &pins_[pin]);
    }

    static void on_pin(avr_irq_t*, std::uint32_t value, void* param) {
        const Pin& pin = *static_cast<Pin*>(param);
        if (!pin.part->started_) return;  // the ports' first setting
        pin.part->run_.pins.push_back({pin.part->avr_->cycle, pin.pin, value != 0});
    }

    static void on_handler(avr_irq_t*, std::uint32_t value, void* param) {
        Part& part = *static_cast<Part*>(param);
        if (value != 0) {
            constexpr std::uint64_t kTurn_cycles = 8 * 65536;
            const std::uint64_t since = part.avr_->cycle - part.entered_;
            if (part.entered_ != 0 && since >= kTurn_cycles) part.lost_match_ = true;
            part.entered_ = part.avr_->cycle;
        } else {
            part.run_.handler_cycles.push_back(
                static_cast<std::uint32_t>(part.avr_->cycle - part.entered_));
        }
    }

    void put16(std::size_t at, std::uint16_t value) {
        avr_->data[at] = static_cast<std::uint8_t>(value & 0xFF);
        avr_->data[at + 1] = static_cast<std::uint8_t>(value >> 8);
    }

    void feed() {
        if (avr_->data[status_ + 3] == 0) return;
        const std::uint8_t ready = avr_->data[status_];
        prepared_ += static_cast<std::uint8_t>(ready - static_cast<std::uint8_t>(prepared_));
        if (avr_->data[box_] == 0 && next_move_ < moves_.size()) {
            const PartMove& move = moves_[next_move_++];
            avr_->data[box_ + 1] = move.directions;
            for (std::size_t m = 0; m < 4; ++m)
                put16(box_ + 2U + 2 * m, move.steps[m]);
            avr_->data[box_] = 1;
        }
        while (next_event_ < events_.size() && feed_event()) {
        }
        if (next_event_ == events_.size() && !ended_) {
            ended_ = push(kLead_ticks, step_part::kWait);  // the ring runs dry without a step
        }
        constexpr std::size_t kMovesAhead = 3;  // of the part's main loop
        if (!started_ && prepared_ >= std::min(moves_.size(), kMovesAhead) && ring_count() > 0) {
            started_ = true;
            avr_->data[status_ + 1] = 1;
        }
    }

    std::uint8_t ring_count() const {
        const std::size_t indices = ring_ + 4U * step_part::kRing;
        return static_cast<std::uint8_t>(avr_->data[indices + 1] - avr_->data[indices]);
    }

    // As TickQueue::push, done from outside.
    bool feed_event() {
        const PartEvent& event = events_[next_event_];
        if (event.first && moves_begun_ >= prepared_) return false;
        while (event.tick - before_ > 0xFFFF) {
            if (!push(0x8000, step_part::kWait)) return false;
        }
        const std::uint16_t what = event.first ? step_part::kFirstStep : step_part::kStep;
        if (!push(event.tick - before_, what)) return false;
        moves_begun_ += event.first ? 1 : 0;
        ++next_event_;
        return true;
    }

    bool push(std::int64_t wait_ticks, std::uint16_t what) {
        if (ring_count() == step_part::kRing) return false;
        const std::size_t indices = ring_ + 4U * step_part::kRing;
        const std::uint8_t write = avr_->data[indices + 1];
        const std::size_t slot = ring_ + 4U * (write % step_part::kRing);
        put16(slot, static_cast<std::uint16_t>(wait_ticks));
        put16(slot + 2, what);
        avr_->data[indices + 1] = static_cast<std::uint8_t>(write + 1);
        before_ += wait_ticks;
        return true;
    }

    const std::vector<PartMove>& moves_;
    const std::vector<PartEvent>& events_;
    avr_t* avr_ = nullptr;
    std::uint16_t ring_ = 0, box_ = 0, status_ = 0;
    Pin pins_[8] = {};
    PartRun run_;
    std::size_t next_move_ = 0, next_event_ = 0;
    std::uint64_t prepared_ = 0, moves_begun_ = 0, entered_ = 0;
    std::int64_t before_ = 0;
    bool started_ = false, ended_ = false, finished_ = false, lost_match_ = false;
};

}  // namespace

PartRun run_part(const std::string& elf, const std::vector<PartMove>& moves,
                 const std::vector<PartEvent>& events) {
    return Part(elf, moves, events).run();
}

}  // namespace stepper_sim::testing
