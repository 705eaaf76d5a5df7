// Checks that compare a part with its ratings: each limit from both sides, with the figures a finding carries.
#include <gtest/gtest.h>

#include <array>
#include <functional>
#include <numbers>

#include "stepper_sim/motor/electrical.hpp"
#include "stepper_sim/run/ceilings.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;
using planner::from_si;

constexpr double kRounding = 1e-9;  // of products and a quotient near ten

/// The only finding of this check on motor X of the bench as `change` leaves it.
std::optional<check::Finding> on_x(std::string_view check,
                                   const std::function<void(machine::Axis&)>& change) {
    machine::Machine machine = machine_from();
    change(machine.axes[0]);
    std::optional<check::Finding> found;
    for (const check::Finding& finding : findings_of(check, machine)) {
        if (finding.motor != 'X') continue;
        EXPECT_FALSE(found) << finding.message;
        found = finding;
    }
    return found;
}

std::optional<check::Grade> grade_on_x(std::string_view check,
                                       const std::function<void(machine::Axis&)>& change) {
    const auto found = on_x(check, change);
    return found ? std::optional(found->grade) : std::nullopt;
}

machine::RatedCurrent current(double value_A, machine::CurrentBasis basis) {
    return {from_si<planner::Current>(value_A), basis};
}

// The bench's motor has a plate of 1 A RMS.
TEST(MotorCurrent, UnderHalfThePlateIsANoteAndHalfOfItIsNot) {
    const auto grade = [](double rms_A) {
        return grade_on_x("motor-current", [&](machine::Axis& axis) {
            axis.current = current(rms_A, machine::CurrentBasis::rms);
        });
    };
    EXPECT_EQ(grade(0.49), check::Grade::note);
    EXPECT_EQ(grade(0.51), std::nullopt);
}

TEST(MotorCurrent, ProposesThePlatesCurrentWhereMoreIsSet) {
    const auto found = on_x("motor-current", [](machine::Axis& axis) {
        axis.current = current(1.1, machine::CurrentBasis::rms);
    });
    ASSERT_TRUE(found);
    EXPECT_EQ(found->grade, check::Grade::fault);
    EXPECT_EQ(proposed_lines(*found), "axes.x.current = { rms = \"1 A\" }");
    EXPECT_DOUBLE_EQ(found->value, 1.1);
    EXPECT_DOUBLE_EQ(found->limit, 1.0);
}

// The motor takes 2.8 A RMS, the driver 1.4 A RMS.
TEST(MotorCurrent, ProposesWhatTheDriverTakesWhereThatIsLess) {
    machine::Machine machine = machine_from(changed("qsh4218-51-10-049", "qsh5718-56-28-126"));
    for (const double set_A : {1.5, 3.0}) {  // above the driver's rating, above both
        machine.axes[0].current = current(set_A, machine::CurrentBasis::rms);
        for (const check::Finding& finding : findings_of("motor-current", machine)) {
            if (finding.motor != 'X' || finding.grade == check::Grade::note) continue;
            EXPECT_EQ(proposed_lines(finding), "axes.x.current = { rms = \"1.4 A\" }")
                << finding.message;
        }
        EXPECT_TRUE(any_with(findings_of("motor-current", machine), check::Grade::fault, 'X'));
    }
    machine.axes[0].current = current(1.4, machine::CurrentBasis::rms);
    EXPECT_FALSE(any_with(findings_of("motor-current", machine), check::Grade::fault, 'X'));
}

TEST(MotorCurrent, APlateThatDoesNotSayRmsOrPeakIsANote) {
    const auto found = on_x("motor-current", [](machine::Axis& axis) {
        axis.motor.rated_current.basis = machine::CurrentBasis::not_stated;
    });
    ASSERT_TRUE(found);
    EXPECT_EQ(found->grade, check::Grade::note);
    EXPECT_NE(found->message.find("does not say whether"), std::string::npos) << found->message;
}

