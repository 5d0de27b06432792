// The test programme: what must hold for every stage, family and machine, and the figures of single ones.
#include "testing/programme.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "standards/errors.h"
#include "standards/rules.h"
#include "testing/programme_steps.h"
#include "testing/programmes.h"

namespace coilwright::testing {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::Not;

ProgrammeCase Servo(Stage stage) {
  ProgrammeCase c;
  c.stage = stage;
  c.rated_volts = 230;
  c.rated_kw = 0.4;
  c.permanent_magnet = true;
  c.rotor_fitted = !RotorOutStage(stage);
  c.fitted.feedback = Feedback::kResolver;
  c.fitted.brake = FittedBrake{24.0, 33.0, true};
  c.fitted.sensors = {{SensorKind::kPtcThermistor, {}, {}}};
  c.fitted.surge_parts = true;
  return c;
}

ProgrammeCase Induction(Stage stage, double volts, double kw) {
  ProgrammeCase c;
  c.stage = stage;
  c.rated_volts = volts;
  c.rated_kw = kw;
  c.rotor_fitted = !RotorOutStage(stage);
  c.induction = true;
  return c;
}

// Electronics are disconnected in every step, whatever it does; all feedback and surge parts in every step with a test
// voltage; sensors, heater and brake lie on earth there unless the step is their own.
void ExpectPartsKept(const Step& step) {
  for (const Terminal& terminal : step.terminals) {
    const bool electronics = absl::StrContains(terminal.name, "encoder") || absl::StrContains(terminal.name, "Hall");
    const bool comes_off = absl::StartsWith(terminal.name, "feedback") || terminal.name == "brake rectifier" ||
                           terminal.name == "varistors and capacitors";
    const bool earthed = absl::StartsWith(terminal.name, "thermal sensor") || terminal.name == "brake coil leads" ||
                         (terminal.name == "space heater leads" && step.kind != TestKind::kHeater);
    if (electronics || (comes_off && step.volts)) {
      EXPECT_EQ(terminal.potential, Potential::kDisconnected) << terminal.name;
    }
    if (earthed && step.volts) {
      EXPECT_EQ(terminal.potential, Potential::kEarthed) << terminal.name;
    }
  }
}

void ExpectSafe(const Programme& programme, const std::string& what) {
  SCOPED_TRACE(what);
  std::set<TestKind> done;
  std::set<TestKind> seen;
  bool left_out_began = false;
  EXPECT_THAT(programme.cautions, Contains(std::string(QualifiedPersonCaution())));
  EXPECT_THAT(programme.notes, Contains(HasSubstr("turn insulation not tested")));
  for (const Step& step : programme.steps) {
    SCOPED_TRACE(step.title);
    seen.insert(step.kind);
    EXPECT_FALSE(step.title.empty());
    EXPECT_FALSE(step.reason.empty());
    for (const absl::string_view rule : step.rules) EXPECT_NE(standards::FindRule(rule), nullptr) << rule;
    if (!step.limit.rule.empty()) {
      EXPECT_NE(standards::FindRule(step.limit.rule), nullptr) << step.limit.rule;
    }
    if (step.left_out) {
      left_out_began = true;
      EXPECT_FALSE(Energises(step));
      EXPECT_EQ(step.limit.kind, LimitKind::kNotApplicable);
      continue;
    }
    EXPECT_FALSE(left_out_began) << "left-out steps stand last";
    EXPECT_FALSE(step.limit.text.empty());
    for (const TestKind before : step.after) EXPECT_EQ(done.count(before), 1u) << static_cast<int>(before);
    ExpectPartsKept(step);
    if (Energises(step)) {
      EXPECT_FALSE(step.after.empty());
      EXPECT_FALSE(step.cautions.empty());
      EXPECT_FALSE(step.prepare.empty());
      EXPECT_GT(step.discharge_seconds.value_or(0), 0);
      EXPECT_THAT(step.terminals, Contains(::testing::Field(&Terminal::potential, Potential::kEarthed)));
    }
    if (step.volts) {
      EXPECT_TRUE(std::isfinite(*step.volts) && *step.volts > 0);
      EXPECT_FALSE(step.volts_shape.empty());
      EXPECT_FALSE(step.level_note.empty());
      EXPECT_GT(step.ramp_seconds.value_or(0), 0);
      EXPECT_GT(step.hold_seconds.value_or(0), 0);
      EXPECT_GT(step.trip_milliamps.value_or(0), 0);
      EXPECT_FALSE(step.abort_when.empty());
      EXPECT_FALSE(step.rules.empty());
      EXPECT_THAT(step.cautions, Contains(std::string(QualifiedPersonCaution())));
      // IEEE 43 safety clause, from memory: earthed four times as long as direct voltage was on.
      if (step.volts_shape == "dc") {
        EXPECT_GE(*step.discharge_seconds, 4 * *step.hold_seconds);
      }
      if (step.kind != TestKind::kMegohms) {
        EXPECT_THAT(step.after, Contains(TestKind::kMegohms)) << "nothing higher before the megohms have passed";
      }
    }
    done.insert(step.kind);
  }
  EXPECT_EQ(seen.size(), 20u) << "every kind of test is done or left out with its reason";
  EXPECT_LE(done.count(TestKind::kWithstandDc) + done.count(TestKind::kWithstandAc), 1u) << "one withstand test";
}

TEST(Programme, EveryCombinationIsSafeAndComplete) {
  int programmes = 0;
  for (const Stage stage : kStages) {
    for (const Family family : {Family::kIec60034, Family::kNemaMg1, Family::kAr100}) {
      for (int condition = 0; condition <= static_cast<int>(Condition::kNotReconditioned); ++condition) {
        for (const double volts : {24.0, 48.0, 230.0, 400.0, 999.0, 2300.0, 4160.0, 13800.0, 30000.0}) {
          for (const unsigned fitted : {0u, 1u, 2u, 3u, 4u, 7u}) {
            ProgrammeCase c = fitted & 1 ? Servo(stage) : Induction(stage, volts, 5);
            c.rated_volts = volts;
            c.family = family;
            c.condition = static_cast<Condition>(condition);
            c.form_wound = (fitted & 2) != 0;
            c.star_open = (fitted & 4) != 0;
            if (fitted == 7) c.rated_kw = 20000;
            ExpectSafe(ProgrammeOf(c),
                       absl::StrCat("stage ", static_cast<int>(stage), " family ", static_cast<int>(family),
                                    " condition ", condition, " ", volts, " V fitted ", fitted));
            ++programmes;
          }
        }
      }
    }
  }
  EXPECT_EQ(programmes, 7 * 3 * 9 * 9 * 6);
}

// Common practice: full value once, at release; at most 80 % before.
TEST(Programme, FullWithstandValueOnceAtRelease) {
  for (const Stage stage : kStages) {
    const Step step = Get(ProgrammeOf(Servo(stage)), TestKind::kWithstandAc);
    switch (stage) {
      case Stage::kAssembled:
        EXPECT_NEAR(*step.volts, 1500, 1e-9) << "IEC 60034-1 item 2";
        break;
      case Stage::kWoundStarOpen:
      case Stage::kWoundBeforeTreatment:
      case Stage::kTreated:
        EXPECT_NEAR(*step.volts, 1200, 1e-9);
        break;
      default:
        EXPECT_TRUE(step.left_out);
    }
  }
  ProgrammeCase c = Servo(Stage::kTreated);
  c.before_treatment_share = 0.5;
  EXPECT_NEAR(*Get(ProgrammeOf(c), TestKind::kWithstandAc).volts, 750, 1e-9);
  c.stage = Stage::kAssembled;
  c.condition = Condition::kRepeat;
  EXPECT_NEAR(*Get(ProgrammeOf(c), TestKind::kWithstandAc).volts, 1200, 1e-9) << "IEC 60034-1 9.2, from memory";
  c.stage = Stage::kTreated;
  EXPECT_NEAR(*Get(ProgrammeOf(c), TestKind::kWithstandAc).volts, 750, 1e-9) << "not reduced twice";
}

TEST(Programme, SurgeIsCappedByTheAcTestOfItsStage) {
  ProgrammeCase c = Servo(Stage::kAssembled);
  c.family = Family::kNemaMg1;
  c.rated_kw = 0.3;
  EXPECT_NEAR(*Get(ProgrammeOf(c), TestKind::kSurge).volts, 1414.2135623731, 1e-6) << "sqrt 2 x 1000 V of NEMA MG 1";
  c.stage = Stage::kWoundBeforeTreatment;
  c.rotor_fitted = false;
  EXPECT_NEAR(*Get(ProgrammeOf(c), TestKind::kSurge).volts, 0.8 * 1414.2135623731, 1e-6);
  c.stage = Stage::kAsReceived;
  c.family = Family::kIec60034;
  EXPECT_NEAR(*Get(ProgrammeOf(c), TestKind::kSurge).volts, 0.75 * 1460, 1e-6);
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kSurge).after, Contains(TestKind::kMegohms));
}

