// Fitted devices, the bench and the era of a machine: what they do to its programme.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "standards/rule_ids.h"
#include "testing/programme.h"
#include "testing/programme_steps.h"
#include "testing/programmes.h"

namespace coilwright::testing {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

constexpr Feedback kFeedback[] = {
    Feedback::kNone,       Feedback::kResolver, Feedback::kIncrementalEncoder, Feedback::kAbsoluteEncoder,
    Feedback::kTachometer, Feedback::kHallBoard};
constexpr SensorKind kSensors[] = {SensorKind::kNone,    SensorKind::kPtcThermistor, SensorKind::kNtcThermistor,
                                   SensorKind::kSilicon, SensorKind::kPlatinumRtd,   SensorKind::kThermostat,
                                   SensorKind::kUnknown};

ProgrammeCase Motor(Stage stage, double volts = 400, double kw = 3) {
  ProgrammeCase c;
  c.stage = stage;
  c.rated_volts = volts;
  c.rated_kw = kw;
  c.rotor_fitted = !RotorOutStage(stage);
  return c;
}

std::vector<Step> All(const Programme& programme, TestKind kind) {
  std::vector<Step> steps;
  for (const Step& step : programme.steps) {
    if (step.kind == kind) steps.push_back(step);
  }
  EXPECT_FALSE(steps.empty());
  return steps;
}

// Universal maker advice, no source: electronics never see a test voltage, at no stage, with whatever else is fitted.
TEST(FittedDevices, ElectronicsNeverSeeATestVoltageInAnyCombination) {
  int programmes = 0;
  for (const Stage stage : kStages) {
    for (const Feedback feedback : kFeedback) {
      for (const SensorKind sensor : kSensors) {
        for (unsigned others = 0; others < 32; ++others) {
          ProgrammeCase c = Motor(stage);
          c.permanent_magnet = (others & 1) != 0;
          c.star_open = (others & 2) != 0;
          c.fitted.feedback = feedback;
          c.fitted.sensors = {{sensor, {}, {}}};
          if (others & 4) c.fitted.brake = FittedBrake{24.0, {}, (others & 8) != 0};
          if (others & 8) c.fitted.heater = FittedHeater{230.0, 25.0};
          c.fitted.surge_parts = (others & 16) != 0;
          const Programme programme = ProgrammeOf(c);
          ++programmes;
          for (const Step& step : programme.steps) {
            SCOPED_TRACE(absl::StrCat("stage ", static_cast<int>(stage), ", ", FeedbackName(feedback), ", ",
                                      SensorName(sensor), ", others ", others, ": ", step.title));
            if (step.left_out) {
              EXPECT_FALSE(Energises(step));
              EXPECT_FALSE(step.reason.empty());
              continue;
            }
            bool feedback_named = false;
            for (const Terminal& terminal : step.terminals) {
              const bool is_feedback = absl::StartsWith(terminal.name, "feedback");
              feedback_named = feedback_named || is_feedback;
              const bool off = terminal.potential == Potential::kDisconnected;
              if (is_feedback && (IsElectronic(feedback) || step.volts)) {
                EXPECT_TRUE(off) << terminal.name;
              }
              if (step.volts && (terminal.name == "brake rectifier" || terminal.name == "varistors and capacitors")) {
                EXPECT_TRUE(off) << terminal.name;
              }
              if (step.volts && absl::StartsWith(terminal.name, "thermal sensor")) {
                EXPECT_EQ(terminal.potential, Potential::kEarthed) << terminal.name;
              }
            }
            if (step.volts) {
              EXPECT_EQ(feedback_named, feedback != Feedback::kNone);
            }
            if (Energises(step)) {
              EXPECT_GT(step.discharge_seconds.value_or(0), 0);
              EXPECT_THAT(step.cautions, Not(IsEmpty()));
              EXPECT_THAT(step.prepare, Not(IsEmpty()));
              EXPECT_THAT(step.after, Contains(TestKind::kVisual));
            }
            if (step.volts) {
              EXPECT_THAT(step.abort_when, Not(IsEmpty()));
              EXPECT_GT(step.trip_milliamps.value_or(0), 0);
            }
          }
        }
      }
    }
  }
  EXPECT_EQ(programmes, 7 * 6 * 7 * 32);
}

TEST(FittedDevices, EachHasAStepOrItsReason) {
  ProgrammeCase c = Motor(Stage::kAsReceived);
  for (const TestKind kind : {TestKind::kSensor, TestKind::kHeater, TestKind::kBrake, TestKind::kRectifier,
                              TestKind::kFeedback, TestKind::kSurgeParts}) {
    EXPECT_TRUE(Get(ProgrammeOf(c), kind).left_out);
    EXPECT_THAT(Get(ProgrammeOf(c), kind).reason, HasSubstr("no "));
  }
  c.fitted.feedback = Feedback::kTachometer;
  c.fitted.brake = FittedBrake{24.0, 33.0, true};
  c.fitted.heater = FittedHeater{230.0, 25.0};
  c.fitted.surge_parts = true;
  c.fitted.sensors = {
      {SensorKind::kPtcThermistor, {}, {}}, {SensorKind::kThermostat, {}, {}}, {SensorKind::kPtcThermistor, {}, {}}};
  const Programme programme = ProgrammeOf(c);
  EXPECT_EQ(All(programme, TestKind::kSensor).size(), 2u) << "one per kind";
  EXPECT_THAT(Get(programme, TestKind::kFeedback).cautions, Contains(HasSubstr("magnets")));
  EXPECT_THAT(Get(programme, TestKind::kFeedback).prepare, Contains(HasSubstr("brushes")));
  EXPECT_THAT(Get(programme, TestKind::kBrake).prepare, Contains(HasSubstr("polarity")));
  EXPECT_THAT(Get(programme, TestKind::kBrake).limit.text, HasSubstr("33 ohms"));
  EXPECT_FALSE(Get(programme, TestKind::kRectifier).left_out);
  EXPECT_FALSE(Get(programme, TestKind::kSurgeParts).left_out);
  c.stage = Stage::kTreated;
  c.rotor_fitted = false;
  for (const TestKind kind : {TestKind::kFeedback, TestKind::kBrake, TestKind::kRectifier, TestKind::kSurgeParts}) {
    EXPECT_TRUE(Get(ProgrammeOf(c), kind).left_out) << "not mounted";
  }
}

TEST(FittedDevices, ElectronicsAreNotMeasured) {
  ProgrammeCase c = Motor(Stage::kAsReceived);
  for (const Feedback feedback : {Feedback::kIncrementalEncoder, Feedback::kAbsoluteEncoder, Feedback::kHallBoard}) {
    c.fitted.feedback = feedback;
    EXPECT_TRUE(Get(ProgrammeOf(c), TestKind::kFeedback).left_out);
    EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kFeedback).reason, HasSubstr("electronics"));
  }
  c.fitted.feedback = Feedback::kResolver;
  EXPECT_FALSE(Get(ProgrammeOf(c), TestKind::kFeedback).left_out);
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kMegohms).prepare, Contains(HasSubstr("transformer")));
}

