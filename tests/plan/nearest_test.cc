// Nearness of recorded windings, and what they become on another core. Expected turns: the master relation
// T2 = T1 (E2/E1)(f1/f2)(kw1/kw2)(a2/a1)(C1/C2)(phi1/phi2), worked by hand; phi goes with bore x stack at one density.
#include "plan/nearest.h"

#include <gmock/gmock.h>

#include <cmath>

#include "plan/machines.h"
#include "plan/random_machine.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

double DistanceOf(const NearMachine& wanted, const NearMachine& recorded) {
  return Distance(wanted, recorded).value().distance;
}

// The only value that differs, by `units` of its own among `known` values.
void ExpectAlone(const NearMachine& wanted, const NearMachine& recorded, const std::string& field, double units,
                 int known) {
  const Nearness near = Distance(wanted, recorded).value();
  ASSERT_THAT(near.differences, SizeIs(1)) << field;
  EXPECT_EQ(near.differences[0].field, field);
  EXPECT_NEAR(near.differences[0].units, units, 1e-9);
  EXPECT_NEAR(near.distance, units / std::sqrt(known), 1e-9);
}

TEST(Nearest, TheSameMachineLiesAtZero) {
  for (const Record& record : {InductionMotor(), ServoMotor()}) {
    const Nearness near = Distance(NearMachineOf(record), NearMachineOf(record)).value();
    EXPECT_EQ(near.distance, 0);
    EXPECT_THAT(near.differences, IsEmpty());
  }
}

TEST(Nearest, CountsEachValueInItsUnit) {
  // Nine values known of it: kind, poles, bore, outer, stack, kW, rpm, Hz, V.
  const NearMachine wanted = NearMachineOf(InductionMotor());
  NearMachine other = wanted;
  other.bore_mm = 102;
  ExpectAlone(wanted, other, "core.bore_diameter", 1, 9);
  other = wanted;
  other.stack_length_mm = 120 / 1.21;
  ExpectAlone(wanted, other, "core.stack_length", 2, 9);
  other = wanted;
  other.rated_volts = 1200;
  ExpectAlone(wanted, other, "nameplate.rated_volts", 1, 9);
  other = wanted;
  other.poles = 6;
  ExpectAlone(wanted, other, "nameplate.poles", 6, 9);
  other = wanted;
  other.kind = MachineKind::kPermanentMagnet;
  ExpectAlone(wanted, other, "kind", 8, 9);
  other = wanted;
  other.outer_mm.reset();
  ExpectAlone(wanted, other, "core.outer_diameter", 1, 9);
  EXPECT_EQ(Distance(wanted, other)->differences[0].recorded, "not recorded");
}

TEST(Nearest, NothingOutsideAWindowLiesNearerThanItSays) {
  const NearMachine wanted = NearMachineOf(InductionMotor());
  for (const double units : {1.0, 3.0, 11.0}) {
    const CoreWindow window = WindowOf(wanted, units);
    const auto at = [&](std::optional<double> NearMachine::*value, double ratio) {
      NearMachine other = wanted;
      other.*value = *(wanted.*value) * ratio;
      return DistanceOf(wanted, other);
    };
    for (const double side : {1.0, -1.0}) {
      EXPECT_NEAR(at(&NearMachine::bore_mm, std::pow(window.bore_ratio, side)), window.least_outside, 1e-9);
      EXPECT_NEAR(at(&NearMachine::outer_mm, std::pow(window.outer_ratio, side)), window.least_outside, 1e-9);
      EXPECT_NEAR(at(&NearMachine::stack_length_mm, std::pow(window.stack_ratio, side)), window.least_outside, 1e-9);
    }
    // With fewer values known the same difference weighs more.
    NearMachine little;
    little.slots = wanted.slots;
    little.bore_mm = 100;
    NearMachine other = little;
    other.bore_mm = 100 * window.bore_ratio;
    EXPECT_GE(DistanceOf(little, other), window.least_outside);
  }
}

TEST(Nearest, SlotsMustBeEqual) {
  NearMachine other = NearMachineOf(InductionMotor());
  other.slots = 24;
  EXPECT_FALSE(Distance(NearMachineOf(InductionMotor()), other).has_value());
}

