// What must not change the physics does not, and what makes a machine weaker never makes it look better: on random machines and programs.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <random>

#include "stepper_sim/controller/style.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kRoundedTicks =
    1.5;  // both ends of an interval may round the other way, and the sum
constexpr double kSameSwings = 1e-6;  // roundings that swings have summed through a program
constexpr double kRounding_m = 1e-12;

#ifdef STEPPER_SIM_SLOW_BUILD
constexpr int kMachines = 6;
#else
constexpr int kMachines = 12;
#endif
constexpr bool kDynamics = true;
constexpr double kSame = 1e-9;  // relative: sums in another order
constexpr double kStep_mm =
    0.0125;  // 80 steps/mm: points on whole steps, so that rounding is no part of the question

/// Values of the sample machine's belt axes; the screw stays.
struct Draw {
    double mass_kg, friction_N, speed_mm_s, acceleration_mm_s2, step_mm_s, supply_V;
    int lookahead;
};

Draw draw(std::mt19937& random) {
    const auto between = [&](double low, double high) {
        return low * std::pow(high / low, std::uniform_real_distribution<double>()(random));
    };
    return {between(0.1, 1.5),
            between(0.5, 8.0),
            between(40.0, 300.0),
            between(300.0, 6000.0),
            between(0.5, 20.0),
            between(12.0, 28.0),
            std::uniform_int_distribution<int>(1, 40)(random)};
}

machine::Machine machine_of(const Draw& draw) {
    std::string text =
        changed("mass = \"0.3 kg\"", "mass = \"" + std::to_string(draw.mass_kg) + " kg\"");
    const std::pair<std::string_view, std::string> values[] = {
        {"friction = \"2 N\"", "friction = \"" + std::to_string(draw.friction_N) + " N\""},
        {"max_speed = \"150 mm/s\"",
         "max_speed = \"" + std::to_string(draw.speed_mm_s) + " mm/s\""},
        {"max_acceleration = \"1500 mm/s^2\"",
         "max_acceleration = \"" + std::to_string(draw.acceleration_mm_s2) + " mm/s^2\""},
        {"speed_step = \"5 mm/s\"", "speed_step = \"" + std::to_string(draw.step_mm_s) + " mm/s\""},
        {"supply = \"24 V\"", "supply = \"" + std::to_string(draw.supply_V) + " V\""},
        {"lookahead_moves = 16", "lookahead_moves = " + std::to_string(draw.lookahead)}};
    for (const auto& [from, to] : values)
        text = changed(from, to, text);
    return machine_from(text);
}

struct Point {
    double x_mm, y_mm, feed_mm_min;
};

std::vector<Point> points(std::mt19937& random, int count) {
    std::uniform_int_distribution<int> steps(0, static_cast<int>(200.0 / kStep_mm));
    std::uniform_int_distribution<int> near(-400, 400);
    std::uniform_real_distribution<double> feed(600.0, 15000.0);
    std::vector<Point> out;
    int x = 8000, y = 8000;
    for (int i = 0; i < count; ++i) {
        const bool far = i % 8 == 0;
        x = far ? steps(random) : std::clamp(x + near(random), 0, 16000);
        y = far ? steps(random) : std::clamp(y + near(random), 0, 16000);
        out.push_back({x * kStep_mm, y * kStep_mm, std::round(feed(random))});
    }
    return out;
}

std::string number(double value) {
    std::string text(40, '\0');
    text.resize(static_cast<std::size_t>(std::snprintf(text.data(), text.size(), "%.12f", value)));
    return text;
}

/// To the first point at full speed, to the others at their feeds.
std::string text_of(std::span<const Point> points, const char* units = "G21") {
    std::string text = units + std::string(" G90\n");
    for (const Point& p : points) {
        text += &p == &points.front() ? "G0" : "G1";
        text += " X" + number(p.x_mm) + " Y" + number(p.y_mm);
        text += &p == &points.front() ? "\n" : " F" + number(p.feed_mm_min) + "\n";
    }
    return text;
}