// IEC 60751, table of resistances of a 100 ohm element (from memory): 0 C 100.00, 20 C 107.79, 40 C 115.54, 100 C
// 138.51, 200 C 175.86.
TEST(FittedDevices, PlatinumIsThatOfItsStandard) {
  const double table[][2] = {{0, 100.00}, {20, 107.79}, {40, 115.54}, {100, 138.51}, {200, 175.86}};
  for (const auto& [celsius, ohms] : table) {
    EXPECT_NEAR(PlatinumOhms(100, celsius), ohms, 0.005);
    EXPECT_NEAR(PlatinumOhms(1000, celsius), 10 * ohms, 0.05);
  }
  ProgrammeCase c = Motor(Stage::kTreated);
  c.fitted.sensors = {{SensorKind::kPlatinumRtd, 1097.3, 25}};
  const Step known = Get(ProgrammeOf(c), TestKind::kSensor);
  EXPECT_EQ(known.limit.kind, LimitKind::kWithin);
  // Class B at 20 C: 0.3 K + 0.005 x 20 K = 0.4 K, 0.39 ohms per kelvin on 100 ohms.
  EXPECT_NEAR(*known.limit.low, 1077.9 - 1.56, 0.1);
  EXPECT_NEAR(*known.limit.high, 1077.9 + 1.56, 0.1);
  EXPECT_EQ(known.limit.corrected_to, "20 C");
  c.fitted.sensors = {{SensorKind::kPlatinumRtd, 500, 25}};
  EXPECT_EQ(Get(ProgrammeOf(c), TestKind::kSensor).limit.kind, LimitKind::kNone);
}