// 1 A RMS is 1.41 A peak: above a driver's 1.2 A read as a peak, within 1.2 A RMS.
TEST(MotorCurrent, ADriversRatingOfUnknownBasisIsReadAsAPeakAndIsARisk) {
    const auto grade = [](machine::CurrentBasis basis) {
        return grade_on_x("motor-current", [&](machine::Axis& axis) {
            axis.driver.current_max = current(1.2, basis);
        });
    };
    EXPECT_EQ(grade(machine::CurrentBasis::rms), std::nullopt);
    EXPECT_EQ(grade(machine::CurrentBasis::peak), check::Grade::fault);
    EXPECT_EQ(grade(machine::CurrentBasis::not_stated), check::Grade::risk);
}

TEST(MotorCurrent, ADriverWithoutARatingIsANote) {
    EXPECT_EQ(
        grade_on_x("motor-current", [](machine::Axis& axis) { axis.driver.current_max.reset(); }),
        check::Grade::note);
}

TEST(SupplyVoltage, AboveWhatTheMotorIsRatedForIsAFault) {
    const auto grade = [](double rated_V) {
        return grade_on_x("supply-voltage", [&](machine::Axis& axis) {
            axis.motor.max_supply = from_si<planner::Voltage>(rated_V);
        });
    };
    EXPECT_EQ(grade(23.9), check::Grade::fault);
    EXPECT_EQ(grade(24.0), std::nullopt);
}

// The rule of electrical.hpp: a supply of 2 to 25 times the coil's voltage.
TEST(SupplyVoltage, OutsideTheCoilRuleIsANoteThatTellsWhichWay) {
    const auto found = [](double ratio) {
        return on_x("supply-voltage", [&](machine::Axis& axis) {
            axis.motor.resistance = from_si<planner::Resistance>(
                axis.supply.value() / axis.motor.rated_current.rms().value() / ratio);
        });
    };
    EXPECT_FALSE(found(motor::kSupplyRatioMin + 0.1));
    EXPECT_FALSE(found(motor::kSupplyRatioMax - 0.1));
    const auto low = found(motor::kSupplyRatioMin - 0.1),
               high = found(motor::kSupplyRatioMax + 0.1);
    ASSERT_TRUE(low && high);
    EXPECT_EQ(low->grade, check::Grade::note);
    EXPECT_GT(low->limit, low->value);
    EXPECT_NE(low->message.find("torque falls off"), std::string::npos) << low->message;
    EXPECT_EQ(high->grade, check::Grade::note);
    EXPECT_LT(high->limit, high->value);
    EXPECT_NE(high->message.find("switching heats"), std::string::npos) << high->message;
}

TEST(StepsPerMm, ACalibratedValueIsWithinTwoPercentOfTheMechanicsAndTheyAreProposed) {
    const auto found = [](double steps_per_mm) {
        return on_x("steps-per-mm",
                    [&](machine::Axis& axis) { axis.settings.steps_per_mm = steps_per_mm; });
    };
    ASSERT_TRUE(found(80.0 * 1.019) && found(80.0 * 1.021) && found(80.0 * 0.979));
    EXPECT_EQ(found(80.0 * 1.019)->grade, check::Grade::risk);
    EXPECT_EQ(found(80.0 * 1.021)->grade, check::Grade::fault);
    EXPECT_EQ(found(80.0 * 0.979)->grade, check::Grade::fault);
    EXPECT_EQ(proposed_lines(*found(81.0)), "axes.x.settings.steps_per_mm = 80");
}

TEST(StepsPerMm, MicrostepsThatTheDriverDoesNotOfferAreAFault) {
    const auto grade = [](std::vector<int> offered) {
        return grade_on_x("steps-per-mm", [&](machine::Axis& axis) {
            axis.driver.microsteps = std::move(offered);
        });
    };
    EXPECT_EQ(grade({1, 2, 4, 8, 32}), check::Grade::fault);
    EXPECT_EQ(grade({8, 16}), std::nullopt);
    EXPECT_EQ(grade({}), std::nullopt) << "the catalogue does not know them";
}

