// Records that are right, or wrong in one place, and look wrong in another.
#include <gmock/gmock.h>

#include <cmath>

#include "plan/check.h"
#include "plan/machines.h"

namespace coilwright::plan {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

// Chance of a slip that stands alone, in the group that stands first; 0 where it is not there.
double ChanceFirst(const RecordCheck& check, const std::string& slip) {
  for (const Explanation& e : check.explanations) {
    if (e.group == 0 && e.corrections.size() == 1 && e.corrections[0].slip == slip) return e.probability;
  }
  return 0;
}

Record Servo() {
  Record record = ServoMotor();
  record.plate.ke_ll_rms_v_per_krpm = record.measured_ke_ll_rms_v_per_krpm;
  return record;
}

// 36 slots, 4 poles: four circuits need the twelve groups of two layers; one layer has six.
TEST(Doubts, WrongLayersMendForbiddenCircuits) {
  Record record = InductionMotor();
  record.winding.coil_pitch = 7;
  record.winding.parallel_circuits = 4;
  record.winding.turns_per_coil = 4 * *record.winding.turns_per_coil;
  record.winding.strands = {Strand("0.56 mm grade 2", 2)};
  record.core.shape.reset();
  Measure(record, 20);
  record.winding.layers = winding::Layers::kSingle;
  const RecordCheck check = CheckOf(record);
  EXPECT_EQ(check.verdict, Verdict::kExplained);
  EXPECT_GT(ChanceFirst(check, "coils_halved"), 0.2) << check.summary;
}

TEST(Doubts, LostMagnetismAccusesNoFieldOfTheWinding) {
  EXPECT_EQ(CheckOf(Servo()).verdict, Verdict::kSound) << CheckOf(Servo()).summary;
  for (const double left : {0.69, 0.75, 0.8}) {
    Record record = Servo();
    *record.measured_ke_ll_rms_v_per_krpm *= left;
    const RecordCheck check = CheckOf(record);
    EXPECT_EQ(check.verdict, Verdict::kUndecided) << left << check.summary;
    EXPECT_THAT(check.summary, HasSubstr("weak magnets: no slip of the record"));
    EXPECT_GT(ChanceFirst(check, "weak_magnets"), 0.5) << left;
    ASSERT_TRUE(check.next.has_value()) << left;
    EXPECT_THAT(check.next->how, HasSubstr("magnets")) << left;
    // 1.732 times that lie 20 % or more above the plate.
    EXPECT_LT(ChanceFirst(check, "phase_volts_constant"), 0.05) << left;
  }
  // Magnets do not gain.
  Record record = Servo();
  *record.measured_ke_ll_rms_v_per_krpm *= std::sqrt(2.0);
  EXPECT_EQ(ChanceFirst(CheckOf(record), "weak_magnets"), 0);
  EXPECT_GT(ChanceFirst(CheckOf(record), "peak_volts_constant"), 0.5);
}

TEST(Doubts, PlateTorqueDoubledIsNoPlateOfTwoVoltages) {
  Record record = Servo();
  EXPECT_EQ(CheckOf(record).verdict, Verdict::kSound) << CheckOf(record).summary;
  *record.plate.rated_torque_nm *= 2;
  const RecordCheck check = CheckOf(record);
  EXPECT_NE(check.verdict, Verdict::kSound);
  EXPECT_GT(ChanceFirst(check, "plate_torque"), 0.5) << check.summary;
  for (const Explanation& e : check.explanations) {
    for (const Correction& c : e.corrections) EXPECT_THAT(c.field, Not(HasSubstr("rated_volts")));
  }
}

// 2.2046 pounds to the kilogram.
TEST(Doubts, KilogramsInTheFieldOfPounds) {
  Record record = InductionMotor();
  record.mass->kg *= 0.45359237;
  record.mass->in_pounds = true;
  const RecordCheck check = CheckOf(record);
  EXPECT_GT(ChanceFirst(check, "kg_as_pounds"), 0.3) << check.summary;
  EXPECT_EQ(check.verdict, Verdict::kExplained);
  EXPECT_EQ(ChanceFirst(check, "pounds_as_kg"), 0);
}

TEST(Doubts, AWindingAsWarmAsTheAirHasTheTemperatureOfTheAir) {
  Record record = InductionMotor();
  Measure(record, 80);
  record.air_celsius = 20;
  EXPECT_EQ(CheckOf(record).verdict, Verdict::kSound) << "a sensor may say so";
  record.resistance->as_the_air = true;
  const RecordCheck check = CheckOf(record);
  EXPECT_NE(check.verdict, Verdict::kSound);
  EXPECT_THAT(check.summary, HasSubstr("the air at 20 C"));
  EXPECT_THAT(check.may_be_destroyed_next, HasSubstr("nothing"));
  record.air_celsius = 77;
  EXPECT_EQ(CheckOf(record).verdict, Verdict::kSound);
}

TEST(Doubts, AFullSlotAloneAccusesNobody) {
  Record record = InductionMotor();
  const auto fullness = [&](double ratio) {
    record.core.shape = slot::MeasuredArea{100};
    double now = 0;
    for (const Agreement& a : CheckOf(record).agreements) {
      if (a.what == "slot fullness") now = a.found;
    }
    ASSERT_GT(now, 0);
    record.core.shape = slot::MeasuredArea{100 * now / ratio};
  };
  fullness(0.85);
  const RecordCheck full = CheckOf(record);
  EXPECT_EQ(full.verdict, Verdict::kUndecided) << full.summary;
  EXPECT_THAT(full.stopped_by, IsEmpty());
  ASSERT_TRUE(full.next.has_value());
  EXPECT_EQ(full.next->what, "slot fullness");
}

TEST(Doubts, WhatStopsARecordIsNamedAndLookedAtNext) {
  Record record = InductionMotor();
  record.core.shape.reset();
  record.winding.parallel_circuits = 8;  // 36 slots, 4 poles permit 1, 2 and 4
  *record.winding.turns_per_coil *= 8;
  record.winding.strands = {Strand("0.40 mm grade 2", 1)};
  Measure(record, 20);
  const RecordCheck check = CheckOf(record);
  EXPECT_EQ(check.verdict, Verdict::kUnexplained) << check.summary;
  EXPECT_THAT(check.stopped_by, Contains("parallel circuits"));
  ASSERT_TRUE(check.next.has_value());
  EXPECT_EQ(check.next->what, check.stopped_by.front());
}

// 120 f / p: 1500 rpm at 50 Hz and four poles.
TEST(Doubts, AnInductionMotorSlips) {
  Record record = InductionMotor();
  record.plate.speed_rpm = 1495;
  EXPECT_EQ(CheckOf(record).verdict, Verdict::kSound) << CheckOf(record).summary;
  for (const double rpm : {1500.0, 1505.0}) {
    record.plate.speed_rpm = rpm;
    const RecordCheck check = CheckOf(record);
    EXPECT_EQ(check.verdict, Verdict::kUndecided) << rpm << check.summary;
    EXPECT_THAT(check.summary, HasSubstr("an induction motor slips under load")) << rpm;
    ASSERT_TRUE(check.next.has_value()) << rpm;
    EXPECT_EQ(check.next->what, "speed on the plate");
    EXPECT_THAT(check.may_be_destroyed_next, HasSubstr("nothing"));
    Record uncounted = record;
    uncounted.winding.strands.clear();
    EXPECT_THAT(CheckOf(uncounted).summary, HasSubstr("1500 rpm of its field")) << rpm;
  }
  // Poles or frequency that say otherwise stay the likelier explanation.
  record.plate.speed_rpm = 2850;
  EXPECT_EQ(CheckOf(record).verdict, Verdict::kExplained) << CheckOf(record).summary;
}

}  // namespace
}  // namespace coilwright::plan
