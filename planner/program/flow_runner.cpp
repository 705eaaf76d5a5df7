#include "planner/program/flow_runner.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace planner {
namespace {

constexpr double kLargestNumber = 99'999'999.0;  // of a program: ISO 6983-1 has up to eight digits
constexpr double kWhole = 1e-4;  // RS274/NGC: a number this close to a whole one counts as whole

/// Words that take no values.
bool stands_alone(FlowWord word) {
    switch (word) {
        case FlowWord::number:  // it is read as an ordinary line
        case FlowWord::call:
        case FlowWord::when:
        case FlowWord::or_when:
        case FlowWord::otherwise:
        case FlowWord::loop:
        case FlowWord::finish:
        case FlowWord::repeat:
            return false;
        default:
            return true;
    }
}

}  // namespace

FlowRunner::FlowRunner(const FlowText& text, const FlowBounds& bounds, Lexer& lexer,
                       ProgramLog& log)
    : text_(text), bounds_(bounds), lexer_(lexer), log_(log) {
    place_.line = text.first_line();
}

std::string_view FlowRunner::lines() const {
    const std::size_t end = place_.next < text_.steps().size() ? here().begin : text_.text().size();
    return text_.text().substr(place_.at, end - place_.at);
}

void FlowRunner::pass(std::size_t bytes, std::uint64_t lines) {
    place_.at += bytes;
    place_.line += lines;
    count(lines, nullptr);
}

void FlowRunner::count(std::uint64_t lines, const FlowStep* step) {
    idle_ += lines;
    run_ += lines;
    if (idle_ > bounds_.idle_lines) {
        fail(step, "program/endless",
             "a move of an axis within " + std::to_string(bounds_.idle_lines) + " lines",
             "does the condition of this loop ever change?");
    } else if (run_ > bounds_.repeated_lines + text_.lines()) {
        fail(step, "program/endless",
             "a program that ends within " + std::to_string(bounds_.repeated_lines) +
                 " repeated lines",
             "let loops and calls repeat less often");
    }
}

// Without a step it is about the line that was passed last.
void FlowRunner::fail(const FlowStep* step, std::string_view id, std::string_view expected,
                      std::string_view hint) {
    if (stopped_) {
        return;
    }
    stopped_ = true;
    if (step != nullptr) {
        const std::string_view line = text_.line_of(*step);
        log_.start_line(step->line, line);
        log_.error(id, step->column, line.substr(step->column - 1), expected, hint);
        return;
    }
    if (log_.line() != place_.line - 1) {
        log_.start_line(place_.line - 1, {});
    }
    log_.error(id, 1, log_.text().empty() ? "a line run again" : log_.text(), expected, hint);
}

void FlowRunner::behind(std::size_t step) {
    const FlowStep& passed = text_.steps()[step];
    place_ = {passed.end, passed.line + 1, step + 1};
}

void FlowRunner::onto(std::size_t step) {
    const FlowStep& wanted = text_.steps()[step];
    place_ = {wanted.begin, wanted.line, step};
}

// A program number may have words behind it.
void FlowRunner::run_from(std::size_t step) {
    if (text_.steps()[step].word == FlowWord::number) {
        onto(step);
        ++place_.next;
    } else {
        behind(step);
    }
}

/// The values behind a word, between `least` and `most` of them.
bool FlowRunner::values(const FlowStep& step, std::size_t least, std::size_t most) {
    const std::string_view line = text_.line_of(step);
    log_.start_line(step.line, line);
    values_.clear();
    std::size_t position = code_after(line, step.rest);
    while (position != std::string_view::npos && values_.size() < most) {
        double value = 0.0;
        if (!lexer_.flow_value(line, position, value)) {
            stopped_ = true;
            return false;
        }
        values_.push_back(value);
        position = code_after(line, position);
    }
    if (position == std::string_view::npos && values_.size() >= least) {
        return true;
    }
    stopped_ = true;
    const bool more = position != std::string_view::npos;
    log_.error("program/flow", (more ? position : line.size()) + 1,
               more ? line.substr(position) : "the end of the line",
               most == 0 ? "nothing after " + std::string(flow_word_text(step.word))
               : most == kLocalParameters ? "at most 30 values in []"
                                          : "one value in []");
    return false;
}

bool FlowRunner::condition(const FlowStep& step, bool& holds) {
    if (!values(step, 1, 1)) {
        return false;
    }
    holds = values_[0] != 0.0;
    return true;
}

void FlowRunner::step() {
    const std::size_t at = place_.next;
    const FlowStep& step = here();
    count(1, &step);
    if (stopped_ || (stands_alone(step.word) && !values(step, 0, 0))) {
        return;
    }
    switch (step.word) {
        case FlowWord::number:
            if (numbered()) {
                return fail(&step, "program/subprogram", "the return of the subprogram before it");
            }
            ++place_.next;  // an ordinary line, which may have words
            return;
        case FlowWord::sub:
            return behind(step.branch);
        case FlowWord::call:
            return call_sub(at);
        case FlowWord::endsub:
        case FlowWord::give_back:
            if (calls_.empty() || calls_.back().begin != step.match) {
                return fail(&step, "program/subprogram", "a call that it returns from");
            }
            return leave_call();
        case FlowWord::when:
            return choose(at);
        case FlowWord::or_when:
        case FlowWord::otherwise:  // the branch before it has run
            return behind(step.end_of_choice);
        case FlowWord::leave:
        case FlowWord::next:
            return leave_loop(at);
        default:
            return loop(at);
    }
}