void expect_same(double a, double b, const char* what) {
    EXPECT_NEAR(a, b, kSame * std::max(std::fabs(a), std::fabs(b))) << what;
}

void expect_same_physics(const machine::Machine& machine, const run::ProgramResult& a,
                         const run::ProgramResult& b, double path_tolerance = kSame,
                         std::int64_t first_turns = 0) {
    const double tick_s = 1.0 / static_cast<double>(controller::tick_hz_of(machine.controller));
    EXPECT_NEAR(a.duration_s, b.duration_s, path_tolerance * a.duration_s);
    EXPECT_NEAR(a.path_m, b.path_m, path_tolerance * a.path_m);
    for (std::size_t m = 0; m < machine.axes.size(); ++m) {
        SCOPED_TRACE(m);
        expect_same(a.axes[m].peak_speed_m_s, b.axes[m].peak_speed_m_s, "speed");
        expect_same(a.axes[m].peak_acceleration_m_s2, b.axes[m].peak_acceleration_m_s2,
                    "acceleration");
        expect_same(a.motors[m].torque.use_low, b.motors[m].torque.use_low, "torque");
        expect_same(a.motors[m].speed_step.use_low, b.motors[m].speed_step.use_low, "speed step");
        EXPECT_EQ(a.motors[m].timing.steps, b.motors[m].timing.steps);
        EXPECT_LE(std::abs(a.motors[m].timing.turns - b.motors[m].timing.turns), first_turns);
        if (a.motors[m].timing.steps > 1) {
            EXPECT_NEAR(a.motors[m].timing.min_interval_s.value,
                        b.motors[m].timing.min_interval_s.value, kRoundedTicks * tick_s);
        }
        EXPECT_NEAR(a.slips.motors[m].ratio_peak, b.slips.motors[m].ratio_peak,
                    kSameSwings * a.slips.motors[m].ratio_peak);
    }
}

/// `check(machine, points)` on random machines and programs.
template <class Check>
void on_random_machines(unsigned seed, Check&& check) {
    std::mt19937 random(seed);
    for (int i = 0; i < kMachines; ++i) {
        SCOPED_TRACE(i);
        const Draw values = draw(random);
        check(values, points(random, 60));
    }
}

TEST(Invariants, MirroredAxesDoNotChangeThePhysics) {
    on_random_machines(1, [](const Draw& values, std::vector<Point> program) {
        const machine::Machine machine = machine_of(values);
        const run::ProgramResult plain = run_text(machine, text_of(program), kDynamics);
        for (Point& p : program)
            p.x_mm = -p.x_mm;  // the program begins at 0
        const run::ProgramResult mirrored = run_text(machine, text_of(program), kDynamics);
        // The direction line begins at "up": a start downwards turns it once more.
        expect_same_physics(machine, plain, mirrored, kSame, 1);
        EXPECT_NEAR(plain.axes[0].end_m, -mirrored.axes[0].end_m, kRounding_m);
    });
}

TEST(Invariants, InchesAndMillimetresAreTheSameMotion) {
    on_random_machines(2, [](const Draw& values, std::vector<Point> program) {
        const machine::Machine machine = machine_of(values);
        const run::ProgramResult mm = run_text(machine, text_of(program), kDynamics);
        for (Point& p : program)
            p = {p.x_mm / 25.4, p.y_mm / 25.4, p.feed_mm_min / 25.4};
        expect_same_physics(machine, mm, run_text(machine, text_of(program, "G20"), kDynamics));
    });
}

