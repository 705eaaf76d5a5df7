// What is kept for pictures: bounded, and never without the worst.
#include "stepper_sim/picture/recording.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "stepper_sim/dynamics/axis_dynamics.hpp"
#include "stepper_sim/dynamics/band_edge.hpp"
#include "stepper_sim/picture/envelope.hpp"
#include "stepper_sim/picture/path_map.hpp"
#include "stepper_sim/picture/program_lines.hpp"
#include "stepper_sim/picture/record_program.hpp"
#include "stepper_sim/picture/response.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kBesideAPoint = 0.02;  // they stand 1.7 % apart, 400 over three decades
constexpr double kNearRest =
    0.01;  // the first stands at 1 Hz: the square of that over the natural frequency
constexpr double kClosedForm = 1e-9, kSameForm = 1e-6,
                 kRounding_Nm = 1e-9;  // roundings of either side

double greatest_of(const picture::Envelope& envelope) {
    return *std::max_element(envelope.greatest.begin(), envelope.greatest.end());
}

RC_GTEST_PROP(EnvelopeBuilder, KeepsThePeakAndStaysBounded, (std::vector<unsigned> heights)) {
    picture::EnvelopeBuilder builder;
    double time_s = 0.0, peak = 0.0;
    for (const unsigned height : heights) {
        const double value = height % 1000U;
        builder.add(time_s, time_s + 0.013, 0.0, value);
        time_s += 0.5;
        peak = std::max(peak, value);
    }
    const picture::Envelope envelope = builder.finish(time_s);
    RC_ASSERT(envelope.greatest.size() <= picture::EnvelopeBuilder::kMostStretches);
    RC_ASSERT(std::abs(greatest_of(envelope) - peak) <= 1e-9 * (1.0 + peak));
    RC_ASSERT(envelope.stretch_s * static_cast<double>(envelope.greatest.size()) >= time_s);
}

TEST(EnvelopeBuilder, AShortPeakInALongProgramSurvives) {
    picture::EnvelopeBuilder builder;
    builder.add(0.0, 1000.0, 1.0, 1.0);
    builder.add(1000.0, 1000.0005, 1.0, 9.0);
    builder.add(1000.0005, 200000.0, 1.0, 1.0);
    const picture::Envelope envelope = builder.finish(200000.0);
    EXPECT_DOUBLE_EQ(greatest_of(envelope), 9.0);
    EXPECT_DOUBLE_EQ(*std::min_element(envelope.least.begin(), envelope.least.end()), 1.0);
}

/// A signal in pieces with gaps between them: what is never added is 0.
RC_GTEST_PROP(EnvelopeBuilder, HoldsTheSignalAtEveryTime, (std::vector<unsigned> numbers)) {
    struct Piece {
        double begin_s, end_s, from, to;
    };
    std::vector<Piece> pieces;
    picture::EnvelopeBuilder builder;
    double time_s = 0.0;
    for (const unsigned n : numbers) {
        const double gap_s = n % 7U == 0 ? 0.25 * (n % 5U) : 0.0;
        const Piece piece{time_s + gap_s, time_s + gap_s + 0.001 * (1U + n % 300U),
                          static_cast<double>(n % 11U) + 1.0, static_cast<double>(n % 13U) + 1.0};
        builder.add(piece.begin_s, piece.end_s, piece.from, piece.to);
        pieces.push_back(piece);
        time_s = piece.end_s;
    }
    const picture::Envelope envelope = builder.finish(time_s);
    const auto holds = [&](double at_s, double value) {
        const auto i = static_cast<std::size_t>(at_s / envelope.stretch_s);
        // A time on the border of two stretches may be taken for either.
        constexpr double kRounding = 1e-6;
        return i < envelope.least.size() && envelope.least[i] <= value + kRounding &&
               envelope.greatest[i] >= value - kRounding;
    };
    double before_s = 0.0;
    for (const Piece& piece : pieces) {
        for (const double share : {0.01, 0.3, 0.99}) {
            const double at_s = std::lerp(piece.begin_s, piece.end_s, share);
            RC_ASSERT(holds(at_s, std::lerp(piece.from, piece.to, share)));
        }
        // A gap as long as two stretches has one to itself.
        if (piece.begin_s - before_s > 2.0 * envelope.stretch_s)
            RC_ASSERT(holds(0.5 * (before_s + piece.begin_s), 0.0));
        before_s = piece.end_s;
    }
}

