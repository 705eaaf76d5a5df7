#include "stepper_sim/picture/record_program.hpp"

#include "stepper_sim/check/consequence.hpp"
#include "stepper_sim/picture/moments.hpp"
#include "stepper_sim/picture/recorder.hpp"

namespace stepper_sim::picture {

namespace {

// Guess: the checks against the second look.
constexpr double kRunShare = 0.85;

}  // namespace

planner::Result<RecordedProgram> record_program(const machine::Machine& machine,
                                                const run::MotorModels& models,
                                                const run::ProgramSource& program,
                                                run::RunOptions options, double margin,
                                                const run::ProgressCall& progress) {
    const auto part = [&](double from, double to) {
        return progress ? run::ProgressCall([&progress, from, to](double share) {
            progress(from + (to - from) * share);
        })
                        : run::ProgressCall();
    };
    Recorder recorder(machine, models);
    options.watcher = &recorder;
    auto result = run::run_program(machine, models, program, options, part(0.0, kRunShare));
    if (!result) return result.diagnostics();

    RecordedProgram recorded;
    recorded.result = std::move(result).value();
    recorded.recording = recorder.finish();
    recorded.recording.file = recorded.result.file;
    recorded.recording.duration_s = recorded.result.duration_s;
    recorded.findings = check::run_checks({machine, models, {&recorded.result, 1}, margin});
    check::sort_by_consequence(recorded.findings);
    const auto looked = record_moments(machine, models, program, recorded.result, recorded.findings,
                                       recorded.recording, part(kRunShare, 1.0));
    if (!looked) return looked.diagnostics();
    return recorded;
}

}  // namespace stepper_sim::picture