// 750 W and 0.75 kW are one value however it is divided; 400 against 230 V counts less than 5 mm of bore.
TEST(Nearest, VoltsCountLittleAndRoundingNothing) {
  NearMachine wanted = NearMachineOf(InductionMotor()), other = wanted;
  wanted.rated_kw = 750.0 / 1000;
  other.rated_kw = 0.75 * (1 + 1e-12);
  EXPECT_EQ(DistanceOf(wanted, other), 0);
  other = wanted;
  other.rated_volts = 230;
  NearMachine wider = wanted;
  wider.bore_mm = *wanted.bore_mm + 5;
  EXPECT_LT(DistanceOf(wanted, other), DistanceOf(wanted, wider));
  // A known difference of the plate against a record that does not know its core.
  NearMachine bare = wanted;
  bare.outer_mm.reset();
  bare.stack_length_mm.reset();
  EXPECT_LT(DistanceOf(wanted, other), DistanceOf(wanted, bare));
}

TEST(Nearest, OnlyWhatIsKnownOfTheStatorCounts) {
  NearMachine wanted;
  wanted.slots = 36;
  wanted.bore_mm = 100;
  EXPECT_EQ(DistanceOf(wanted, NearMachineOf(InductionMotor())), 0);
  wanted.stack_length_mm = 132;
  const Nearness near = Distance(wanted, NearMachineOf(InductionMotor())).value();
  ASSERT_THAT(near.differences, SizeIs(1));
  EXPECT_EQ(near.differences[0].wanted, "132 mm");
  EXPECT_EQ(near.differences[0].recorded, "120 mm");
  EXPECT_NEAR(near.differences[0].ratio.value(), 120.0 / 132, 1e-12);
  EXPECT_NEAR(near.distance, 1 / std::sqrt(2.0), 1e-9);
}

TEST(Nearest, AnEqualMachineGetsTheRecordedTurns) {
  for (const Record& record : {InductionMotor(), ServoMotor()}) {
    const ScaledToTheCore scaled = ScaledToCore(record, NearMachineOf(record));
    ASSERT_TRUE(scaled.winding.has_value()) << scaled.notes[0];
    EXPECT_NEAR(scaled.winding->exact_turns_per_coil, *record.winding.turns_per_coil, 1e-9);
    EXPECT_EQ(scaled.winding->turns_per_coil, *record.winding.turns_per_coil);
    EXPECT_NEAR(scaled.winding->conductor_area_ratio.value(), 1, 1e-12);
    EXPECT_NEAR(scaled.winding->flux_ratio, 1, 1e-12);
    EXPECT_EQ(scaled.winding->rated_volts, record.plate.rated_volts);
    EXPECT_THAT(scaled.notes, Contains(HasSubstr("teeth: +0 %")));
    EXPECT_THAT(scaled.notes, Contains(HasSubstr("Slot fill: +0 %")));
  }
}

// By hand: 18 turns, 400 V 50 Hz, 100 x 120 mm -> 230 V 60 Hz, 100 x 150 mm: 18 (230/400)(50/60)(120/150) = 6.9. Flux
// 1.25; 3 kW at 6.4 A -> 4 kW at 14 A: area 14/6.4; copper in the slot 7/18 x 2.1875 = 0.8507.
TEST(Nearest, ScalesByTheMasterRelation) {
  NearMachine wanted = NearMachineOf(InductionMotor());
  wanted.rated_volts = 230;
  wanted.frequency_hz = 60;
  wanted.stack_length_mm = 150;
  wanted.line_amps_rms = 14;
  const ScaledToTheCore scaled = ScaledToCore(InductionMotor(), wanted);
  ASSERT_TRUE(scaled.winding.has_value()) << scaled.notes[0];
  EXPECT_NEAR(scaled.winding->exact_turns_per_coil, 6.9, 1e-9);
  EXPECT_EQ(scaled.winding->turns_per_coil, 7);
  EXPECT_NEAR(scaled.winding->flux_ratio, 1.25, 1e-12);
  EXPECT_NEAR(scaled.winding->conductor_area_ratio.value(), 2.1875, 1e-12);
  EXPECT_EQ(scaled.winding->rated_volts, 230);
  EXPECT_THAT(scaled.winding->rules, Contains(rules::winding_redesign_turns));
  EXPECT_THAT(scaled.notes, Contains(HasSubstr("flux by -1.4 %")));  // 6.9 / 7
  EXPECT_THAT(scaled.notes, Contains(HasSubstr("Slot fill: -15 %")));
  // Without currents by power: (4/3)(400/230).
  wanted.line_amps_rms.reset();
  wanted.rated_kw = 4;
  EXPECT_NEAR(ScaledToCore(InductionMotor(), wanted).winding->conductor_area_ratio.value(), 4.0 / 3 * 400 / 230, 1e-12);
}