TEST(EnvelopeBuilder, AShortDipInALongProgramSurvivesWhereverItIs) {
    for (int place = 0; place < 8; ++place) {
        picture::EnvelopeBuilder builder;
        const double dip_s = 0.001 * place;
        builder.add(0.0, dip_s, 5.0, 5.0);
        builder.add(dip_s, dip_s + 0.0005, 1.0, 1.0);
        builder.add(dip_s + 0.0005, 20.0, 5.0, 5.0);
        const picture::Envelope envelope = builder.finish(20.0);
        EXPECT_EQ(*std::min_element(envelope.least.begin(), envelope.least.end()), 1.0) << place;
        EXPECT_EQ(envelope.least.size(),
                  static_cast<std::size_t>(20.0 / envelope.stretch_s) + 1);  // the end's too
    }
}

TEST(EnvelopeBuilder, AStretchHalfOfWhichIsEmptyHoldsZeroToo) {
    picture::EnvelopeBuilder builder;
    builder.add(0.0, 0.0005, 5.0, 5.0);
    builder.add(0.002, 0.0025, 5.0, 5.0);
    builder.add(3.0, 3.0005, 5.0, 5.0);
    const picture::Envelope envelope = builder.finish(4.0);
    ASSERT_GT(envelope.stretch_s, 1e-3);
    EXPECT_EQ(envelope.least.front(), 0.0);
    EXPECT_EQ(envelope.greatest.front(), 5.0);
}

TEST(EnvelopeBuilder, ASignalThatBeginsLateIsZeroBefore) {
    picture::EnvelopeBuilder builder;
    builder.add(0.0015, 0.0035, 5.0, 5.0);
    builder.add(0.0035, 4.0, 5.0, 5.0);
    const picture::Envelope envelope = builder.finish(4.0);
    ASSERT_GT(envelope.stretch_s, 1e-3);
    EXPECT_EQ(envelope.least.front(), 0.0);
    EXPECT_EQ(envelope.greatest.front(), 5.0);
}

planner::MotorMove step(double x0, double y0, double x1, double y1, double z, std::uint64_t line) {
    planner::MotorMove move;
    move.line = line;
    move.length_m = 1e-3;
    move.tool_start_m = {x0, y0, z};
    move.tool_end_m = {x1, y1, z};
    return move;
}

/// A zig-zag of `count` strokes on each of `levels` heights.
picture::PathMap zig_zag(std::size_t most, int levels, int count, int worst_level,
                         int worst_stroke) {
    picture::PathMapBuilder builder(0, 1, 2, -1, most);
    std::uint64_t line = 0;
    for (int level = 0; level < levels; ++level)
        for (int i = 0; i < count; ++i) {
            picture::MapPiece worst;
            worst.torque_use = level == worst_level && i == worst_stroke ? 0.9F : 0.1F;
            const double y0 = i % 2 == 0 ? 0.0 : 0.05;
            builder.add(step(i * 1e-4, y0, (i + 1) * 1e-4, 0.05 - y0, level * 2e-4, ++line), worst);
        }
    return builder.finish();
}

TEST(PathMapBuilder, ShortProgramsAreKeptWhole) {
    const picture::PathMap map = zig_zag(1000, 3, 100, 1, 50);
    EXPECT_EQ(map.pieces.size(), 300U);
    EXPECT_EQ(map.levels_m.size(), 3U);
    EXPECT_EQ(map.merged_within_m, 0.0);
}

