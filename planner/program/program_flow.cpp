// How a ProgramReader runs a program with O words or calls: from the first one on its text is kept,
// and run when all of it is there.
#include <algorithm>
#include <cstring>

#include "planner/program/ascii.hpp"
#include "planner/program/program_reader.hpp"

namespace planner {
namespace {

// A slice of plain lines gives so many commands at most before finish() may pause.
constexpr std::size_t kSlice = std::size_t{1} << 14U;

}  // namespace

void ProgramReader::start_flow(std::uint64_t first_line) {
    flow_.emplace();
    flow_->start(first_line);
}

void ProgramReader::keep_flow(std::string_view text) {
    if (!ended_ && !flow_->keep(text)) {
        log_.start_line(flow_->first_line(), {});
        log_.error("program/too-long", 0, "a longer program",
                   "at most 64 MiB from the first O word or call on",
                   "put subprograms and loops behind the lines that run once");
        ended_ = true;
    }
}

void ProgramReader::start_runner() {
    const bool good = !ended_ && flow_->index(settings_.block_delete, log_);
    runner_.emplace(*flow_, bounds_, lexer_, log_);
    ended_ = ended_ || !good;
    if (good && first_call_.effect == WordEffect::call) {
        log_.start_line(flow_->first_line() - 1, first_call_text_);
        runner_->call(first_call_.value, first_call_.repeats);
    }
}

bool ProgramReader::run_flow(std::vector<Command>& out, std::size_t about) {
    if (!runner_) {
        start_runner();
    }
    while (!ended_ && !runner_->done()) {
        if (out.size() >= about) {
            return false;
        }
        if (runner_->at_end()) {
            runner_->end_of_text();
        } else if (runner_->lines().empty()) {
            runner_->step();
        } else {
            run_lines(out);
        }
    }
    end_flow();
    return true;
}

// Plain lines the short way; else one line.
void ProgramReader::run_lines(std::vector<Command>& out) {
    const std::string_view lines = runner_->lines();
    ProgramNotes& notes = log_.notes();
    notes.lines = runner_->line() - 1;
    const AxisArray before_m = interpreter_.state().position_m;
    const std::size_t before = out.size();
    const std::size_t whole_lines =
        lines.substr(0, kSlice).rfind('\n') + 1;  // 0 where there is none
    const char* const next =
        plain_.read(lines.data(), lines.data() + whole_lines, interpreter_.state(), notes, out);
    if (next != lines.data()) {
        runner_->pass(static_cast<std::size_t>(next - lines.data()),
                      notes.lines + 1 - runner_->line());
    } else {
        const std::size_t length = lines.find('\n');
        ++notes.lines;
        runner_->pass(length + 1, 1);
        careful_line(without_line_end(lines.substr(0, length)), out);
        notes.commands += out.size() - before;
    }
    watch(before, out);
    if (interpreter_.state().position_m != before_m) {
        runner_->moved();
    }
}

void ProgramReader::obey_calls() {
    for (const MappedWord& word : words_.mapped) {
        if (word.effect != WordEffect::call && word.effect != WordEffect::give_back) {
            continue;
        }
        if (runner_) {
            word.effect == WordEffect::call ? runner_->call(word.value, word.repeats)
                                            : runner_->give_back();
        } else if (word.effect == WordEffect::call) {
            first_call_ = word;
            first_call_text_ = log_.text();  // the caller's text may be gone when it runs
            start_flow(log_.notes().lines + 1);
        } else {
            log_.error("program/subprogram", 1, log_.text(),
                       "a call that this return word goes back to",
                       "the main program stands before its subprograms and ends with M2 or M30");
            ended_ = true;
        }
        return;
    }
}

void ProgramReader::end_flow() {
    if (ended_ && interpreter_.ended() && !runner_->in_call()) {
        std::uint64_t line = runner_->line();
        std::string_view rest = runner_->lines();
        for (; !rest.empty(); rest.remove_prefix(rest.find('\n') + 1), ++line) {
            const std::string_view text = without_line_end(rest.substr(0, rest.find('\n')));
            if (!harmless_after_end(text)) {
                log_.start_line(line, text);
                log_.spot(SpotKind::text_after_end);
            }
        }
    }
    const bool calls =
        std::any_of(settings_.words.begin(), settings_.words.end(),
                    [](const auto& word) { return word.second.effect == WordEffect::call; });
    for (const FlowStep& step : flow_->steps()) {
        if (ended_ && !calls && step.word == FlowWord::number && step.line >= runner_->line()) {
            log_.start_line(step.line, flow_->line_of(step));
            log_.unknown_word("program O" + step.name + " behind the end", true);
        }
    }
    log_.notes().lines = flow_->first_line() + flow_->lines() - 1;
}

}  // namespace planner
