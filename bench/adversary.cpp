/// Question: is `check` ever wrong when it says clear, judged by a second model that shares nothing with its own; and how often does it
/// object to what has plenty to spare?
/// Run: adversary SEED CASES [--dump FOLDER] [--only N] [--halve], or adversary --self-check; prints tables as markdown.
/// Included: cartesian axes and crossed belts with belts that give, sine and chopper drivers, full steps to 32 microsteps, zig-zags and
/// infill at the machine's own frequencies, cruises, corners, slow travel; every edge of the stated spread of torque, friction,
/// stiffness and mass, and the margin.
/// Excluded: late pulses, screws, weights, measured modes, choppers' ripple: the second model's currents are regulated by a proportional
/// regulator whatever the driver. "Slip" means a slip of a model, not of a machine.
/// --dump writes every clear case that slips (with --only: that case) as NAME.toml and NAME.gcode. --halve runs all once more at half the
/// integration step and counts what changes.
#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/partitioner.h>
#include <oneapi/tbb/task_arena.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <map>
#include <numbers>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "bench/adversary_cases.hpp"
#include "bench/adversary_judge.hpp"
#include "bench/adversary_self_check.hpp"

namespace {

using namespace stepper_sim::adversary;
using stepper_sim::check::Finding;
using stepper_sim::check::Verdict;
namespace fs = std::filesystem;

constexpr std::array kVerdicts{"clear", "thin", "fault"};
constexpr std::array kSlips{"no slip", "at some edge", "at nominal", "at all edges"};

struct Options {
    std::uint64_t seed = 1;
    int cases = 300;
    int only = -1;
    fs::path dump;
    bool halve = false, self_check = false;
};

struct Row {
    Case drawn;
    Judged judged;
};

/// A folder of this run's own for the programs being judged.
class Scratch {
  public:
    Scratch() : path_(fs::temp_directory_path() / ("adversary-" + std::to_string(getpid()))) {
        fs::create_directories(path_);
    }
    ~Scratch() {
        std::error_code ignored;
        fs::remove_all(path_, ignored);
    }
    Scratch(const Scratch&) = delete;
    Scratch& operator=(const Scratch&) = delete;
    const fs::path& path() const { return path_; }