RC_GTEST_PROP(PathMapBuilder, LongProgramsAreBoundedAndKeepTheWorstWithItsLine, ()) {
    const int levels = *rc::gen::inRange(1, 40), count = *rc::gen::inRange(20, 200);
    const int worst_level = *rc::gen::inRange(0, levels),
              worst_stroke = *rc::gen::inRange(0, count);
    const picture::PathMap map = zig_zag(100, levels, count, worst_level, worst_stroke);
    RC_ASSERT(map.pieces.size() <= 100U);
    const auto worst = std::max_element(map.pieces.begin(), map.pieces.end(),
                                        [](const picture::MapPiece& a, const picture::MapPiece& b) {
                                            return a.torque_use < b.torque_use;
                                        });
    RC_ASSERT(worst->torque_use == 0.9F);
    RC_ASSERT(worst->line == static_cast<std::uint32_t>(worst_level * count + worst_stroke + 1));
    RC_ASSERT(map.moves == static_cast<std::uint64_t>(levels) * static_cast<std::uint64_t>(count));
}

TEST(PathMapBuilder, CollinearMovesMergeWithoutShiftingThePath) {
    picture::PathMapBuilder builder(0, 1, 2, -1, 10);
    for (int i = 0; i < 1000; ++i)
        builder.add(step(i * 1e-3, 0.0, (i + 1) * 1e-3, 0.0, 0.0, 1), {});
    const picture::PathMap map = builder.finish();
    EXPECT_LE(map.pieces.size(), 20U);
    EXPECT_FLOAT_EQ(map.pieces.back().x1_m, 1.0F);
    EXPECT_LE(map.merged_within_m, 10e-6);
}

TEST(PathMapBuilder, PiecesThatNeverJoinAndAreAllAlikeStillFillTheMap) {
    picture::PathMapBuilder builder(0, 1, 2, -1, 50);
    for (int i = 0; i < 1000; ++i) {
        planner::MotorMove move = step(i * 1e-3, 0.0, (i + 1) * 1e-3, 0.0, 0.0, 1);
        move.rapid = i % 2 == 0;
        builder.add(move, {});
    }
    EXPECT_EQ(builder.finish().pieces.size(), 50U);
}

TEST(Response, PeaksAtTheNaturalFrequencyByTheDampingRatio) {
    const machine::Machine machine = machine_from();
    const run::MotorModels models = run::motor_models(machine);
    picture::MotorRecord record;
    picture::add_response(machine, models, 2, record);
    const auto peak =
        std::max_element(record.response.begin(), record.response.end(),
                         [](const picture::ResponsePoint& a, const picture::ResponsePoint& b) {
                             return a.nominal < b.nominal;
                         });
    EXPECT_NEAR(peak->frequency_hz, record.natural_hz, kBesideAPoint * record.natural_hz);
    EXPECT_NEAR(record.response.front().nominal, 1.0, kNearRest);
    EXPECT_LT(record.natural_low_hz, record.natural_high_hz);
}

// One mode: the textbook's magnification of a damped oscillator, 1/sqrt((1 - r^2)^2 + (2 z r)^2), at each edge of the band.
TEST(Response, OfARigidAxisIsTheMagnificationOfOneOscillator) {
    machine::Machine machine = machine_from();
    machine.axes[2].load.mass *= 1e-3;  // nothing beside the rotor: rigid
    const run::MotorModels models = run::motor_models(machine);
    picture::MotorRecord record;
    picture::add_response(machine, models, 2, record);
    for (const auto& [edge, gain] :
         {std::pair(dynamics::BandEdge::low, &picture::ResponsePoint::low),
          std::pair(dynamics::BandEdge::nominal, &picture::ResponsePoint::nominal),
          std::pair(dynamics::BandEdge::high, &picture::ResponsePoint::high)}) {
        const dynamics::VibrationModes modes = dynamics::vibration_modes(
            dynamics::axis_dynamics(machine, models.loads, models.available[2], 2, edge));
        ASSERT_EQ(modes.count, 1);
        const double natural_hz = modes.mode[0].rate_rad_s / (2.0 * std::numbers::pi);
        for (const picture::ResponsePoint& point : record.response) {
            const double r = point.frequency_hz / natural_hz;
            const double exact = 1.0 / std::hypot(1.0 - r * r, 2.0 * modes.mode[0].damping * r);
            EXPECT_NEAR(point.*gain, exact, kClosedForm * exact) << point.frequency_hz;
        }
    }
}