TEST(Programme, AMagnetRotorIsLockedForTheSurgeTest) {
  const Programme programme = ProgrammeOf(Servo(Stage::kAssembled));
  EXPECT_THAT(Get(programme, TestKind::kSurge).prepare, Contains(HasSubstr("same electrical position")));
  const auto arbitrary = std::find_if(programme.steps.begin(), programme.steps.end(),
                                      [](const Step& step) { return step.kind == TestKind::kSurge && step.left_out; });
  ASSERT_NE(arbitrary, programme.steps.end());
  EXPECT_THAT(arbitrary->title, HasSubstr("arbitrary"));
  EXPECT_THAT(programme.cautions, Contains(HasSubstr("makes the leads live")));
  const Programme treated = ProgrammeOf(Servo(Stage::kTreated));
  for (const Step& step : treated.steps) {
    EXPECT_THAT(step.title, Not(HasSubstr("arbitrary"))) << "the rotor is out";
  }
}

TEST(Programme, PhaseToPhaseNeedsTheStarOpen) {
  const Step closed = Get(ProgrammeOf(Servo(Stage::kAsReceived)), TestKind::kPhaseMegohms);
  EXPECT_TRUE(closed.left_out);
  EXPECT_THAT(closed.reason, HasSubstr("needs the star open"));
  EXPECT_FALSE(Get(ProgrammeOf(Servo(Stage::kWoundStarOpen)), TestKind::kPhaseMegohms).left_out);
  ProgrammeCase c = Servo(Stage::kTreated);
  c.star_open = true;
  EXPECT_FALSE(Get(ProgrammeOf(c), TestKind::kPhaseMegohms).left_out);
}