// A tooth as wide under a bore 5 % larger carries 5 % more; back iron likewise by what lies behind the slot.
TEST(Nearest, SaysWhatTheIronSees) {
  NearMachine wanted = NearMachineOf(InductionMotor());
  wanted.bore_mm = 105;
  wanted.back_iron_mm = *wanted.back_iron_mm * 1.05 / 1.10;
  ScaledToTheCore scaled = ScaledToCore(InductionMotor(), wanted);
  EXPECT_THAT(scaled.notes, Contains(HasSubstr("teeth: +5 %")));
  EXPECT_THAT(scaled.notes, Contains(HasSubstr("back iron: +10 %")));
  wanted.tooth_width_mm.reset();
  wanted.slot_area_mm2.reset();
  scaled = ScaledToCore(InductionMotor(), wanted);
  EXPECT_THAT(scaled.notes, Contains(HasSubstr("Check the flux density in the teeth")));
  EXPECT_THAT(scaled.notes, Contains(HasSubstr("Check the slot fill")));
}

// With magnets: by the voltage constants where both are known, else by volts over speed. 45 turns; half the constant at
// a stack of 0.8 needs 45 x 0.5 / 0.8.
TEST(Nearest, MagnetMachinesGoByTheirConstants) {
  const Record record = ServoMotor();
  NearMachine wanted = NearMachineOf(record);
  *wanted.ke_ll_rms_v_per_krpm /= 2;
  *wanted.stack_length_mm *= 0.8;
  EXPECT_NEAR(ScaledToCore(record, wanted).winding->exact_turns_per_coil, 45 * 0.5 / 0.8, 1e-9);
  wanted.ke_ll_rms_v_per_krpm.reset();
  wanted.speed_rpm = 6000;
  wanted.rated_volts = 460;
  EXPECT_NEAR(ScaledToCore(record, wanted).winding->exact_turns_per_coil, 45 * 2 * 0.5 / 0.8, 1e-9);
  wanted.speed_rpm.reset();
  const ScaledToTheCore none = ScaledToCore(record, wanted);
  EXPECT_FALSE(none.winding.has_value());
  EXPECT_THAT(none.notes, Contains(HasSubstr("voltage constants of both sides")));
}

TEST(Nearest, GivesNoWindingWhereItWouldBeAnother) {
  const NearMachine same = NearMachineOf(InductionMotor());
  const auto why = [](const NearMachine& wanted, const Record& record = InductionMotor()) {
    const ScaledToTheCore scaled = ScaledToCore(record, wanted);
    EXPECT_FALSE(scaled.winding.has_value());
    return scaled.notes.empty() ? "" : scaled.notes[0];
  };
  NearMachine wanted = same;
  wanted.poles = 2;
  EXPECT_THAT(why(wanted), HasSubstr("4 poles, not 2"));
  wanted = same;
  wanted.slots = 24;
  EXPECT_THAT(why(wanted), HasSubstr("36 slots, not 24"));
  wanted = same;
  wanted.kind = MachineKind::kPermanentMagnet;
  EXPECT_THAT(why(wanted), HasSubstr("an induction machine, not a permanent-magnet machine"));
  wanted = same;
  wanted.stack_length_mm.reset();
  EXPECT_THAT(why(wanted), HasSubstr("stack is not known"));
  wanted = same;
  wanted.rated_volts.reset();
  EXPECT_THAT(why(wanted), HasSubstr("rated volts"));
  Record uncounted = InductionMotor();
  uncounted.winding.turns_per_coil.reset();
  EXPECT_THAT(why(same, uncounted), HasSubstr("no turns"));
  // What only the burnt stator does not know is taken from the record, and said.
  wanted = same;
  wanted.kind.reset();
  wanted.poles.reset();
  wanted.frequency_hz.reset();
  const ScaledToTheCore scaled = ScaledToCore(InductionMotor(), wanted);
  EXPECT_EQ(scaled.winding.value().turns_per_coil, 18);
  EXPECT_THAT(scaled.notes, Contains(HasSubstr("Taken as an induction machine of 4 poles")));
  EXPECT_THAT(scaled.notes, Contains(HasSubstr("50 Hz on both sides")));
}

