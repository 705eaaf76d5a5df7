#include "bench/adversary_judge.hpp"

#include <fmt/core.h>
#include <ctime>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <numeric>
#include <optional>
#include <utility>

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/controller/pulse_run.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/run/plan_file.hpp"
#include "stepper_sim/run/run_program.hpp"

namespace stepper_sim::adversary {

namespace {

const std::filesystem::path kConfigs = STEPPER_SIM_CONFIGS;

// What the tool states of its spread (README, asked_torque.hpp): written here again, so that a spread that is narrowed is noticed.
constexpr std::array kFriction{0.7, 1.3};
constexpr std::array kStiffness{0.8, 1.2};
constexpr std::array kMass{1.1, 0.9};
constexpr double kMarginLeft = 1.0 - 0.2;
constexpr double kSpare = 0.7;

// Friction of a rotor's bearings and iron over peak torque: the figure that the tool states, itself a guess.
constexpr double kViscousShare_s = 3e-4;
// Where the machine file says nothing: the tool's own figure.
constexpr double kDamping = 0.02;

std::vector<Edge> loads_at(Level level, double torque) {
    std::vector<Edge> edges;
    for (const double friction : kFriction)
        for (const double stiffness : kStiffness)
            for (const double mass : kMass)
                edges.push_back({level, torque, friction, stiffness, mass});
    return edges;
}

double torque_Nm(const motor::AvailableTorque& available, Level level) {
    switch (level) {
        case Level::low:
            return available.low_Nm(0.0);
        case Level::high:
            return available.high_Nm(0.0);
        case Level::nominal:
            break;
    }
    return available.nominal_Nm(0.0);
}

/// The pulses of a program, as the full model of anyone would need them.
class PulseSink final : public controller::EdgeSink {
  public:
    explicit PulseSink(double tick_hz) : tick_hz_(tick_hz) {}
    void take(std::span<const stepper_sim::controller::Edge> edges) override {
        for (const stepper_sim::controller::Edge& edge : edges)
            if (edge.kind == controller::EdgeKind::step_rise)
                pulses.push_back({static_cast<double>(edge.tick) / tick_hz_, edge.motor,
                                  static_cast<double>(edge.direction)});
    }
    std::vector<Pulse> pulses;

