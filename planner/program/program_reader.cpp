#include "planner/program/program_reader.hpp"

#include <cstring>
#include <utility>

#include "planner/program/ascii.hpp"

namespace planner {
namespace {

/// Up to the line break: LF, or a CR that is none of CR LF. npos: it may lie beyond the block.
std::size_t line_length(std::string_view block) {
    const void* const feed = std::memchr(block.data(), '\n', block.size());
    const std::size_t to_feed =
        feed == nullptr ? block.size()
                        : static_cast<std::size_t>(static_cast<const char*>(feed) - block.data());
    const void* const carriage = std::memchr(block.data(), '\r', to_feed);
    if (carriage != nullptr) {
        const auto at = static_cast<std::size_t>(static_cast<const char*>(carriage) - block.data());
        if (at + 1 < to_feed) {
            return at;
        }
    }
    return feed == nullptr ? std::string_view::npos : to_feed;
}

}  // namespace

ProgramReader::ProgramReader(ProgramSettings settings, std::string file, const FlowBounds& bounds)
    : settings_(std::move(settings)),
      log_(std::move(file)),
      lexer_(settings_, log_),
      interpreter_(settings_, log_),
      plain_(settings_),
      extrusion_(settings_),
      bounds_(bounds) {}

void ProgramReader::read(std::string_view block, std::vector<Command>& out) {
    const std::size_t whole_lines = block.rfind('\n') + 1;  // wraps to 0 where there is none
    const char* const lines_end = block.data() + whole_lines;
    if (carry_.ends_with('\r') && !block.empty() && block.front() != '\n') {
        line(std::exchange(carry_, {}), out);
    }
    while (!block.empty()) {
        if (carry_.empty() && !ended_ && !flow_) {
            const std::size_t before = out.size();
            const char* const next =
                plain_.read(block.data(), lines_end, interpreter_.state(), log_.notes(), out);
            watch(before, out);
            any_words_ = any_words_ || next != block.data();
            block.remove_prefix(static_cast<std::size_t>(next - block.data()));
        }
        const std::size_t length = line_length(block);
        if (length == std::string_view::npos) {
            keep(block);
            return;
        }
        if (carry_.empty()) {
            line(block.substr(0, length), out);
        } else {
            keep(block.substr(0, length));
            line(std::exchange(carry_, {}), out);
        }
        block.remove_prefix(length + 1);
    }
}

void ProgramReader::watch(std::size_t before, std::span<const Command> out) {
    extrusion_.take(out.subspan(before), interpreter_.state().axis_relative('E'));
}

// Holds an unfinished line, and of an endless one no more than shows that it is too long.
void ProgramReader::keep(std::string_view piece) {
    const std::size_t room = kMaxLine + 1 - carry_.size();
    carry_.append(piece.substr(0, room));
}

bool ProgramReader::finish(std::vector<Command>& out, std::size_t about) {
    if (!carry_.empty()) {
        const std::string last = std::exchange(carry_, {});
        line(last, out);
    }
    if (flow_ && !run_flow(out, about)) {
        return false;
    }
    extrusion_.finish(log_);
    if (!any_words_ && log_.notes().errors == 0) {
        log_.start_line(0, {});
        log_.error("program/empty", 0, "no program word",
                   "a program with at least one word such as G1");
    }
    return true;
}

void ProgramReader::line(std::string_view text, std::vector<Command>& out) {
    ProgramNotes& notes = log_.notes();
    ++notes.lines;
    text = without_line_end(text);
    if (notes.lines == 1 && text.starts_with("\xEF\xBB\xBF")) {
        text.remove_prefix(3);
    }
    if (flow_) {
        keep_flow(text);
        keep_flow("\n");
        return;
    }
    const std::size_t before = out.size();
    if (ended_) {
        if (!harmless_after_end(text)) {
            log_.start_line(notes.lines, text);
            log_.spot(SpotKind::text_after_end);
            const FlowLine program = read_flow_line(text, settings_.block_delete);
            if (program.word == FlowWord::number) {
                // Perhaps a word that we do not know calls it.
                log_.unknown_word("program O" + program.name + " behind the end", true);
            }
        }
    } else {
        careful_line(text, out);
        watch(before, out);
    }
    notes.commands += out.size() - before;
}

bool ProgramReader::steers(std::string_view text) const {
    const FlowWord word = read_flow_line(text, settings_.block_delete).word;
    return word != FlowWord::none && word != FlowWord::number;
}

void ProgramReader::careful_line(std::string_view text, std::vector<Command>& out) {
    if (text.empty()) {
        return;
    }
    log_.start_line(log_.notes().lines, text);
    if (text.size() > kMaxCodeLine) {
        const std::size_t first = text.find_first_not_of(" \t");
        const std::size_t comment = text.substr(0, kMaxCodeLine).find(';');
        const bool comment_only = first != std::string_view::npos &&
                                  (text[first] == '(' && text.find(')') + 1 == text.size());
        if (text.size() > kMaxLine || (comment == std::string_view::npos && !comment_only)) {
            log_.error("program/line-too-long", kMaxCodeLine, "a line that goes on",
                       "words within 8192 bytes and a line within 1 MiB", "is this a program?");
            return;
        }
    }
    if (!flow_ && steers(text)) {
        any_words_ = true;
        start_flow(log_.notes().lines);
        keep_flow(text);
        keep_flow("\n");
        return;
    }
    switch (lexer_.read(text, words_)) {
        case LineKind::nothing:
            break;
        case LineKind::not_text:
            ended_ = true;
            break;
        case LineKind::percent:
            ended_ = any_words_;
            log_.notes().ended = ended_;
            break;
        case LineKind::words:
            any_words_ = true;
            interpreter_.run(words_, out);
            ended_ = interpreter_.ended();
            obey_calls();
            break;
    }
}

}  // namespace planner