// Two masses on the magnetic spring and the belt, solved here without modes and without damping; what damping changes is bounded by
// |1/(a + jb) - 1/a| <= |b|/a^2 of each mode.
TEST(Response, OfAnElasticAxisIsThatOfTwoMassesOnTwoSprings) {
    const machine::Machine machine = shipped("tray-printer-hurried");
    const run::MotorModels models = run::motor_models(machine);
    picture::MotorRecord record;
    picture::add_response(machine, models, 1, record);
    const dynamics::AxisDynamics axis = dynamics::axis_dynamics(
        machine, models.loads, models.available[1], 1, dynamics::BandEdge::nominal);
    const double km = dynamics::magnetic_stiffness_Nm_rad(axis), kb = axis.stiffness_Nm_rad;
    const double rotor = axis.rotor_inertia_kg_m2, load = axis.load_inertia_kg_m2;
    const double rest = (rotor + load) / km;
    const dynamics::VibrationModes modes = dynamics::vibration_modes(axis);
    ASSERT_EQ(modes.count, 2);
    int compared = 0;
    for (const picture::ResponsePoint& point : record.response) {
        const double w2 = std::pow(2.0 * std::numbers::pi * point.frequency_hz, 2);
        double damped = 0.0;
        for (const dynamics::VibrationMode& mode : modes.used()) {
            const double a = mode.rate_rad_s * mode.rate_rad_s - w2;
            damped += std::abs(mode.rotor_shape * mode.participation) * 2.0 * mode.damping *
                      mode.rate_rad_s * std::sqrt(w2) / (a * a);
        }
        const double determinant = (km + kb - w2 * rotor) * (kb - w2 * load) - kb * kb;
        const double exact = std::abs((rotor * (kb - w2 * load) + load * kb) / determinant) / rest;
        if (damped / rest > 0.1 * exact) continue;  // near a resonance damping decides
        EXPECT_NEAR(point.nominal, exact, damped / rest + kClosedForm * exact)
            << point.frequency_hz;
        ++compared;
    }
    EXPECT_GT(compared, 100);
}

TEST(Response, AReversalEveryQuarterSecondIsTwoHertz) {
    auto bins = picture::reversal_bins();
    picture::count_reversal(0.25, bins);
    picture::count_reversal(0.0, bins);
    picture::count_reversal(1e9, bins);
    std::uint64_t all = 0;
    for (const picture::ReversalBin& bin : bins) {
        all += bin.count;
        if (bin.count > 0) {
            EXPECT_LE(bin.from_hz, 2.0 * (1.0 + 1e-9));
            EXPECT_GE(bin.to_hz, 2.0 * (1.0 - 1e-9));
        }
    }
    EXPECT_EQ(all, 1U);
}

TEST(Response, TheBinsReachFromOneHertzToAThousand) {
    auto bins = picture::reversal_bins();
    picture::count_reversal(0.5 / 1.01, bins);
    picture::count_reversal(0.5 / 999.0, bins);
    picture::count_reversal(0.5 / 0.99, bins);
    picture::count_reversal(0.5 / 1001.0, bins);
    EXPECT_EQ(bins.front().count, 1U);
    EXPECT_EQ(bins.back().count, 1U);
    for (std::size_t i = 1; i + 1 < bins.size(); ++i)
        EXPECT_EQ(bins[i].count, 0U);
}

TEST(ProgramLines, WantedLinesAreFoundCutAndMadePrintable) {
    const TextFile file("one\ntwo\x01\r\n" + std::string(100000, 'x') + "\nfour");
    const auto lines = picture::program_lines(file.path(), {2, 3, 4, 9});
    ASSERT_EQ(lines.size(), 3U);
    EXPECT_EQ(lines.at(2), "two?");
    EXPECT_LE(lines.at(3).size(), picture::kMostLineBytes + 3);
    EXPECT_EQ(lines.at(4), "four");
}