  private:
    double tick_hz_;
};

planner::Result<std::vector<Pulse>> pulses_of(const machine::Machine& machine,
                                              const run::ProgramSource& source) {
    controller::PulseRun run(machine);
    PulseSink sink(static_cast<double>(run.tick_hz()));
    run.edges_to(&sink);
    const auto planned =
        run::plan_file(machine, source, [&](std::span<const planner::MotorMove> moves) {
            run.push(moves);
            return true;
        });
    if (!planned) return planned.diagnostics();
    run.finish();
    return std::move(sink.pulses);
}

double thread_cpu_s() {
    timespec now{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
    constexpr double kNanosecond_s = 1e-9;
    return static_cast<double>(now.tv_sec) + kNanosecond_s * static_cast<double>(now.tv_nsec);
}

std::string first_of(const std::vector<planner::Diagnostic>& diagnostics) {
    return diagnostics.empty() ? "no reason given"
                               : diagnostics.front().id + ": " + diagnostics.front().found;
}

/// A case read: machine, models, pulses; the program's file lives as long.
class Prepared {
  public:
    Prepared(const Case& drawn, const std::filesystem::path& folder)
        : file_(folder / (drawn.name + ".gcode")) {
        std::ofstream(file_) << drawn.program;
        auto read = machine::read_machine_text(drawn.machine, drawn.name + ".toml", {kConfigs});
        if (!read) {
            unusable_ = first_of(read.diagnostics());
            return;
        }
        machine_ = std::move(read).value();
        models_ = run::motor_models(*machine_);
        auto pulses = pulses_of(*machine_, source());
        if (!pulses)
            unusable_ = first_of(pulses.diagnostics());
        else
            pulses_ = std::move(pulses).value();
    }
    ~Prepared() {
        std::error_code ignored;
        std::filesystem::remove(file_, ignored);
    }
    Prepared(const Prepared&) = delete;
    Prepared& operator=(const Prepared&) = delete;

    const std::string& unusable() const { return unusable_; }
    const machine::Machine& machine() const { return *machine_; }
    const run::MotorModels& models() const { return models_; }
    run::ProgramSource source() const { return {file_}; }

    Answer at(const Edge& edge, double step_s) const {
        return run(plant_of(*machine_, models_, edge), pulses_, step_s);
    }

  private:
    std::filesystem::path file_;
    std::string unusable_;
    std::optional<machine::Machine> machine_;
    run::MotorModels models_;
    std::vector<Pulse> pulses_;
};

/// What `check` says.
void ask_the_tool(const Prepared& prepared, Judged& judged) {
    auto result = run::run_program(prepared.machine(), prepared.models(), prepared.source());
    if (!result) {
        judged.unusable = first_of(result.diagnostics());
        return;
    }
    const std::vector<run::ProgramResult> programs{std::move(result).value()};
    const check::Findings findings =
        check::run_checks({prepared.machine(), prepared.models(), programs, run::kDefaultMargin});
    judged.verdict = check::verdict_of(findings);
    std::copy_if(findings.begin(), findings.end(), std::back_inserter(judged.objections),
                 [](const check::Finding& finding) { return finding.grade != check::Grade::note; });
    for (std::size_t m = 0; m < prepared.machine().axes.size(); ++m)
        judged.torque_use = std::max(judged.torque_use, programs.front().motors[m].torque.use_low);
}

/// Asks the second model no more than it must.
class Questions {
  public:
    Questions(const Prepared& prepared, double step_s, Judged& judged)
        : prepared_(prepared), step_s_(step_s), judged_(judged), stated_(stated_edges()) {
        known_.resize(stated_.size());
    }

    void ask() {
        const Answer nominal = run_at({});
        const std::optional<std::size_t> first = first_slip(0);
        if (!first && !nominal.slipped) {
            const auto spare = spare_edges();
            judged_.to_spare = std::none_of(spare.begin(), spare.end(),
                                            [&](const Edge& edge) { return run_at(edge).slipped; });
            return;
        }
        judged_.edge = first ? stated_[*first] : Edge{};
        judged_.first = first ? *known_[*first] : nominal;
        judged_.slips = nominal.slipped ? Slips::nominal : Slips::some_edge;
        if (nominal.slipped && all_slip()) judged_.slips = Slips::all_edges;
        if (judged_.verdict != check::Verdict::clear) return;
        const std::size_t of_a_torque = stated_.size() / judged_.edges_that_slip.size();
        for (std::size_t i = 0; i < stated_.size(); ++i)
            judged_.edges_that_slip[i / of_a_torque] += stated(i).slipped ? 1 : 0;
    }

  private:
    Answer run_at(const Edge& edge) {
        ++judged_.runs;
        const Answer answer = prepared_.at(edge, step_s_);
        judged_.peak_lag_rad = std::max(judged_.peak_lag_rad, answer.peak_lag_rad);
        return answer;
    }
    const Answer& stated(std::size_t i) {
        if (!known_[i]) known_[i] = run_at(stated_[i]);
        return *known_[i];
    }
    std::optional<std::size_t> first_slip(std::size_t from) {
        for (std::size_t i = from; i < stated_.size(); ++i)
            if (stated(i).slipped) return i;
        return std::nullopt;
    }
    /// The likeliest to hold come last in the list.
    bool all_slip() {
        for (std::size_t i = stated_.size(); i-- > 0;)
            if (!stated(i).slipped) return false;
        return true;
    }

    const Prepared& prepared_;
    double step_s_;
    Judged& judged_;
    std::vector<Edge> stated_;
    std::vector<std::optional<Answer>> known_;
};

}  // namespace

std::string to_text(const Edge& edge) {
    const char* const level = edge.level == Level::low       ? "low"
                              : edge.level == Level::nominal ? "nominal"
                                                             : "high";
    const std::string torque = edge.torque == 1.0 ? "" : fmt::format(" x {:.2g}", edge.torque);
    return fmt::format("{}{}, F {:.1f}, k {:.1f}, m {:.1f}", level, torque, edge.friction,
                       edge.stiffness, edge.mass);
}

std::vector<Edge> stated_edges() {
    std::vector<Edge> edges = loads_at(Level::low, kMarginLeft);
    for (const Level level : {Level::low, Level::nominal, Level::high}) {
        const std::vector<Edge> more = loads_at(level, 1.0);
        edges.insert(edges.end(), more.begin(), more.end());
    }
    return edges;
}

std::vector<Edge> spare_edges() {
    return loads_at(Level::low, kMarginLeft * kSpare);
}

Plant plant_of(const machine::Machine& machine, const run::MotorModels& models, const Edge& edge) {
    Plant plant;
    plant.motors = static_cast<int>(machine.axes.size());
    // Stiffness and damping of an axis are what the tool feels with both motors held: each belt has half of them.
    const double share = plant.motors == 2 ? 0.5 : 1.0;
    for (std::size_t m = 0; m < machine.axes.size(); ++m) {
        const machine::Axis& axis = machine.axes[m];
        const motor::AvailableTorque& available = models.available[m];
        const motor::MotorConstants& plate = available.constants();
        Motor& motor = plant.motor[m];
        motor.resistance_ohm = plate.resistance_ohm;
        motor.inductance_H = plate.inductance_H;
        motor.torque_constant_Nm_A = plate.torque_constant_Nm_A;
        motor.inertia_kg_m2 = plate.rotor_inertia_kg_m2;
        motor.teeth = plate.rotor_teeth;
        motor.current_A = available.peak_current().value();
        motor.supply_V = available.supply().value();
        motor.microsteps = axis.microsteps;
        if (axis.motor.detent_torque) motor.detent_Nm = axis.motor.detent_torque->value();
        motor.torque_factor = edge.torque * torque_Nm(available, edge.level) /
                              (motor.torque_constant_Nm_A * motor.current_A);
        motor.viscous_Nms_rad = kViscousShare_s * motor.peak_torque_Nm();
        motor.radius_m = models.loads.motors[m].radius_m;
        Load& load = plant.load[m];
        load.mass_kg = edge.mass * axis.load.mass.value();
        load.friction_N = edge.friction * axis.load.friction.value();
        const double stiffness_N_m = edge.stiffness * axis.stiffness->value();
        motor.belt_N_m = share * stiffness_N_m;
        motor.belt_Ns_m =
            share * 2.0 * axis.damping.value_or(kDamping) * std::sqrt(stiffness_N_m * load.mass_kg);
    }
    return plant;
}

int Judged::edges() const {
    return std::accumulate(edges_that_slip.begin(), edges_that_slip.end(), 0);
}

bool Judged::only(const char* check) const {
    return !objections.empty() &&
           std::all_of(objections.begin(), objections.end(),
                       [&](const check::Finding& finding) { return finding.check == check; });
}

Judged judge(const Case& drawn, const std::filesystem::path& folder, double step_s) {
    Judged judged;
    const Prepared prepared(drawn, folder);
    judged.unusable = prepared.unusable();
    if (judged.unusable.empty()) ask_the_tool(prepared, judged);
    if (!judged.unusable.empty()) return judged;
    const double start_s = thread_cpu_s();
    Questions(prepared, step_s, judged).ask();
    judged.model_s = thread_cpu_s() - start_s;
    return judged;
}

std::vector<EdgeAnswer> every_edge(const Case& drawn, const std::filesystem::path& folder,
                                   double step_s) {
    const Prepared prepared(drawn, folder);
    std::vector<EdgeAnswer> answers;
    if (!prepared.unusable().empty()) return answers;
    std::vector<Edge> edges{{}};
    for (const std::vector<Edge>& more : {stated_edges(), spare_edges()})
        edges.insert(edges.end(), more.begin(), more.end());
    for (const Edge& edge : edges)
        answers.push_back({edge, prepared.at(edge, step_s)});
    return answers;
}

}  // namespace stepper_sim::adversary