// The first branch whose condition holds, or the else.
void FlowRunner::choose(std::size_t at) {
    for (;; at = text_.steps()[at].branch) {
        const FlowStep& branch = text_.steps()[at];
        bool holds = true;
        const bool asked = branch.word == FlowWord::when || branch.word == FlowWord::or_when;
        if (asked ? !condition(branch, holds) : !values(branch, 0, 0)) {
            return;
        }
        if (holds) {
            return behind(at);
        }
    }
}

void FlowRunner::loop(std::size_t at) {
    const FlowStep& step = text_.steps()[at];
    bool holds = true;
    switch (step.word) {
        case FlowWord::loop:
            if (condition(step, holds)) behind(holds ? at : step.branch);
            return;
        case FlowWord::endloop:
            return onto(step.match);
        case FlowWord::finish:
            if (condition(step, holds)) behind(holds ? step.match : at);
            return;
        case FlowWord::repeat:
            return begin_repeats(at);
        case FlowWord::endrepeat:
            if (repeats_.size() <= repeats_outside() || repeats_.back().begin != step.match) {
                return fail(&step, "program/flow", "the repeat that it ends to have run before");
            }
            if (--repeats_.back().left >= 1.0) {
                return behind(step.match);
            }
            repeats_.pop_back();
            return behind(at);
        default:
            return behind(at);
    }
}

void FlowRunner::begin_repeats(std::size_t at) {
    const FlowStep& step = text_.steps()[at];
    if (!values(step, 1, 1)) {
        return;
    }
    const double times = std::round(values_[0]);
    if (std::fabs(values_[0] - times) > kWhole) {
        return fail(&step, "program/flow", "a whole number of repeats");
    }
    if (times < 1.0) {
        return behind(step.branch);
    }
    repeats_.push_back({at, times});
    behind(at);
}

// break goes behind the loop's end, continue onto it.
void FlowRunner::leave_loop(std::size_t at) {
    const FlowStep& step = text_.steps()[at];
    const bool stays = step.word == FlowWord::next;
    while (
        repeats_.size() > repeats_outside() &&
        (repeats_.back().begin > step.match || (!stays && repeats_.back().begin == step.match))) {
        repeats_.pop_back();
    }
    const std::size_t end = text_.steps()[step.match].branch;
    stays ? onto(end) : behind(end);
}

void FlowRunner::call_sub(std::size_t at) {
    const FlowStep& step = text_.steps()[at];
    if (!values(step, 0, kLocalParameters)) {
        return;
    }
    const std::size_t begin = text_.sub(step.name);
    if (begin == FlowText::npos) {
        return fail(&step, "program/subprogram", "O" + step.name + " sub in the same file",
                    "copy the subprogram into this file");
    }
    behind(at);
    Call call{place_, begin, 0.0, 0, lexer_.parameters().take_locals()};
    for (std::size_t i = 0; i < values_.size(); ++i) {
        lexer_.parameters().set(static_cast<int>(i) + 1, values_[i]);
    }
    enter(std::move(call));
}

void FlowRunner::call(double number, double repeats) {
    if (!(number >= 0.0 && number <= kLargestNumber) || number != std::floor(number) ||
        !(repeats >= 0.0) || repeats != std::floor(repeats)) {
        return fail(nullptr, "program/subprogram",
                    "the whole number of a program, and of repeats, with the call word");
    }
    const std::string name = std::to_string(static_cast<long long>(number));
    const std::size_t begin = text_.number(name);
    if (begin == FlowText::npos) {
        return fail(nullptr, "program/subprogram",
                    "program O" + name + " after the call in the same file",
                    "copy the subprogram behind the end of the main program");
    }
    if (repeats >= 1.0) {
        enter({place_, begin, repeats - 1.0, 0, {}});
    }
}

void FlowRunner::give_back() {
    if (!numbered()) {
        return fail(nullptr, "program/subprogram", "a call that this return word goes back to",
                    "the main program stands before its subprograms and ends with M2 or M30");
    }
    leave_call();
}

void FlowRunner::enter(Call call) {
    call.repeats = repeats_.size();
    if (calls_.size() >= bounds_.calls) {
        return fail(nullptr, "program/endless",
                    "at most " + std::to_string(bounds_.calls) + " calls inside each other",
                    "does this subprogram call itself?");
    }
    run_from(call.begin);
    calls_.push_back(std::move(call));
}

void FlowRunner::leave_call() {
    Call& call = calls_.back();
    repeats_.resize(call.repeats, {0, 0.0});
    if (call.left >= 1.0) {
        --call.left;
        return run_from(call.begin);
    }
    if (text_.steps()[call.begin].word == FlowWord::sub) {
        lexer_.parameters().give_locals(call.locals);
    }
    place_ = call.back;
    calls_.pop_back();
}

void FlowRunner::end_of_text() {
    fail(nullptr, "program/subprogram", "the return of the subprogram that is running");
}

}  // namespace planner
