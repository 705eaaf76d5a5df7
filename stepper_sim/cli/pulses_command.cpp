#include <fmt/core.h>

#include <array>
#include <cmath>
#include <limits>

#include "planner/units/units_text.hpp"
#include "stepper_sim/capture/edge_csv.hpp"
#include "stepper_sim/capture/vcd.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/output_file.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/controller/pulse_run.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/report/text.hpp"
#include "stepper_sim/run/plan_file.hpp"

namespace stepper_sim::cli {

namespace {

constexpr auto kOptions = std::to_array<OptionRow>({
    kMachineOption,
    {"PROGRAM", "FILE", "G-code program", true, false},
    {"--vcd", "FILE", "write a value change dump (IEEE 1364), '-' for standard output", false,
     false},
    {"--csv", "FILE", "write comma-separated values, '-' for standard output", false, false},
    {"--from", "TIME", "leave out pulses before TIME, such as \"1.5 s\"", false, false},
    {"--to", "TIME", "leave out pulses from TIME on", false, false},
    kCatalogueOption,
});

struct Span {
    double from_s = 0.0, to_s = std::numeric_limits<double>::infinity();
};

std::optional<double> time_of(const Invocation& invocation, const std::string& name,
                              double otherwise_s) {
    if (!invocation.has(name)) return otherwise_s;
    const auto time = planner::parse_quantity<planner::Time>(invocation.text(name), {name, 0, 0});
    if (!time) {
        print_diagnostics(time.diagnostics());
        return std::nullopt;
    }
    if (time.value().value() >= 0.0) return time.value().value();
    print_error(name + ": expected a time from zero up");
    return std::nullopt;
}

std::optional<Span> span_of(const Invocation& invocation) {
    Span span;
    const auto from_s = time_of(invocation, "--from", span.from_s);
    const auto to_s = time_of(invocation, "--to", span.to_s);
    if (!from_s || !to_s) return std::nullopt;
    span = {*from_s, *to_s};
    if (span.from_s < span.to_s) return span;
    print_error("--to: expected a time after --from");
    return std::nullopt;
}

/// A time as ticks, without overflow: later than any program is never.
std::int64_t ticks_of(double time_s, std::int64_t tick_hz) {
    const double ticks = std::ceil(time_s * static_cast<double>(tick_hz) - 1e-6);
    constexpr double kNever = 9e18;
    return ticks < kNever ? static_cast<std::int64_t>(ticks) : INT64_MAX;
}

/// Counts what passes and hands it to every writer.
class Account final : public controller::EdgeSink {
  public:
    struct Motor {
        std::int64_t up = 0, down = 0, turns = 0;
    };
    void take(std::span<const controller::Edge> edges) override {
        for (const controller::Edge& edge : edges) {
            Motor& motor = motors[edge.motor];
            if (edge.kind == controller::EdgeKind::direction) ++motor.turns;
            if (edge.kind == controller::EdgeKind::step_rise)
                ++(edge.direction > 0 ? motor.up : motor.down);
            if (count++ == 0) first_tick = edge.tick;
            last_tick = edge.tick;
        }
        for (controller::EdgeSink* writer : writers)
            writer->take(edges);
    }

    std::vector<controller::EdgeSink*> writers;
    std::array<Motor, planner::kMaxAxes> motors{};
    std::int64_t count = 0, first_tick = 0, last_tick = 0;
};

/// Passes edges on and remembers whether the span is over.
class Until final : public controller::EdgeSink {
  public:
    Until(controller::EdgeSink& next, std::int64_t to_tick) : next_(next), to_(to_tick) {}
    void take(std::span<const controller::Edge> edges) override {
        over_ = over_ || (!edges.empty() && edges.front().tick > to_);
        next_.take(edges);
    }
    bool over() const { return over_; }