picture::RecordedProgram recorded(const machine::Machine& machine, std::string_view text) {
    const TextFile file(text);
    auto program = picture::record_program(machine, run::motor_models(machine), file.path(), {},
                                           run::kDefaultMargin);
    for (const planner::Diagnostic& diagnostic : program.diagnostics())
        ADD_FAILURE() << planner::to_line(diagnostic);
    return std::move(program).value();
}

constexpr std::string_view kSquare = "G21 G90\nG0 X10 Y10 Z1\nG1 X60 F6000\nY60\nX10\nY10\nM2\n";

TEST(RecordProgram, AgreesWithTheChecksOnThePeaks) {
    const machine::Machine machine = machine_from();
    const picture::RecordedProgram program = recorded(machine, kSquare);
    for (std::size_t m = 0; m < machine.axes.size(); ++m) {
        const picture::MotorRecord& motor = program.recording.motors[m];
        const run::MotorResult& result = program.result.motors[m];
        // Rates are the same closed form in both.
        EXPECT_NEAR(greatest_of(motor.step_rate_hz), result.timing.peak_step_rate_hz.value,
                    kSameForm * result.timing.peak_step_rate_hz.value);
        // Worst moments meet the same ends of phases.
        EXPECT_NEAR(motor.worst_asked_Nm, result.torque.asked_Nm, kRounding_Nm);
    }
    double use = 0.0, ratio = 0.0;
    for (const picture::MapPiece& piece : program.recording.map.pieces) {
        use = std::max(use, static_cast<double>(piece.torque_use));
        ratio = std::max(ratio, static_cast<double>(piece.modal_ratio));
    }
    double most_use = 0.0, most_ratio = 0.0;
    for (std::size_t m = 0; m < machine.axes.size(); ++m) {
        most_use = std::max(most_use, program.result.motors[m].torque.use_low);
        most_ratio = std::max(most_ratio, program.result.slips.motors[m].ratio_peak);
    }
    constexpr double kFloat = 1e-6;  // shares are kept as single-precision numbers
    EXPECT_NEAR(use, most_use, kFloat);
    EXPECT_NEAR(ratio, most_ratio, kFloat);
}

TEST(RecordProgram, SteadyLoadComesNearTheEmittersOwnAccount) {
    const machine::Machine machine = machine_from();
    const picture::RecordedProgram program = recorded(machine, "G21 G90\nG1 X150 F6000\nM2\n");
    // The emitter rounds costs up to ticks and looks at windows of a millisecond.
    constexpr double kRounding = 0.05;
    const double emitted = program.result.controller.load_peak.value;
    EXPECT_NEAR(greatest_of(program.recording.processor_load), emitted, kRounding * emitted);
}

TEST(RecordProgram, AMomentHoldsThePulsesOfItsStretch) {
    const picture::RecordedProgram program = recorded(machine_from(), kSquare);
    ASSERT_EQ(program.recording.moments.size(), 1U);
    const picture::MomentRecord& moment = program.recording.moments[0];
    ASSERT_GT(moment.rises.size(), 10U);
    EXPECT_TRUE(std::is_sorted(moment.rises.begin(), moment.rises.end()));
    EXPECT_EQ(moment.angle_low_rad.size(), moment.angle_high_rad.size());
    EXPECT_GT(moment.angle_low_rad.size(), 100U);
    EXPECT_LE(moment.start_s, moment.at_s);
    EXPECT_FALSE(moment.cut);
}

TEST(RecordProgram, RecordingChangesNoResult) {
    const machine::Machine machine = machine_from();
    const TextFile file(kSquare);
    const run::MotorModels models = run::motor_models(machine);
    const auto plain = run::run_program(machine, models, file.path());
    const picture::RecordedProgram program = recorded(machine, kSquare);
    ASSERT_TRUE(plain);
    for (std::size_t m = 0; m < machine.axes.size(); ++m)
        EXPECT_EQ(plain.value().slips.motors[m].ratio_peak,
                  program.result.slips.motors[m].ratio_peak);
}

}  // namespace
