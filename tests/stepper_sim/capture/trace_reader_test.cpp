// Traces as analysers export them, and what is wrong with one, by place.
#include <gtest/gtest.h>

#include <sstream>

#include "stepper_sim/capture/trace_reader.hpp"

namespace stepper_sim::capture {
namespace {

struct Trace {
    std::vector<LevelChange> changes;
    std::vector<planner::Diagnostic> wrong;
    std::int64_t resolution_ps = 0;
    std::vector<std::string> channels;
};

Trace read(const std::string& text, const std::vector<std::string>& names) {
    std::istringstream in(text);
    Trace trace;
    const auto opened = open_trace(in, "t.vcd");
    trace.wrong = opened.diagnostics();
    if (!opened) return trace;
    TraceReader& reader = *opened.value();
    trace.channels = reader.channels();
    trace.resolution_ps = reader.resolution_ps();
    trace.wrong = reader.select(names);
    if (!trace.wrong.empty()) return trace;
    while (reader.read(trace.changes)) {
    }
    trace.wrong = reader.errors();
    return trace;
}

/// "120:0=1 130:0=0": time in ps, line, level.
std::string shown(const Trace& trace) {
    std::string out;
    for (const LevelChange& change : trace.changes)
        out += (out.empty() ? "" : " ") + std::to_string(change.time_ps) + ":" +
               std::to_string(change.line) + "=" + "01x"[static_cast<std::size_t>(change.level)];
    for (const planner::Diagnostic& diagnostic : trace.wrong)
        out += planner::to_line(diagnostic) + "\n";
    return out;
}

constexpr const char* kHead =
    "$date today $end $version \"any\" 1.0 $end\n"
    "$comment two lines\n of comment $end\n$timescale\n  10 ns\n$end\n"
    "$scope module top $end\n$var wire 1 ! a $end\n$scope module sub $end\n"
    "$var reg 4 $ bus [3:0] $end\n$var wire 1 ab b $end\n$var real 64 r r $end\n$upscope $end\n"
    "$var wire 1 % up[5] $end\n$upscope $end\n$enddefinitions $end\n";

TEST(VcdReader, ReadsScopesVectorsAndUnknownLevels) {
    const std::string text = std::string(kHead) +
                             "#0\n$dumpvars\n0!\nb0 $\nxab\nr1.5 r\n1%\n$end\n"
                             "#2\n1!\nb10 $\n#3\n0!\n$comment 1! $end\nb1xz $\n1ab\n#9\nbz $\nZ!\n";
    EXPECT_EQ(shown(read(text, {"a"})), "0:0=0 20000:0=1 30000:0=0 90000:0=x");
    EXPECT_EQ(shown(read(text, {"bus[1]", "bus[2]"})),
              "0:0=0 0:1=0 20000:0=1 30000:0=x 30000:1=1 90000:1=x");
    EXPECT_EQ(shown(read(text, {"top.sub.b"})), "0:0=x 30000:0=1");
    EXPECT_EQ(shown(read(text, {"up[5]"})), "0:0=1");
    const Trace trace = read(text, {"a"});
    EXPECT_EQ(trace.resolution_ps, 10000);
    EXPECT_EQ(listed(trace.channels), "top.a, top.sub.bus[3:0], top.sub.b, top.sub.r, top.up[5]");
}

TEST(VcdReader, TakesEveryTimescale) {
    const auto at = [](const std::string& scale) {
        const Trace trace =
            read("$timescale " + scale + " $end $var wire 1 ! a $end $enddefinitions $end #2000 1!",
                 {"a"});
        return trace.changes.empty() ? std::int64_t{-1} : trace.changes[0].time_ps;
    };
    EXPECT_EQ(at("1 s"), 2'000'000'000'000'000);
    EXPECT_EQ(at("100ms"), 200'000'000'000'000);
    EXPECT_EQ(at("10us"), 20'000'000'000);
    EXPECT_EQ(at("1 ns"), 2'000'000);
    EXPECT_EQ(at("100 ps"), 200'000);
    EXPECT_EQ(at("1 fs"), 2);
    EXPECT_EQ(at("2 ns"), -1);
    EXPECT_EQ(at("ns"), -1);
}

TEST(VcdReader, CarriageReturnsAndAMissingLastLineBreakChangeNothing) {
    std::string text = std::string(kHead) + "#5\n1!\n#7\n0!";
    const std::string plain = shown(read(text, {"a"}));
    for (std::size_t at = 0; (at = text.find('\n', at)) != std::string::npos; at += 2)
        text.insert(at, "\r");
    EXPECT_EQ(shown(read(text, {"a"})), plain);
    EXPECT_EQ(plain, "50000:0=1 70000:0=0");
}

TEST(VcdReader, ABlockBoundaryAnywhereChangesNothing) {
    std::string text = kHead;
    std::string expected;
    for (int i = 0; i < 200'000; ++i) {
        text += "#" + std::to_string(i) + "\n" + (i % 2 == 0 ? "1!\n" : "0!\n");
    }
    EXPECT_EQ(read(text, {"a"}).changes.size(), 200'000U);
}

TEST(VcdReader, SaysWhereAndWhatIsWrong) {
    const auto wrong = [](const std::string& text) {
        const Trace trace = read(kHead + text, {"a"});
        return trace.wrong.empty() ? "nothing" : planner::to_line(trace.wrong.front());
    };
    EXPECT_EQ(wrong("#5\n1!\n#4\n0!\n").substr(0, 14), "t.vcd:19:1: fo");
    EXPECT_NE(wrong("#5\n1!\n#4\n").find("run backwards"), std::string::npos);
    EXPECT_NE(wrong("#5\n1?\n").find("declared identifier"), std::string::npos);
    EXPECT_NE(wrong("#5x\n").find("a time such as"), std::string::npos);
    EXPECT_NE(wrong("#99999999999999999999999\n1!").find("46 days"), std::string::npos);
    EXPECT_NE(wrong("#5\nb102 $\n").find("binary digits"), std::string::npos);
    EXPECT_NE(wrong("#5\nhello\n").find("expected"), std::string::npos);
    EXPECT_NE(wrong("#5\nb1").find("the end of the file"), std::string::npos);
    EXPECT_NE(shown(read("$var wire 1 ! a $end", {"a"})).find("$enddefinitions"),
              std::string::npos);
    EXPECT_NE(shown(read("$enddefinitions $end", {"a"})).find("$timescale"), std::string::npos);
}

TEST(VcdReader, AMissingOrAmbiguousChannelListsWhatThereIs) {
    const std::string text = std::string(kHead);
    EXPECT_NE(shown(read(text, {"none"})).find("top.a, top.sub.bus[3:0]"), std::string::npos);
    EXPECT_NE(shown(read(text, {"r"})).find("not a number"), std::string::npos);
    EXPECT_NE(shown(read("$timescale 1 ns $end $scope module p $end $var wire 1 ! a $end $upscope "
                         "$end $scope module q $end $var wire 1 # a $end $enddefinitions $end",
                         {"a"}))
                  .find("p.a and q.a"),
              std::string::npos);
}

TEST(CsvReader, ReadsRowsOfChangesInTheUnitOfTheHeader) {
    EXPECT_EQ(shown(read("time_s,a,b\n0,0,1\n0.000001,1,1\n0.000003,0,0\n", {"a", "b"})),
              "0:0=0 0:1=1 1000000:0=1 3000000:0=0 3000000:1=0");
    EXPECT_EQ(shown(read("Time [us];\"a\"\r\n-1.5;0\r\n+2e0;1", {"a"})),
              "-1500000:0=0 2000000:0=1");
    EXPECT_EQ(shown(read("; made by hand\n# twice\nTime(ns)\ta\n\n1\tx\n2\t\n3\t1\n", {"a"})),
              "1000:0=x 3000:0=1");
}

TEST(CsvReader, ResolutionIsTheLastPlaceOfTheTimesOrTheSamplePeriod) {
    EXPECT_EQ(read("time_s,a\n0.0,0\n0.001,1\n0.00125,0\n", {"a"}).resolution_ps, 10'000'000);
    EXPECT_EQ(read("time_s,a\n0.0,0\n4.2e-7,1\n", {"a"}).resolution_ps, 10'000);
    std::string samples = "time_us,a\n";
    for (int i = 0; i < 100; ++i)
        samples += std::to_string(i * 0.25) + (i < 50 ? ",0\n" : ",1\n");
    EXPECT_EQ(read(samples, {"a"}).resolution_ps, 250'000);
}

TEST(CsvReader, SaysWhereAndWhatIsWrong) {
    EXPECT_EQ(shown(read("time_s,a,b\n0,0,0\n1,1\n", {"b"})).substr(0, 16), "0:0=0t.vcd:3:4: ");
    EXPECT_EQ(shown(read("time_s,a\n0,0\n1,2.5\n", {"a"})).substr(0, 15), "0:0=0t.vcd:3:3:");
    EXPECT_NE(shown(read("time_s,a\n1,0\n0,1\n", {"a"})).find("run backwards"), std::string::npos);
    EXPECT_NE(shown(read("a,b\n0,0\n", {"a"})).find("first column is the time"), std::string::npos);
    EXPECT_NE(shown(read("time_s,a,a\n0,0,0\n", {"a"})).find("only one column"), std::string::npos);
    EXPECT_NE(shown(read("time_s,b,c\n", {"a"})).find("b, c"), std::string::npos);
    EXPECT_NE(shown(read("time_s,a\nnan,0\n", {"a"})).find("a time"), std::string::npos);
    EXPECT_NE(shown(read("time_s,a\n1e300,0\n", {"a"})).find("46 days"), std::string::npos);
    EXPECT_NE(shown(read("", {"a"})).find("empty file"), std::string::npos);
}

}  // namespace
}  // namespace stepper_sim::capture