TEST(StepsPerMm, MicrostepsThatTheDriverLacksAreWhatIsChangedWhereOthersFit) {
    machine::Machine machine = machine_from();
    machine.axes[0].microsteps = 17;
    int on_x = 0;
    for (const check::Finding& finding : findings_of("steps-per-mm", machine)) {
        if (finding.motor != 'X') continue;
        ++on_x;
        EXPECT_EQ(proposed_lines(finding), "axes.x.microsteps = 16") << finding.message;
    }
    EXPECT_EQ(on_x, 2);
}

// Makers' rule (electrical.hpp): up to 10 works.
TEST(InertiaRatio, TenTimesTheRotorIsTheLimit) {
    const auto found = [](double ratio) {
        return on_x("inertia-ratio", [&](machine::Axis& axis) {
            const double radius_m = axis.drive.travel_per_turn().value() / (2.0 * std::numbers::pi);
            axis.load.mass = from_si<planner::Mass>(ratio * axis.motor.rotor_inertia->value() /
                                                    (radius_m * radius_m));
        });
    };
    EXPECT_FALSE(found(9.9));
    for (const double ratio : {10.1, 25.0}) {
        ASSERT_TRUE(found(ratio));
        EXPECT_EQ(found(ratio)->grade, check::Grade::note);
        EXPECT_NEAR(found(ratio)->value, ratio, kRounding);
    }
}

// A screw runs backwards where 2 - 1/efficiency is above 0 (screw.hpp), so above a half; a belt always.
TEST(FallingLoad, IsToldOfEveryWeightOnADriveThatRunsBackwards) {
    const auto message = [](double efficiency, bool belt, bool vertical) {
        machine::Machine machine = machine_from();
        machine::Axis& z = machine.axes[2];
        z.load.vertical = vertical;
        z.drive.screw_efficiency = efficiency;
        if (belt) z.drive = machine.axes[0].drive;
        const check::Findings findings = findings_of("falling-load", machine);
        EXPECT_LE(findings.size(), 1U);
        return findings.empty() ? std::string() : findings.front().message;
    };
    EXPECT_EQ(message(0.5, false, true), "");
    EXPECT_EQ(message(0.51, false, true).find("Z: the load can drive the screw backwards"), 0U);
    EXPECT_NE(message(0.51, false, true).find("holds its weight of 9.81 N"), std::string::npos);
    EXPECT_NE(message(1.0, true, true).find("drive the belt backwards: only friction (5 N"),
              std::string::npos);
    EXPECT_EQ(message(1.0, true, false), "");
}

TEST(PulseTiming, EachTimeOfTheControllerIsComparedWithItsOwnTimeOfTheDriver) {
    using Need = std::function<void(machine::DriverPart&)>;
    const std::array<std::pair<planner::Time machine::ControllerPart::*, Need>, 3> widths{
        {{&machine::ControllerPart::pulse_high,
          [](machine::DriverPart& d) { d.step_high_min = from_si<planner::Time>(3e-6); }},
         {&machine::ControllerPart::direction_setup,
          [](machine::DriverPart& d) { d.setup_min = from_si<planner::Time>(3e-6); }},
         {&machine::ControllerPart::direction_hold,
          [](machine::DriverPart& d) { d.hold_min = from_si<planner::Time>(3e-6); }}}};
    for (const auto& [given, need] : widths) {
        for (const double given_s : {2.9e-6, 3e-6}) {
            machine::Machine machine = machine_from();
            machine.controller.pulse_high = machine.controller.direction_setup =
                machine.controller.direction_hold = from_si<planner::Time>(5e-6);
            machine.controller.*given = from_si<planner::Time>(given_s);
            need(machine.axes[0].driver);
            const check::Findings findings = findings_of("pulse-timing", machine);
            EXPECT_EQ(any_with(findings, check::Grade::fault, 'X'), given_s < 3e-6);
            EXPECT_FALSE(any_with(findings, check::Grade::fault, 'Y'));
        }
    }
}

TEST(Ceilings, TheLowestOfTheThreeBindsAndIsNamed) {
    const auto binding = [](double driver_hz, double controller_hz, double tick_hz) {
        run::Ceilings ceilings;
        ceilings.driver_hz = driver_hz;
        ceilings.controller_hz = controller_hz;
        ceilings.tick_hz = tick_hz;
        EXPECT_EQ(ceilings.lowest_hz(), 1e3);
        return std::string(run::to_word(ceilings.binding()));
    };
    EXPECT_EQ(binding(1e3, 2e3, 3e3), "driver");
    EXPECT_EQ(binding(3e3, 1e3, 2e3), "controller");
    EXPECT_EQ(binding(3e3, 2e3, 1e3), "tick");
}

