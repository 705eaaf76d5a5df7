/// G-code text (RS274/NGC) to commands. Feed it the text in blocks cut anywhere; commands come out
/// in program order, positions in metres with modal state applied. Memory does not grow with the
/// program: one line, the parameters and bounded lists; only from an O word or a call on is the
/// text kept (flow_text.hpp) and run when it is complete. Grammar: see lexer.hpp. Words the standard
/// and the machine file do not know move nothing and are counted in notes(). Not here: geometry of
/// arcs and zero-length moves (planner/path). Nothing throws; errors() holds what was wrong and
/// where. Read next: command.hpp, program_notes.hpp.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "planner/program/command.hpp"
#include "planner/program/extrusion_watch.hpp"
#include "planner/program/flow_runner.hpp"
#include "planner/program/flow_text.hpp"
#include "planner/program/interpreter.hpp"
#include "planner/program/lexer.hpp"
#include "planner/program/plain_line.hpp"
#include "planner/program/program_notes.hpp"
#include "planner/program/program_settings.hpp"
#include "planner/units/diagnostic.hpp"

namespace planner {

class ProgramReader {
  public:
    /// `file` names the program in diagnostics.
    explicit ProgramReader(ProgramSettings settings, std::string file = {},
                           const FlowBounds& bounds = {});
    ProgramReader(const ProgramReader&) = delete;
    ProgramReader& operator=(const ProgramReader&) = delete;
    ~ProgramReader() = default;

    /// Reads the next piece of text and appends its commands to `out`. The same text gives the same
    /// commands however it is cut. Cost: about 40 ns for a plain line such as "G1 X12.345 Y67.89
    /// E0.01234" (bench/read_bench.cpp).
    void read(std::string_view block, std::vector<Command>& out);

    /// Call after the last block: reads a last line without line break and runs what was kept. It
    /// may stop once `out` holds `about` commands; then it returns false and wants to be called
    /// again. Error: program/empty.
    bool finish(std::vector<Command>& out,
                std::size_t about = std::numeric_limits<std::size_t>::max());

    /// The first errors, at most kMaxErrors; notes().errors counts all. Ids: those of Lexer and
    /// Interpreter and FlowRunner, program/line-too-long, program/too-long, program/empty.
    const std::vector<Diagnostic>& errors() const { return log_.errors(); }
    const ProgramNotes& notes() const { return log_.notes(); }

    /// Machine position after the last command.
    const AxisArray& position_m() const { return interpreter_.state().position_m; }

  private:
    void line(std::string_view text, std::vector<Command>& out);
    void careful_line(std::string_view text, std::vector<Command>& out);
    void keep(std::string_view piece);
    void watch(std::size_t before, std::span<const Command> out);
    bool steers(std::string_view text) const;
    void start_flow(std::uint64_t first_line);
    void keep_flow(std::string_view text);
    bool run_flow(std::vector<Command>& out, std::size_t about);
    void run_lines(std::vector<Command>& out);
    void start_runner();
    void end_flow();
    void obey_calls();

    ProgramSettings settings_;
    ProgramLog log_;
    Lexer lexer_;
    Interpreter interpreter_;
    PlainLineReader plain_;
    ExtrusionWatch extrusion_;
    Line words_;
    std::string carry_;  // an unfinished line
    FlowBounds bounds_;
    std::optional<FlowText> flow_;  // where the program has O words
    std::optional<FlowRunner> runner_;
    MappedWord first_call_;  // that made flow_ necessary; or its effect is `ignore`
    std::string first_call_text_;
    bool ended_ = false;
    bool any_words_ = false;
};

}  // namespace planner