TEST(Invariants, CommentsSpacingAndLineNumbersChangeNothing) {
    on_random_machines(3, [](const Draw& values, const std::vector<Point>& program) {
        const machine::Machine machine = machine_of(values);
        const std::string plain = text_of(program);
        std::string dressed = "%\n";
        int line = 0;
        for (std::size_t at = 0, end = 0; at < plain.size(); at = end + 1) {
            end = plain.find('\n', at);
            ++line;
            std::string words = plain.substr(at, end - at);
            switch (line % 4) {
                case 0:
                    words = "N" + std::to_string(line) + " " + words + " (X999 G28)";
                    break;
                case 1:
                    std::transform(words.begin(), words.end(), words.begin(), [](unsigned char c) {
                        return static_cast<char>(std::tolower(c));
                    });
                    break;
                case 2:
                    words = "\t" + words + "   ; F1\n\n";
                    break;
                default:
                    std::erase(words, ' ');
                    words += "\r";
            }
            dressed += words + "\n";
        }
        const run::ProgramResult a = run_text(machine, plain, kDynamics);
        const run::ProgramResult b = run_text(machine, dressed + "%\n", kDynamics);
        EXPECT_EQ(a.moves, b.moves);
        expect_same_physics(machine, a, b, 0.0);
    });
}

TEST(Invariants, AStraightMoveCutInTwoIsTheSameMotion) {
    on_random_machines(4, [](Draw values, const std::vector<Point>& program) {
        // The whole program: a short window sees half as far in pieces of half the length.
        values.lookahead = 0;
        const machine::Machine machine = machine_of(values);
        std::vector<Point> cut{program.front()};
        for (std::size_t i = 1; i < program.size(); ++i) {
            const Point &from = program[i - 1], &to = program[i];
            cut.push_back(
                {0.5 * (from.x_mm + to.x_mm), 0.5 * (from.y_mm + to.y_mm), to.feed_mm_min});
            cut.push_back(to);
        }
        const run::ProgramResult whole = run_text(machine, text_of(program));
        const run::ProgramResult halves = run_text(machine, text_of(cut));
        constexpr double kOfSquares = 1e-6;  // the speed at a cut comes back from its square
        EXPECT_NEAR(whole.duration_s, halves.duration_s, kOfSquares * whole.duration_s);
        EXPECT_NEAR(whole.path_m, halves.path_m, kSame * whole.path_m);
        for (std::size_t m = 0; m < machine.axes.size(); ++m) {
            EXPECT_NEAR(whole.motors[m].torque.use_low, halves.motors[m].torque.use_low,
                        kOfSquares * whole.motors[m].torque.use_low);
            EXPECT_EQ(whole.motors[m].timing.net_steps, halves.motors[m].timing.net_steps);
        }
    });
}

TEST(Invariants, AWeakerMachineNeverLooksBetter) {
    on_random_machines(5, [](const Draw& values, const std::vector<Point>& program) {
        const auto judged = [&](const Draw& of) {
            const machine::Machine machine = machine_of(of);
            const run::MotorModels models = run::motor_models(machine);
            std::vector<run::ProgramResult> results{run_text(machine, text_of(program))};
            return std::pair(check::verdict_of(check::run_checks(
                                 {machine, models, results, run::kDefaultMargin})),
                             results[0].motors[0].torque.use_low);
        };
        const auto strong = judged(values);
        for (const auto& weaken : std::initializer_list<std::function<void(Draw&)>>{
                 [](Draw& d) { d.mass_kg *= 1.5; }, [](Draw& d) { d.friction_N *= 1.5; },
                 [](Draw& d) { d.supply_V *= 0.75; }}) {
            Draw other = values;
            weaken(other);
            const auto weak = judged(other);
            EXPECT_GE(weak.first, strong.first);
            EXPECT_GE(weak.second, strong.second * (1.0 - kSame));
        }
    });
}

TEST(Invariants, MoreOfEveryLimitNeverTakesLonger) {
    on_random_machines(6, [](const Draw& values, const std::vector<Point>& program) {
        Draw faster = values;
        faster.speed_mm_s *= 1.3;
        faster.acceleration_mm_s2 *= 1.3;
        faster.step_mm_s *= 1.3;
        const double slow_s = run_text(machine_of(values), text_of(program)).duration_s;
        EXPECT_LE(run_text(machine_of(faster), text_of(program)).duration_s,
                  slow_s * (1.0 + kSame));
    });
}

}  // namespace
