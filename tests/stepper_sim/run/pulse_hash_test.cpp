// Every shipped machine's pulses for every shipped program it can read, held fixed as a hash of their edges: whoever changes planning or
// emission sees which pulses move. Ticks are integers, so every compiler and build gives the same ones. After a change that is meant,
// STEPPER_SIM_WRITE_HASHES=1 writes the table anew.
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>

#include "stepper_sim/controller/pulse_run.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/run/plan_file.hpp"

namespace stepper_sim::run {
namespace {

namespace fs = std::filesystem;

/// FNV-1a, 64 bits: offset basis and prime of G. Fowler, L. C. Noll, K.-P. Vo, D. Eastlake, RFC 9923 (from memory).
class EdgeHash final : public controller::EdgeSink {
  public:
    void take(std::span<const controller::Edge> edges) override {
        for (const controller::Edge& edge : edges) {
            add(static_cast<std::uint64_t>(edge.tick));
            add(static_cast<std::uint64_t>(edge.motor) << 16 |
                static_cast<std::uint64_t>(edge.kind) << 8 |
                static_cast<std::uint8_t>(edge.direction));
        }
        count += edges.size();
    }
    std::uint64_t value = 0xcbf29ce484222325U;
    std::uint64_t count = 0;

  private:
    void add(std::uint64_t word) {
        for (int byte = 0; byte < 8; ++byte) {
            value = (value ^ (word & 0xffU)) * 0x100000001b3U;
            word >>= 8;
        }
    }
};

/// "machine program" to "edges hash"; pairs that cannot be run are left out.
std::map<std::string, std::string> hashes_now() {
    std::map<std::string, std::string> found;
    const fs::path configs(STEPPER_SIM_CONFIGS);
    for (const auto& machine_file : fs::directory_iterator(configs / "machines")) {
        const auto machine = machine::read_machine(machine_file.path(), {configs});
        for (const auto& program : fs::directory_iterator(configs / "programs")) {
            if (!machine || program.path().extension() != ".gcode") continue;
            EdgeHash hash;
            controller::PulseRun pulses(machine.value(), &hash);
            const auto planned = plan_file(machine.value(), ProgramSource(program.path().string()),
                                           [&](std::span<const planner::MotorMove> moves) {
                                               pulses.push(moves);
                                               return true;
                                           });
            if (!planned) continue;
            pulses.finish();
            std::ostringstream text;
            text << hash.count << ' ' << std::hex << hash.value;
            found[machine_file.path().stem().string() + ' ' + program.path().stem().string()] =
                text.str();
        }
    }
    return found;
}

TEST(PulseHash, NoPulseOfAShippedPairHasMoved) {
    const fs::path table = fs::path(STEPPER_SIM_TESTS_DIR) / "stepper_sim/run/pulse_hashes.txt";
    const auto now = hashes_now();
    if (std::getenv("STEPPER_SIM_WRITE_HASHES") != nullptr) {
        std::ofstream out(table);
        for (const auto& [pair, hash] : now)
            out << pair << ' ' << hash << '\n';
    }
    std::map<std::string, std::string> stored;
    std::ifstream in(table);
    for (std::string machine, program, count, hash; in >> machine >> program >> count >> hash;)
        stored[machine + ' ' + program] = count + ' ' + hash;
    EXPECT_GE(stored.size(), 15U);
    EXPECT_EQ(now, stored);
}

}  // namespace
}  // namespace stepper_sim::run