// DIN 44081, from memory: at most 250 ohms cold, measured with at most 2.5 V.
TEST(FittedDevices, SensorsAreCheckedEachInItsWay) {
  ProgrammeCase c = Motor(Stage::kTreated);
  for (const SensorKind kind : kSensors) {
    if (kind == SensorKind::kNone) continue;
    c.fitted.sensors = {{kind, {}, {}}};
    const Step step = Get(ProgrammeOf(c), TestKind::kSensor);
    EXPECT_FALSE(step.volts.has_value());
    EXPECT_THAT(step.prepare, Contains(HasSubstr("at most 2.5 V")));
    EXPECT_THAT(step.title, HasSubstr(std::string(SensorName(kind))));
  }
  c.fitted.sensors = {{SensorKind::kPtcThermistor, {}, {}}};
  EXPECT_EQ(Get(ProgrammeOf(c), TestKind::kSensor).limit.high, 750) << "three in series";
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kSensor).limit.text, HasSubstr("one alone at most 250 ohms"));
  c.fitted.sensors = {{SensorKind::kThermostat, {}, {}}};
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kSensor).limit.text, HasSubstr("continuity at rest"));
}

// 230 V, 25 W: 230 x 230 / 25 = 2116 ohms.
TEST(FittedDevices, AHeaterHasItsResistanceAndItsInsulation) {
  ProgrammeCase c = Motor(Stage::kTreated);
  c.fitted.heater = FittedHeater{230.0, 25.0};
  const std::vector<Step> steps = All(ProgrammeOf(c), TestKind::kHeater);
  ASSERT_EQ(steps.size(), 2u);
  EXPECT_THAT(steps[0].limit.text, HasSubstr("2.12e+03"));
  EXPECT_EQ(steps[1].volts, 500);
  EXPECT_EQ(steps[1].limit.low, 1);
  EXPECT_GE(*steps[1].discharge_seconds, 240) << "IEEE 43, from memory: four times as long as it was on";
  EXPECT_THAT(steps[1].terminals,
              Contains(::testing::AllOf(::testing::Field(&Terminal::name, "U V W tied together"),
                                        ::testing::Field(&Terminal::potential, Potential::kEarthed))));
  c.bench.megohm_test_volts_dc = {1000};
  EXPECT_TRUE(All(ProgrammeOf(c), TestKind::kHeater)[1].left_out);
}

TEST(Bench, NothingHigherWithoutMegohms) {
  for (const Stage stage : kStages) {
    ProgrammeCase c = Motor(stage);
    c.star_open = true;
    c.bench.megohm_test_volts_dc = {250, 1000};
    const Programme programme = ProgrammeOf(c);
    for (const Step& step : programme.steps) {
      if (!step.left_out) {
        EXPECT_FALSE(step.volts.has_value()) << step.title;
      }
    }
    if (stage != Stage::kStrippedCore) {
      EXPECT_THAT(Get(programme, TestKind::kMegohms).reason, HasSubstr("has 250, 1000 V dc, this step needs 500 V"));
      EXPECT_THAT(Get(programme, TestKind::kSurge).reason, HasSubstr("has to pass first"));
    }
  }
}

TEST(Bench, AStepBeyondItIsLeftOutAndNeverReduced) {
  ProgrammeCase c = Motor(Stage::kAssembled);
  const double ac = *Get(ProgrammeOf(c), TestKind::kWithstandAc).volts;
  const double surge = *Get(ProgrammeOf(c), TestKind::kSurge).volts;
  EXPECT_NEAR(ac, 1800, 1e-9) << "IEC 60034-1:2004 Table 16 item 2: 2 x 400 V + 1000 V";
  c.bench.greatest_withstand_volts_ac = ac;
  c.bench.greatest_surge_volts_peak = surge;
  EXPECT_EQ(Get(ProgrammeOf(c), TestKind::kWithstandAc).volts, ac);
  EXPECT_EQ(Get(ProgrammeOf(c), TestKind::kSurge).volts, surge);
  c.bench.greatest_withstand_volts_ac = ac - 1;
  c.bench.greatest_surge_volts_peak = surge - 1;
  for (const TestKind kind : {TestKind::kWithstandAc, TestKind::kSurge}) {
    const Step step = Get(ProgrammeOf(c), kind);
    EXPECT_TRUE(step.left_out);
    EXPECT_FALSE(step.volts.has_value());
    EXPECT_THAT(step.reason, HasSubstr("the bench gives at most"));
    EXPECT_THAT(step.rules, Contains(rules::shop_programme_bench));
  }
  c.bench.greatest_withstand_volts_ac = 0;
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kWithstandAc).reason, HasSubstr("has no ac test set"));
  EXPECT_TRUE(Get(ProgrammeOf(c), TestKind::kWithstandDc).left_out) << "IEC 60034-1 allows it from 6 kV on";
}