TEST(Programme, PolarityStandsBeforeTheResin) {
  for (const Stage stage : kStages) {
    const bool before = stage == Stage::kWoundStarOpen || stage == Stage::kWoundBeforeTreatment;
    EXPECT_EQ(Get(ProgrammeOf(Servo(stage)), TestKind::kPolarity).left_out, !before);
  }
}

TEST(Programme, PolarizationIndexOnFormWoundOnly) {
  ProgrammeCase c = Induction(Stage::kAssembled, 4160, 500);
  EXPECT_TRUE(Get(ProgrammeOf(c), TestKind::kPolarizationIndex).left_out);
  c.form_wound = true;
  const Step index = Get(ProgrammeOf(c), TestKind::kPolarizationIndex);
  EXPECT_FALSE(index.left_out);
  EXPECT_EQ(index.limit.low, 2.0) << "IEEE 43-2000 Table 2, class F";
  EXPECT_EQ(index.hold_seconds, 600);
  EXPECT_GE(*index.discharge_seconds, 2400);
  EXPECT_EQ(Get(ProgrammeOf(c), TestKind::kMegohms).limit.low, 100) << "IEEE 43 Table 3";
}

TEST(Programme, MegohmsCarryMinimumAndShopExpectation) {
  const Step fresh = Get(ProgrammeOf(Servo(Stage::kTreated)), TestKind::kMegohms);
  EXPECT_EQ(fresh.limit.low, 5);
  EXPECT_EQ(fresh.shop_expectation, 100);
  EXPECT_TRUE(fresh.limit.corrected);
  EXPECT_EQ(fresh.limit.corrected_to, "40 C");
  EXPECT_EQ(fresh.volts, 500);
  EXPECT_FALSE(Get(ProgrammeOf(Servo(Stage::kInService)), TestKind::kMegohms).shop_expectation.has_value());
}

TEST(Programme, TheCoreIsTestedBare) {
  ProgrammeCase c = Servo(Stage::kStrippedCore);
  const Programme programme = ProgrammeOf(c);
  const Step core = Get(programme, TestKind::kCoreLoss);
  EXPECT_FALSE(core.left_out);
  EXPECT_EQ(core.limit.high, 20) << "service company practice";
  EXPECT_THAT(core.level_note, HasSubstr("1.32 T"));
  EXPECT_EQ(std::count_if(programme.steps.begin(), programme.steps.end(), [](const Step& s) { return !s.left_out; }),
            2);
  c.segmented_core = true;
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kCoreLoss).level_note, HasSubstr("none is forecast"));
}