  private:
    fs::path path_;
};

Options read_options(int argc, char** argv) {
    Options options;
    int place = 0;
    for (int i = 1; i < argc; ++i) {
        const std::string_view word = argv[i];
        if (word == "--self-check") {
            options.self_check = true;
        } else if (word == "--halve") {
            options.halve = true;
        } else if (word == "--dump" && i + 1 < argc) {
            options.dump = argv[++i];
        } else if (word == "--only" && i + 1 < argc) {
            options.only = std::atoi(argv[++i]);
        } else if (place == 0) {
            options.seed = static_cast<std::uint64_t>(std::atoll(argv[i]));
            ++place;
        } else {
            options.cases = std::max(0, std::atoi(argv[i]));
        }
    }
    return options;
}

std::vector<Row> judge_all(const Options& options, const fs::path& folder, double step_s) {
    std::vector<Row> rows(static_cast<std::size_t>(options.cases));
    // One case at a time for each thread, in no order: every case is drawn and judged for itself. Isolated, so that a thread that
    // waits inside the tool does not begin another case.
    tbb::parallel_for(
        std::size_t{0}, rows.size(),
        [&](std::size_t i) {
            tbb::this_task_arena::isolate([&] {
                rows[i].drawn = draw_case(options.seed, static_cast<int>(i));
                rows[i].judged = judge(rows[i].drawn, folder, step_s);
            });
        },
        tbb::simple_partitioner());
    return rows;
}

void write_case(const fs::path& folder, const Case& drawn) {
    fs::create_directories(folder);
    std::ofstream(folder / (drawn.name + ".toml")) << drawn.machine;
    std::ofstream(folder / (drawn.name + ".gcode")) << drawn.program;
}

bool clear_that_slips(const Judged& judged) {
    return judged.unusable.empty() && judged.verdict == Verdict::clear &&
           judged.slips != Slips::none;
}

template <class Condition>
int count(const std::vector<Row>& rows, Condition condition) {
    int found = 0;
    for (const Row& row : rows)
        if (row.judged.unusable.empty() && condition(row)) ++found;
    return found;
}

void print_table(const std::vector<Row>& rows) {
    std::printf("| verdict | %s | %s | %s | %s | all | to spare |\n|---|---|---|---|---|---|---|\n",
                kSlips[0], kSlips[1], kSlips[2], kSlips[3]);
    for (std::size_t v = 0; v < kVerdicts.size(); ++v) {
        const auto has = [&](const Row& row) {
            return static_cast<std::size_t>(row.judged.verdict) == v;
        };
        std::printf("| %s |", kVerdicts[v]);
        for (std::size_t s = 0; s < kSlips.size(); ++s)
            std::printf(" %d |", count(rows, [&](const Row& row) {
                            return has(row) && static_cast<std::size_t>(row.judged.slips) == s;
                        }));
        std::printf(" %d | %d |\n", count(rows, has),
                    count(rows, [&](const Row& row) { return has(row) && row.judged.to_spare; }));
    }
}

void print_kinds(const std::vector<Row>& rows) {
    std::printf("\n| kind | cases | clear | clear that slips | slips |\n|---|---|---|---|---|\n");
    const auto print = [&](const char* name, auto condition) {
        std::printf(
            "| %s | %d | %d | %d | %d |\n", name, count(rows, condition),
            count(rows,
                  [&](const Row& row) {
                      return condition(row) && row.judged.verdict == Verdict::clear;
                  }),
            count(rows,
                  [&](const Row& row) { return condition(row) && clear_that_slips(row.judged); }),
            count(rows, [&](const Row& row) {
                return condition(row) && row.judged.slips != Slips::none;
            }));
    };
    for (std::size_t k = 0; k < kKindNames.size(); ++k)
        print(kKindNames[k],
              [k](const Row& row) { return static_cast<std::size_t>(row.drawn.kind) == k; });
    print("crossed belts", [](const Row& row) { return row.drawn.crossed; });
    print("one axis", [](const Row& row) { return !row.drawn.crossed; });
    print("full and half steps", [](const Row& row) { return row.drawn.microsteps <= 2; });
}

void print_wrong(const std::vector<Row>& rows) {
    const int clears =
        count(rows, [](const Row& row) { return row.judged.verdict == Verdict::clear; });
    const int wrong = count(rows, [](const Row& row) { return clear_that_slips(row.judged); });
    const auto slipping = [&](auto condition) {
        return count(rows, [&](const Row& row) {
            return clear_that_slips(row.judged) && condition(row.judged);
        });
    };
    std::printf(
        "\n%d of %d clears slip at some edge: %d at two or more edges, %d with the margin left "
        "on\n",
        wrong, clears, slipping([](const Judged& judged) { return judged.edges() > 1; }),
        slipping([](const Judged& judged) { return judged.edges() > judged.edges_that_slip[0]; }));
    if (wrong == 0) return;
    std::printf(
        "edges: how many of eight slip at the low torque with the margin taken off, low, nominal, "
        "high\n");
    std::printf(
        "\n| case | kind | belts | microsteps | use | motor | first edge | at | edges | drawn |\n"
        "|---|---|---|---|---|---|---|---|---|---|\n");
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const Row& row = rows[i];
        const Judged& judged = row.judged;
        if (!clear_that_slips(judged)) continue;
        std::printf("| %zu | %s | %s | %d | %.0f %% | %c | %s | %.3f s ", i,
                    kKindNames[static_cast<std::size_t>(row.drawn.kind)],
                    row.drawn.crossed ? "crossed" : "one", row.drawn.microsteps,
                    100.0 * judged.torque_use, judged.first.motor == 0 ? 'X' : 'Y',
                    to_text(judged.edge).c_str(), judged.first.time_s);
        const auto& edges = judged.edges_that_slip;
        std::printf("| %d %d %d %d | %s |\n", edges[0], edges[1], edges[2], edges[3],
                    row.drawn.about.c_str());
    }
}

/// What has plenty to spare and is objected to.
void print_spare(const std::vector<Row>& rows) {
    const auto spare = [](const Row& row) { return row.judged.to_spare; };
    const auto objected = [&](const Row& row) {
        return spare(row) && row.judged.verdict != Verdict::clear;
    };
    const int all = count(rows, spare), wrong = count(rows, objected);
    std::printf("\n%d cases hold with 30 %% to spare; %d of them (%.1f %%) are not called clear\n",
                all, wrong, all == 0 ? 0.0 : 100.0 * wrong / all);
    const auto calm = [&](const Row& row) {
        return spare(row) && row.judged.peak_lag_rad < 0.5 * std::numbers::pi;
    };
    const auto calm_objected = [&](const Row& row) {
        return calm(row) && std::ranges::any_of(row.judged.objections, [](const Finding& finding) {
                   return finding.check == "lost-steps";
               });
    };
    const int calm_all = count(rows, calm), calm_wrong = count(rows, calm_objected);
    std::printf(
        "in %d of them the second model never swings past 90 deg either; lost-steps objects to %d "
        "(%.1f %%)\n",
        calm_all, calm_wrong, calm_all == 0 ? 0.0 : 100.0 * calm_wrong / calm_all);
    std::map<std::string, std::array<int, 2>> by_check;  // objects, alone
    for (const Row& row : rows) {
        if (!row.judged.unusable.empty() || !objected(row)) continue;
        std::set<std::string> checks;
        for (const Finding& finding : row.judged.objections)
            checks.insert(finding.check);
        for (const std::string& check : checks) {
            ++by_check[check][0];
            if (row.judged.only(check.c_str())) ++by_check[check][1];
        }
    }
    if (by_check.empty()) return;
    std::printf("\n| check | objects | alone |\n|---|---|---|\n");
    for (const auto& [check, counts] : by_check)
        std::printf("| %s | %d | %d |\n", check.c_str(), counts[0], counts[1]);
}