// ANSI/EASA AR100-2020: DC 3.4 U + 1700 V at any rating, 3060 V at 400 V.
TEST(Bench, DirectVoltageStandsInWhereTheFamilyAllowsIt) {
  ProgrammeCase c = Motor(Stage::kAssembled);
  c.family = Family::kAr100;
  EXPECT_TRUE(Get(ProgrammeOf(c), TestKind::kWithstandDc).left_out) << "one withstand test is enough";
  c.bench.greatest_withstand_volts_ac = 1000;
  const Step dc = Get(ProgrammeOf(c), TestKind::kWithstandDc);
  EXPECT_FALSE(dc.left_out);
  EXPECT_NEAR(*dc.volts, 3060, 1e-6);
  EXPECT_EQ(dc.volts_shape, "dc");
  EXPECT_GE(*dc.discharge_seconds, 4 * *dc.hold_seconds);
  EXPECT_THAT(dc.after, Contains(TestKind::kMegohms));
  c.bench.greatest_withstand_volts_dc = 3000;
  EXPECT_TRUE(Get(ProgrammeOf(c), TestKind::kWithstandDc).left_out);
}

TEST(Bench, OtherMeansAreAskedFor) {
  ProgrammeCase c = Motor(Stage::kAssembled, 4160, 500);
  c.form_wound = true;
  c.bench.polarization_run = false;
  c.bench.megohm_test_volts_dc = {5000, 2500, 1500};
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kPolarizationIndex).reason, HasSubstr("ten minutes"));
  EXPECT_EQ(Get(ProgrammeOf(c), TestKind::kMegohms).volts, 1500)
      << "IEEE 43-2000 Table 1: 1000 to 2500 V, the lowest that is there";
  c.stage = Stage::kStrippedCore;
  c.rotor_fitted = false;
  c.bench.ring_flux_supply = false;
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kCoreLoss).reason, HasSubstr("ring flux"));
  c.stage = Stage::kTreated;
  c.expected_line_to_line_ohms_low = 0.05;
  c.bench.least_ohms = 0.05;
  EXPECT_FALSE(Get(ProgrammeOf(c), TestKind::kWindingResistance).left_out);
  c.bench.least_ohms = 0.051;
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kWindingResistance).reason, HasSubstr("finer bridge"));
}

// IEEE 43-2000 Table 3: kV + 1 megohms for windings of before about 1970, 5 for a random winding of today.
TEST(Era, AnOldWindingIsJudgedByItsTimeAndANewOneByToday) {
  ProgrammeCase c = Motor(Stage::kAsReceived);
  c.built_year = 1962;
  Step megohms = Get(ProgrammeOf(c), TestKind::kMegohms);
  EXPECT_NEAR(*megohms.limit.low, 1.4, 1e-9);
  EXPECT_THAT(megohms.limit.text, HasSubstr("thermoplastic"));
  EXPECT_THAT(megohms.notes, Contains(HasSubstr("before 1970")));
  c.insulation_family = insulation::InsulationFamily::kThermosetting;
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kMegohms).limit.text, HasSubstr("thermosetting"));
  c.insulation_family.reset();
  c.stage = Stage::kTreated;
  c.rotor_fitted = false;
  megohms = Get(ProgrammeOf(c), TestKind::kMegohms);
  EXPECT_EQ(megohms.limit.low, 5);
  EXPECT_THAT(megohms.limit.text, HasSubstr("thermosetting"));
  EXPECT_THAT(megohms.notes, Contains(HasSubstr("the winding is new")));
  c.condition = Condition::kReconditioned;
  EXPECT_NEAR(*Get(ProgrammeOf(c), TestKind::kMegohms).limit.low, 1.4, 1e-9);
  c.built_year = 1970;
  EXPECT_EQ(Get(ProgrammeOf(c), TestKind::kMegohms).limit.low, 5);
}