TEST(Programme, SensorsAreMeasuredAtLowVoltage) {
  const Step sensor = Get(ProgrammeOf(Servo(Stage::kAssembled)), TestKind::kSensor);
  EXPECT_FALSE(sensor.volts.has_value());
  EXPECT_THAT(sensor.level_note, HasSubstr("2.5 V"));
  EXPECT_THAT(ProgrammeOf(Servo(Stage::kAsReceived)).notes, Contains(HasSubstr("IEC withstand value")));
}

TEST(Programme, NotesSayWhatTheFiguresRestOn) {
  EXPECT_THAT(ProgrammeOf(Servo(Stage::kAssembled)).notes, Contains(HasSubstr("outside the formal scope")));
  EXPECT_THAT(ProgrammeOf(Induction(Stage::kAssembled, 400, 0.75)).notes, Not(Contains(HasSubstr("formal scope"))));
  ProgrammeCase c = Servo(Stage::kAssembled);
  c.rated_kw = 0.2;
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kWithstandAc).notes, Contains(HasSubstr("NEMA MG 1 would ask 1000 V")));
  c.stage = Stage::kInService;
  EXPECT_THAT(ProgrammeOf(c).notes, Contains(HasSubstr("287.5 V to 345 V AC")));
  EXPECT_THAT(ProgrammeOf(c).notes, Contains(HasSubstr("at most 70 C")));
  c.stage = Stage::kAssembled;
  c.family = Family::kNemaMg1;
  c.condition = Condition::kPartlyRewound;
  const Step refused = Get(ProgrammeOf(c), TestKind::kWithstandAc);
  EXPECT_TRUE(refused.left_out);
  EXPECT_THAT(refused.reason, HasSubstr("IEC 60034-1 (75 %)"));
}

TEST(Programme, ExpectationsBecomeLimits) {
  ProgrammeCase c = Servo(Stage::kAssembled);
  c.expected_line_to_line_ohms_low = 1.9;
  c.expected_line_to_line_ohms_high = 2.1;
  c.expected_ke_low = 50;
  const Programme programme = ProgrammeOf(c);
  const auto resistance = std::find_if(programme.steps.begin(), programme.steps.end(),
                                       [](const Step& step) { return step.limit.unit == "ohms"; });
  ASSERT_NE(resistance, programme.steps.end());
  EXPECT_EQ(resistance->limit.kind, LimitKind::kWithin);
  EXPECT_EQ(resistance->limit.corrected_to, "20 C");
  const Step emf = Get(programme, TestKind::kBackEmf);
  EXPECT_EQ(emf.limit.kind, LimitKind::kAtLeast);
  EXPECT_EQ(emf.limit.low, 50);
}

// Ohm: line to line of a star is two phases in series, of a closed delta one phase beside the other two.
TEST(Programme, PhasesThatAreNotJoinedAreHeldAgainstAPhase) {
  for (const auto& [delta, share] : {std::pair{false, 0.5}, {true, 1.5}}) {
    ProgrammeCase c = Servo(Stage::kWoundStarOpen);
    c.rotor_fitted = false;
    c.star_open = true;
    c.delta = delta;
    c.expected_line_to_line_ohms_low = 1.9;
    c.expected_line_to_line_ohms_high = 2.1;
    const Programme programme = ProgrammeOf(c);
    const auto resistance = std::find_if(programme.steps.begin(), programme.steps.end(),
                                         [](const Step& step) { return step.limit.unit == "ohms"; });
    ASSERT_NE(resistance, programme.steps.end());
    EXPECT_THAT(resistance->title, HasSubstr("Phase resistance"));
    EXPECT_THAT(resistance->limit.text, HasSubstr("each phase by itself"));
    EXPECT_DOUBLE_EQ(*resistance->limit.low, share * 1.9);
    EXPECT_DOUBLE_EQ(*resistance->limit.high, share * 2.1);
  }
}

TEST(Programme, FormWoundBelowTheRangeOfIecFallsBackToIeee522) {
  ProgrammeCase c = Induction(Stage::kAssembled, 2300, 300);
  c.form_wound = true;
  const Step surge = Get(ProgrammeOf(c), TestKind::kSurge);
  EXPECT_NEAR(*surge.volts, 6573, 1) << "IEEE 522, 3.5 pu at 2.3 kV";
  EXPECT_THAT(surge.level_note, HasSubstr("IEEE 522 is used"));
}