  private:
    controller::EdgeSink& next_;
    std::int64_t to_;
    bool over_ = false;
};

std::string seconds(double time_s) {
    return fmt::format("{:.6f} s", time_s);
}

std::string summary(const machine::Machine& machine, const Account& account, double tick_s) {
    if (account.count == 0) return "no pulse in this span\n";
    std::string out = fmt::format("{} edges from {} to {}\n", account.count,
                                  seconds(static_cast<double>(account.first_tick) * tick_s),
                                  seconds(static_cast<double>(account.last_tick) * tick_s));
    std::vector<std::vector<std::string>> rows{
        {"motor", "steps", "plus", "minus", "net", "reversals", "net travel"}};
    for (std::size_t m = 0; m < machine.axes.size(); ++m) {
        const Account::Motor& motor = account.motors[m];
        const machine::Axis& axis = machine.axes[m];
        const std::int64_t net = motor.up - motor.down;
        rows.push_back({std::string(1, axis.letter), std::to_string(motor.up + motor.down),
                        std::to_string(motor.up), std::to_string(motor.down), std::to_string(net),
                        std::to_string(motor.turns),
                        check::words::mm(static_cast<double>(net) / axis.steps_per_m())});
    }
    return out + report::table(rows);
}

Exit write_pulses(const machine::Machine& machine, const Span& span, const Invocation& invocation) {
    std::string letters;
    for (const machine::Axis& axis : machine.axes)
        letters += axis.letter;
    const std::int64_t tick_hz = controller::tick_hz_of(machine.controller);
    Account account;
    std::optional<OutputFile> vcd_file, csv_file;
    std::optional<capture::VcdWriter> vcd;
    std::optional<capture::EdgeCsvWriter> csv;
    if (invocation.has("--vcd")) {
        vcd_file.emplace(invocation.text("--vcd"));
        vcd.emplace(vcd_file->stream(), letters, tick_hz);
        account.writers.push_back(&*vcd);
    }
    if (invocation.has("--csv")) {
        csv_file.emplace(invocation.text("--csv"));
        csv.emplace(csv_file->stream(), letters, tick_hz);
        account.writers.push_back(&*csv);
    }
    capture::EdgeWindow window(account, ticks_of(span.from_s, tick_hz),
                               ticks_of(span.to_s, tick_hz));
    Until until(window, ticks_of(span.to_s, tick_hz));
    controller::PulseRun pulses(machine, &until);

    const auto failing = [&] {
        return (vcd_file && !vcd_file->good()) || (csv_file && !csv_file->good());
    };
    Progress progress("pulses");
    const auto notes = run::plan_file(
        machine, invocation.text("PROGRAM"),
        [&](std::span<const planner::MotorMove> moves) {
            for (const planner::MotorMove& move : moves) {
                pulses.push({&move, 1});
                if (until.over() || failing()) return false;
            }
            return true;
        },
        [&](double share) { progress.share(share); });
    progress.done();
    if (!notes) {
        print_diagnostics(notes.diagnostics());
        return Exit::unusable;
    }
    pulses.finish();
    if (csv) csv->finish();
    const bool vcd_whole = !vcd_file || vcd_file->finish();
    const bool csv_whole = !csv_file || csv_file->finish();
    if (!vcd_whole || !csv_whole) return Exit::unusable;
    const bool to_output = invocation.text("--vcd") == "-" || invocation.text("--csv") == "-";
    if (!to_output &&
        !print(report::with_caution(summary(machine, account, 1.0 / static_cast<double>(tick_hz)))))
        return Exit::unusable;
    return Exit::good;
}

Exit run(const Invocation& invocation) {
    const auto span = span_of(invocation);
    const bool both = invocation.text("--vcd") == "-" && invocation.text("--csv") == "-";
    if (both) print_error("--vcd and --csv: only one of them can go to standard output");
    if (!span || both) return Exit::unusable;
    const auto machine = machine_of(invocation);
    if (!machine) return Exit::unusable;
    return write_pulses(*machine, *span, invocation);
}

}  // namespace

const CommandRow kPulsesCommand{
    "pulses", "step and direction signals as the controller emits them, as VCD or CSV",
    "stepper_sim pulses configs/machines/tray-printer.toml configs/programs/tray-insert.gcode "
    "--vcd pulses.vcd",
    kOptions, run};

}  // namespace stepper_sim::cli