// Lossless line at full reflection: at most (1 + 0.95) x bus. 400 V mains, braking: up to 800 V bus, 1560 V peak.
TEST(Drive, ItsPeakStandsBesideTheSurgeLevel) {
  ProgrammeCase c = Motor(Stage::kAssembled);
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kSurge).notes, IsEmpty());
  c.drive_fed = true;
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kSurge).notes, Contains(HasSubstr("mains or bus given")));
  c.dc_bus_volts = 800;
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kSurge).notes,
              Contains(::testing::AllOf(HasSubstr("1560 V peak"), HasSubstr("1800 V is above"))));
  c.dc_bus_volts = 1000;
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kSurge).notes, Contains(HasSubstr("1800 V is below")));
  // 5000 V of bus make 3536 V rms (5000 / sqrt 2): the doubt of the drive's own answer.
  c.dc_bus_volts = 5000;
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kSurge).notes, Contains(HasSubstr("bus and rating contradict")));
  c.dc_bus_volts.reset();
  c.drive_mains_volts = 10;  // no chopper is usual there
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kSurge).notes, Contains(HasSubstr("bus and rating contradict")));
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kSurge).notes, Not(Contains(HasSubstr("dc_bus_volts"))));
}

// Two brushes or two leads are no three pairs.
TEST(Programme, AWindingWithoutThreePhasesComparesNone) {
  ProgrammeCase c = Motor(Stage::kAsReceived);
  c.three_phase = false;
  for (const TestKind kind : {TestKind::kWindingResistance, TestKind::kPhaseMegohms, TestKind::kSurge,
                              TestKind::kInductance, TestKind::kBackEmf}) {
    const Step step = Get(ProgrammeOf(c), kind);
    EXPECT_TRUE(step.left_out) << step.title;
    EXPECT_THAT(step.reason, HasSubstr("single phase")) << step.title;
  }
  EXPECT_FALSE(Get(ProgrammeOf(c), TestKind::kMegohms).left_out);
}

TEST(Families, ContradictThemselvesInTheStepTheyConcern) {
  ProgrammeCase c = Motor(Stage::kAssembled, 230, 0.3);
  // NEMA MG 1 12.3: 1000 V up to 0.5 hp and 250 V; IEC 60034-1: 1500 V at least.
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kWithstandAc).notes, Contains(HasSubstr("NEMA MG 1 would ask 1000 V")));
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kMegohms).notes, Contains("IEEE 43-1974 asks at least 1.23 megohms"));
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kMegohms).notes, Contains(HasSubstr("not written for this machine")));
  c.family = Family::kNemaMg1;
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kWithstandAc).notes, Contains(HasSubstr("1500 V")));
  c.family = Family::kAr100;
  c.condition = Condition::kReconditioned;
  EXPECT_THAT(Get(ProgrammeOf(c), TestKind::kWithstandAc).notes, Contains(HasSubstr("NEMA MG 1")));
}

TEST(ShopRun, ItsOwnValuesAreTaken) {
  ProgrammeCase c = Motor(Stage::kAssembled);
  EXPECT_EQ(Get(ProgrammeOf(c), TestKind::kWithstandAc).trip_milliamps, 10);
  c.shop.trip_ac_milliamps = 5;
  c.shop.trip_surge_milliamps = 50;
  c.shop.least_discharge_seconds = 600;
  c.shop.megohm_ramp_seconds = 8;
  c.shop.surge_hold_seconds = 7;
  c.shop.surge_watch_ratio = 0.03;
  const Programme programme = ProgrammeOf(c);
  EXPECT_EQ(Get(programme, TestKind::kWithstandAc).trip_milliamps, 5);
  EXPECT_EQ(Get(programme, TestKind::kSurge).trip_milliamps, 50);
  EXPECT_EQ(Get(programme, TestKind::kSurge).hold_seconds, 7);
  EXPECT_THAT(Get(programme, TestKind::kSurge).limit.text, HasSubstr("watch 0.03"));
  EXPECT_EQ(Get(programme, TestKind::kMegohms).ramp_seconds, 8);
  for (const Step& step : programme.steps) {
    if (step.discharge_seconds) {
      EXPECT_GE(*step.discharge_seconds, 600) << step.title;
    }
  }
}

}  // namespace
}  // namespace coilwright::testing
