#include "planner/program/flow_text.hpp"

#include <algorithm>

#include "planner/program/ascii.hpp"

namespace planner {
namespace {

bool opens_loop(FlowWord word) {
    return word == FlowWord::loop || word == FlowWord::repeat || word == FlowWord::begin;
}

/// The word that a closing word closes.
FlowWord opened_by(FlowWord word) {
    switch (word) {
        case FlowWord::endsub:
            return FlowWord::sub;
        case FlowWord::endloop:
            return FlowWord::loop;
        case FlowWord::endrepeat:
            return FlowWord::repeat;
        case FlowWord::finish:
            return FlowWord::begin;
        case FlowWord::endif:
            return FlowWord::when;
        default:
            return FlowWord::none;
    }
}

std::string_view closing_words(FlowWord word) {
    switch (word) {
        case FlowWord::sub:
            return "its endsub";
        case FlowWord::loop:
            return "its endwhile";
        case FlowWord::repeat:
            return "its endrepeat";
        case FlowWord::begin:
            return "the while that ends it";
        default:
            return "its endif";
    }
}

}  // namespace

bool FlowText::keep(std::string_view piece) {
    if (text_.size() + piece.size() > kMostKept) {
        return false;
    }
    text_.append(piece);
    lines_ += static_cast<std::uint64_t>(std::count(piece.begin(), piece.end(), '\n'));
    return true;
}

std::string_view FlowText::line_of(const FlowStep& step) const {
    return without_line_end(text().substr(step.begin, step.end - step.begin - 1));
}

void FlowText::collect(bool block_delete) {
    std::uint64_t line = first_line_;
    for (std::size_t begin = 0; begin < text_.size(); ++line) {
        const std::size_t stop = text_.find('\n', begin);
        const std::string_view text = std::string_view(text_).substr(begin, stop - begin);
        FlowLine found = read_flow_line(without_line_end(text), block_delete);
        if (found.word != FlowWord::none) {
            steps_.push_back({found.word, std::move(found.name), begin, stop + 1, found.rest,
                              found.at + 1, line});
        }
        begin = stop + 1;
    }
}

bool FlowText::index(bool block_delete, ProgramLog& log) {
    if (!text_.empty() && text_.back() != '\n') {
        text_ += '\n';
        ++lines_;
    }
    collect(block_delete);
    std::vector<Open> open;
    for (std::size_t at = 0; at < steps_.size() && good_; ++at) {
        join(at, open, log);
    }
    if (good_ && !open.empty()) {
        fail(open.back().step, closing_words(steps_[open.back().step].word), log);
    }
    return good_;
}

void FlowText::fail(std::size_t at, std::string_view expected, ProgramLog& log) {
    const FlowStep& step = steps_[at];
    const std::string_view line = line_of(step);
    log.start_line(step.line, line);
    log.error("program/flow", step.column, line.substr(step.column - 1), expected);
    good_ = false;
}

void FlowText::join(std::size_t at, std::vector<Open>& open, ProgramLog& log) {
    FlowStep& step = steps_[at];
    const auto closes_do = [&] {
        return !open.empty() && steps_[open.back().step].word == FlowWord::begin &&
               steps_[open.back().step].name == step.name;
    };
    if (step.word == FlowWord::loop && closes_do()) {
        step.word = FlowWord::finish;
    }
    switch (step.word) {
        case FlowWord::unknown:
            return fail(at,
                        "sub, endsub, call, return, if, elseif, else, endif, while, endwhile, do, "
                        "repeat, endrepeat, break or continue after O and a number or a <name>; a "
                        "title in ()",
                        log);
        case FlowWord::number:
            if (!numbers_.emplace(step.name, at).second) {
                fail(at, "a number that no other program in the file has", log);
            }
            return;
        case FlowWord::sub:
            if (!open.empty()) {
                return fail(at, "a sub outside every other sub, loop and if", log);
            }
            if (!subs_.emplace(step.name, at).second) {
                return fail(at, "a name that no other sub has", log);
            }
            [[fallthrough]];
        case FlowWord::when:
        case FlowWord::loop:
        case FlowWord::repeat:
        case FlowWord::begin:
            open.push_back({at, at});
            return;
        case FlowWord::or_when:
        case FlowWord::otherwise:
            return branch(at, open, log);
        case FlowWord::leave:
        case FlowWord::next:
        case FlowWord::give_back:
            return inside(at, open, log);
        case FlowWord::call:
        case FlowWord::none:
            return;
        default:
            return close(at, open, log);
    }
}

// What is opened last is closed first, under the same name.
void FlowText::close(std::size_t at, std::vector<Open>& open, ProgramLog& log) {
    FlowStep& step = steps_[at];
    const FlowWord wanted = opened_by(step.word);
    if (open.empty() || steps_[open.back().step].word != wanted ||
        steps_[open.back().step].name != step.name) {
        return fail(at,
                    open.empty() ? "a line of the same name that it ends"
                                 : "what was opened last, at line " +
                                       std::to_string(steps_[open.back().step].line) +
                                       ", to be closed first",
                    log);
    }
    const Open last = open.back();
    open.pop_back();
    step.match = last.step;
    steps_[last.last_branch].branch = at;
    for (std::size_t each = last.step; each != at; each = steps_[each].branch) {
        steps_[each].end_of_choice = at;
    }
}

void FlowText::branch(std::size_t at, std::vector<Open>& open, ProgramLog& log) {
    if (open.empty() || steps_[open.back().step].word != FlowWord::when ||
        steps_[open.back().step].name != steps_[at].name ||
        steps_[open.back().last_branch].word == FlowWord::otherwise) {
        return fail(at, "an if of the same name without an else before it", log);
    }
    steps_[open.back().last_branch].branch = at;
    open.back().last_branch = at;
}

// break and continue name a loop around them, return the subprogram.
void FlowText::inside(std::size_t at, const std::vector<Open>& open, ProgramLog& log) {
    FlowStep& step = steps_[at];
    const bool from_sub = step.word == FlowWord::give_back;
    const auto around = std::find_if(open.rbegin(), open.rend(), [&](const Open& outer) {
        const FlowStep& begin = steps_[outer.step];
        return begin.name == step.name &&
               (from_sub ? begin.word == FlowWord::sub : opens_loop(begin.word));
    });
    if (around == open.rend()) {
        return fail(
            at, from_sub ? "a sub of the same name around it" : "a loop of the same name around it",
            log);
    }
    step.match = around->step;
}

}  // namespace planner