/// Cases with plenty to spare in which lost steps alone are objected to.
void print_objections(const std::vector<Row>& rows) {
    std::printf(
        "\n| case | kind | belts | microsteps | second model swings to | says "
        "|\n|---|---|---|---|---|---|\n");
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const Judged& judged = rows[i].judged;
        if (!judged.unusable.empty() || !judged.to_spare || !judged.only("lost-steps")) continue;
        const std::string& message = judged.objections.front().message;
        const std::size_t from = message.find("simulated with");
        std::printf("| %zu | %s | %s | %d | %.0f deg | %s |\n", i,
                    kKindNames[static_cast<std::size_t>(rows[i].drawn.kind)],
                    rows[i].drawn.crossed ? "crossed" : "one", rows[i].drawn.microsteps,
                    judged.peak_lag_rad * 180.0 / std::numbers::pi,
                    message.substr(from == std::string::npos ? 0 : from).c_str());
    }
}

void print_unusable(const std::vector<Row>& rows) {
    for (std::size_t i = 0; i < rows.size(); ++i)
        if (!rows[i].judged.unusable.empty())
            std::printf("case %zu has no answer: %s\n", i, rows[i].judged.unusable.c_str());
}

void print_changes(const std::vector<Row>& rows, const std::vector<Row>& halved) {
    int changed = 0;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const Judged &a = rows[i].judged, &b = halved[i].judged;
        if (a.slips == b.slips && a.to_spare == b.to_spare) continue;
        ++changed;
        std::printf("case %zu: %s%s, at half the step %s%s\n", i,
                    kSlips[static_cast<std::size_t>(a.slips)], a.to_spare ? " to spare" : "",
                    kSlips[static_cast<std::size_t>(b.slips)], b.to_spare ? " to spare" : "");
    }
    std::printf("%d of %zu answers change at half the integration step\n", changed, rows.size());
}

void study(const Options& options) {
    const Scratch scratch;
    const std::clock_t start = std::clock();
    const std::vector<Row> rows = judge_all(options, scratch.path(), kStep_s);
    const double cpu_s = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
    double model_s = 0.0;
    int runs = 0;
    for (const Row& row : rows) {
        model_s += row.judged.model_s;
        runs += row.judged.runs;
        if (!options.dump.empty() && clear_that_slips(row.judged))
            write_case(options.dump, row.drawn);
    }
    std::printf("## %d cases, seed %llu\n\n", options.cases,
                static_cast<unsigned long long>(options.seed));
    print_table(rows);
    print_kinds(rows);
    print_wrong(rows);
    print_spare(rows);
    print_objections(rows);
    print_unusable(rows);
    std::printf("\nCPU: %.0f s, of which second model %.0f s in %d runs\n", cpu_s, model_s, runs);
    if (options.halve) print_changes(rows, judge_all(options, scratch.path(), 0.5 * kStep_s));
}

/// Everything about one case.
void look_at(const Options& options) {
    const Scratch scratch;
    const Case drawn = draw_case(options.seed, options.only);
    if (!options.dump.empty()) write_case(options.dump, drawn);
    std::printf("%s\n# %s\n%s\n", drawn.machine.c_str(), drawn.about.c_str(),
                drawn.program.c_str());
    const Judged judged = judge(drawn, scratch.path());
    if (!judged.unusable.empty()) {
        std::printf("no answer: %s\n", judged.unusable.c_str());
        return;
    }
    std::printf("check says %s, torque use %.0f %%; the second model: %s\n",
                kVerdicts[static_cast<std::size_t>(judged.verdict)], 100.0 * judged.torque_use,
                kSlips[static_cast<std::size_t>(judged.slips)]);
    for (const Finding& finding : judged.objections)
        std::printf("%s: %s\n", finding.check.c_str(), finding.message.c_str());
    std::printf("\n| edge | peak lag, pitches | slips |\n|---|---|---|\n");
    for (const EdgeAnswer& at : every_edge(drawn, scratch.path())) {
        std::printf("| %s | %.2f |", to_text(at.edge).c_str(),
                    at.answer.peak_lag_rad / (2.0 * std::numbers::pi));
        if (at.answer.slipped)
            std::printf(" %c at %.3f s |\n", at.answer.motor == 0 ? 'X' : 'Y', at.answer.time_s);
        else
            std::printf(" |\n");
    }
}

}  // namespace

int main(int argc, char** argv) {
    const Options options = read_options(argc, argv);
    if (options.self_check) return self_check() == 0 ? 0 : 1;
    if (options.only >= 0)
        look_at(options);
    else
        study(options);
    return 0;
}