TEST(Programme, EveryWrongFieldIsNamedAtOnce) {
  const double infinity = std::numeric_limits<double>::infinity();
  for (const double volts : {std::nan(""), infinity, 0.0, -1.0, 1e300}) {
    ProgrammeCase c;
    c.rated_volts = volts;
    c.rated_kw = volts;
    c.before_treatment_share = 0.81;
    c.resistance_unbalance_percent = std::nan("");
    c.thermal_class_celsius = 20;
    c.fitted.brake = FittedBrake{-1.0, {}, false};
    c.bench.least_ohms = -1;
    c.bench.megohm_test_volts_dc = {0};
    c.shop.least_discharge_seconds = 4;
    c.expected_line_to_line_ohms_low = 2;
    c.expected_line_to_line_ohms_high = 1;
    c.expected_ke_low = -1;
    std::set<std::string> fields;
    for (const auto& error : standards::FieldErrorsOf(TestProgramme(c).status())) fields.insert(error.field);
    EXPECT_EQ(fields, (std::set<std::string>{"rated_volts", "rated_kw", "before_treatment_share",
                                             "resistance_unbalance_percent", "thermal_class_celsius",
                                             "fitted.brake.rated_volts_dc", "bench.least_ohms",
                                             "bench.megohm_test_volts_dc", "shop.least_discharge_seconds",
                                             "expected_line_to_line_ohms_high", "expected_ke_low"}))
        << volts;
  }
}

// The rotor's saliency moves the inductance with its position (two-reaction theory): locked for every kind but
// induction, a kind nobody named too. A rotor said to be in where the stage has it out is a contradiction.
TEST(Programme, EveryRotorButThatOfAnInductionMachineIsLocked) {
  ProgrammeCase unknown = Induction(Stage::kAssembled, 400, 2);
  EXPECT_THAT(Get(ProgrammeOf(unknown), TestKind::kSurge).prepare, Not(Contains(HasSubstr("lock it there"))));
  unknown.induction = false;
  EXPECT_THAT(Get(ProgrammeOf(unknown), TestKind::kSurge).prepare, Contains(HasSubstr("lock it there")));
  for (const Stage stage :
       {Stage::kStrippedCore, Stage::kWoundStarOpen, Stage::kWoundBeforeTreatment, Stage::kTreated}) {
    ProgrammeCase c = Servo(stage);
    c.rotor_fitted = true;
    EXPECT_THAT(TestProgramme(c).status().message(), HasSubstr("rotor_fitted")) << static_cast<int>(stage);
  }
}

// The heat run loads the machine: in service, else left out with the reason. Class F: 105 K (IEC 60034-1, from memory).
TEST(Programme, TheHeatRunBelongsToService) {
  ProgrammeCase c;
  c.rated_volts = 400;
  c.rated_kw = 5;
  c.thermal_class_celsius = 155;
  for (int stage = 0; stage < 7; ++stage) {
    c.stage = static_cast<Stage>(stage);
    c.rotor_fitted = !RotorOutStage(c.stage);
    const auto programme = TestProgramme(c);
    ASSERT_TRUE(programme.ok()) << programme.status();
    for (const Step& step : programme->steps) {
      if (step.kind == TestKind::kVisual) {
        EXPECT_EQ(step.limit.text.find("shaft turns freely") != std::string::npos, c.rotor_fitted);
      }
      if (step.kind != TestKind::kTemperatureRise) continue;
      EXPECT_EQ(step.left_out, c.stage != Stage::kInService);
      EXPECT_FALSE(step.reason.empty());
      if (!step.left_out) {
        EXPECT_EQ(step.limit.high, 105);
      }
    }
  }
}

TEST(TestProgramme, DoubtsARandomWindingOfVoltsItIsNotMadeFor) {
  ProgrammeCase c = Induction(Stage::kAssembled, 6600, 100);
  EXPECT_THAT(ProgrammeOf(c).cautions, Contains(HasSubstr("random windings are not made for 6600 V")));
  c.form_wound = true;
  EXPECT_THAT(ProgrammeOf(c).cautions, Not(Contains(HasSubstr("random"))));
}

}  // namespace
}  // namespace coilwright::testing