TEST(Nearest, ConcentricGroupsKeepTheirProportion) {
  Record record = OnAnotherStator(24, 4);
  record.winding.form = winding::CoilForm::kConcentric;
  record.winding.layers = winding::Layers::kSingle;
  record.winding.coil_pitch.reset();
  record.winding.turns_per_coil.reset();
  record.winding.groups = {{{{5, 30}, {7, 50}}, 6}};
  NearMachine wanted = NearMachineOf(record);
  wanted.rated_volts = 200;
  const ScaledToTheCore scaled = ScaledToCore(record, wanted);
  ASSERT_TRUE(scaled.winding.has_value()) << scaled.notes[0];
  EXPECT_NEAR(scaled.winding->exact_turns_per_coil, 20, 1e-9);
  EXPECT_THAT(scaled.notes, Contains(HasSubstr("6 groups of 15 (span 5) 25 (span 7)")));
}

// Exact turns carried to a drawn machine and back are the identity; so are the flux and the conductor area.
TEST(Nearest, ThereAndBackIsTheIdentity) {
  std::mt19937 random(11);
  int tried = 0;
  for (int i = 0; i < 300; ++i) {
    const Record record = RandomMachine(random);
    const NearMachine here = NearMachineOf(record);
    NearMachine there = here;
    const auto drawn = [&](std::optional<double>& value) {
      if (value) *value *= std::uniform_real_distribution<double>(0.6, 1.6)(random);
    };
    drawn(there.bore_mm);
    drawn(there.stack_length_mm);
    drawn(there.rated_volts);
    drawn(there.frequency_hz);
    drawn(there.line_amps_rms);
    drawn(there.ke_ll_rms_v_per_krpm);
    const ScaledToTheCore away = ScaledToCore(record, there);
    ASSERT_TRUE(away.winding.has_value()) << away.notes[0];
    // The same machine as if it had been recorded on the other core, with a great number of turns in place of a
    // fraction.
    Record moved = record;
    moved.core.bore_mm = there.bore_mm;
    moved.core.stack_length_mm = there.stack_length_mm;
    moved.plate.rated_volts = *there.rated_volts;
    moved.plate.frequency_hz = there.frequency_hz;
    moved.plate.line_amps_rms = there.line_amps_rms;
    moved.measured_ke_ll_rms_v_per_krpm = there.ke_ll_rms_v_per_krpm;
    moved.winding.turns_per_coil = 1000;
    const ScaledToTheCore back = ScaledToCore(moved, here);
    ASSERT_TRUE(back.winding.has_value()) << back.notes[0];
    EXPECT_NEAR(away.winding->exact_turns_per_coil * back.winding->exact_turns_per_coil,
                1000.0 * *record.winding.turns_per_coil, 1e-6 * *record.winding.turns_per_coil);
    EXPECT_NEAR(away.winding->flux_ratio * back.winding->flux_ratio, 1, 1e-12);
    EXPECT_NEAR(*away.winding->conductor_area_ratio * *back.winding->conductor_area_ratio, 1, 1e-12);
    ++tried;
  }
  EXPECT_EQ(tried, 300);
}

}  // namespace
}  // namespace coilwright::plan