TEST(Ceilings, AControllerHasLessForEachOfMoreMotors) {
    machine::Machine machine = machine_from(changed("cortex-m4-168mhz-line", "avr-16mhz-line"));
    const double three_hz = run::ceilings_of(machine, machine.axes[0]).controller_hz;
    machine.axes.pop_back();
    EXPECT_GT(run::ceilings_of(machine, machine.axes[0]).controller_hz, three_hz);
}

/// The findings about the words of a program that notes these.
check::Findings words_of(const planner::ProgramNotes& notes) {
    const machine::Machine machine = machine_from();
    const run::MotorModels models = run::motor_models(machine);
    std::vector<run::ProgramResult> programs(1);
    programs[0].notes = notes;
    check::Findings findings = check::run_checks({machine, models, programs, run::kDefaultMargin});
    std::erase_if(findings, [](const check::Finding& f) { return f.check != "program-words"; });
    return findings;
}

TEST(ProgramWords, AWordThatMayMoveIsARiskAndOtherWordsOneNoteWithTheirCount) {
    planner::ProgramNotes notes;
    notes.unknown_words.push_back({"G7105", 2, 7, 0, true});
    for (int i = 0; i < 10; ++i)
        notes.unknown_words.push_back({"M732" + std::to_string(i), 3, 11, 0, false});
    notes.further_words = 5;
    const check::Findings findings = words_of(notes);
    ASSERT_EQ(findings.size(), 2U);
    EXPECT_EQ(findings[0].grade, check::Grade::risk);
    EXPECT_EQ(findings[0].line, 7U);
    EXPECT_EQ(findings[1].grade, check::Grade::note);
    EXPECT_EQ(findings[1].value, 10.0 * 3.0 + 5.0);
    EXPECT_NE(findings[1].message.find("M7327"), std::string::npos) << findings[1].message;
    EXPECT_EQ(findings[1].message.find("M7328"), std::string::npos) << findings[1].message;
    EXPECT_NE(findings[1].message.find("and 2 more"), std::string::npos) << findings[1].message;
}

// After these the machine may do something else than was planned.
TEST(ProgramWords, SpotsThatMayChangeTheMotionAreRisksAndTheOthersNotes) {
    using planner::SpotKind;
    const auto grade = [](SpotKind kind) {
        planner::ProgramNotes notes;
        notes.spots.push_back({kind, 2, 9, "sample"});
        const check::Findings findings = words_of(notes);
        EXPECT_EQ(findings.size(), 1U);
        EXPECT_EQ(findings.front().line, 9U);
        return findings.front().grade;
    };
    for (const SpotKind kind :
         {SpotKind::number_without_letter, SpotKind::punctuation_only,
          SpotKind::unbalanced_parenthesis, SpotKind::glued_e, SpotKind::unset_parameter,
          SpotKind::skipped_motion, SpotKind::plunge_at_traverse, SpotKind::probe_as_feed,
          SpotKind::coarse_arc, SpotKind::incomplete_cycle, SpotKind::e_like_distances,
          SpotKind::e_like_positions})
        EXPECT_EQ(grade(kind), check::Grade::risk) << planner::spot_text(kind);
    for (const SpotKind kind :
         {SpotKind::letter_o_for_zero, SpotKind::space_in_word, SpotKind::nested_comment,
          SpotKind::repeated_word, SpotKind::fast_feed, SpotKind::long_dwell, SpotKind::short_dwell,
          SpotKind::tiny_feed, SpotKind::traverse_with_feed, SpotKind::negative_unused,
          SpotKind::block_deleted, SpotKind::text_after_end, SpotKind::compensation_ignored})
        EXPECT_EQ(grade(kind), check::Grade::note) << planner::spot_text(kind);
}

}  // namespace
