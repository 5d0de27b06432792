#include "electric/mean_turn.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "electric/coil_heads.h"
#include "standards/errors.h"
#include "standards/rule_ids.h"

namespace coilwright::electric {
namespace {

CoilGeometry Lap(double bore, double length, int poles, int slots, double pitch, double depth) {
  CoilGeometry coil;
  coil.bore_mm = bore;
  coil.core_length_mm = length;
  coil.poles = poles;
  coil.slots = slots;
  coil.mean_pitch = pitch;
  coil.slot_depth_mm = depth;
  return coil;
}

CoilGeometry Tooth(double bore, double length, int slots, double depth) {
  CoilGeometry coil = Lap(bore, length, 2 * (slots / 2 - 1), slots, 1, depth);
  coil.tooth_coil = true;
  coil.straight_extension_mm = 1;
  return coil;
}

MeanTurn Estimate(const CoilGeometry& coil) {
  const absl::StatusOr<MeanTurn> turn = EstimateMeanTurn(coil);
  EXPECT_TRUE(turn.ok()) << turn.status();
  return turn.value_or(MeanTurn{});
}

void ExpectHonestBand(const MeanTurn& turn) {
  EXPECT_LE(turn.metres.low, 0.97 * turn.metres.nominal + 1e-12);
  EXPECT_GE(turn.metres.high, 1.03 * turn.metres.nominal - 1e-12);
  EXPECT_LT(turn.metres.high, 1.3 * turn.metres.nominal);
  EXPECT_GT(turn.metres.low, 0.75 * turn.metres.nominal);
}

struct Case {
  CoilGeometry coil;
  double metres;
};

// By hand with flanks at 30 degrees and a straight part of 10 mm: 2L + 2[W/cos 30 + pi h/4 + 2e].
TEST(MeanTurn, OfDiamondCoils) {
  for (const Case& c : {Case{Lap(110, 120, 4, 36, 8, 18), 0.5146}, Case{Lap(60, 50, 4, 24, 5, 12), 0.2677},
                        Case{Lap(80, 90, 8, 36, 4, 15), 0.3201}, Case{Lap(200, 200, 4, 48, 10, 28), 0.8286}}) {
    for (bool given : {false, true}) {
      CoilGeometry coil = c.coil;
      if (given) coil.straight_extension_mm = 10;
      const MeanTurn turn = Estimate(coil);
      EXPECT_NEAR(turn.metres.nominal, c.metres, 1e-4);
      EXPECT_EQ(turn.rule, rules::electric_mean_turn_diamond);
      ExpectHonestBand(turn);
    }
  }
}

// Printed forms, by hand. Handbook for 4 poles: 2(L + 2Y - 0.02); Pyrhonen: 2L + 2.4W + 0.10; notes after Sawhney:
// 2L + 2.3 tau + 0.24. The last is twice the truth on a small motor and must not widen its band.
TEST(MeanTurn, BandSpansTheFormsThatHoldAtThatSize) {
  const MeanTurn medium = Estimate(Lap(110, 120, 4, 36, 8, 18));  // pole pitch 86 mm: the handbook form alone
  EXPECT_LE(medium.metres.low, 0.5072);
  EXPECT_LT(medium.metres.high, 0.5545);
  const MeanTurn large = Estimate(Lap(200, 200, 4, 48, 10, 28));  // pole pitch 157 mm: all three
  EXPECT_GE(large.metres.high, 0.8836);
  EXPECT_NEAR(large.metres.high, 1.0013, 1e-4);
  const MeanTurn small = Estimate(Lap(60, 50, 4, 24, 5, 12));  // none
  EXPECT_NEAR(small.metres.low, 0.2477, 1e-4);
  EXPECT_NEAR(small.metres.high, 0.2877, 1e-4);
}

TEST(MeanTurn, WithoutSlotDepthIsTheHandbookForm) {
  const MeanTurn turn = Estimate(Lap(110, 120, 4, 36, 8, 0));
  EXPECT_NEAR(turn.metres.nominal, 0.5072, 1e-4);
  EXPECT_EQ(turn.rule, rules::electric_mean_turn_handbook);
  ExpectHonestBand(turn);
  const absl::Status small = EstimateMeanTurn(Lap(60, 50, 4, 24, 5, 0)).status();
  ASSERT_EQ(standards::FieldErrorsOf(small).size(), 1u);
  EXPECT_EQ(standards::FieldErrorsOf(small)[0].field, "slot_depth_mm");
  EXPECT_FALSE(EstimateMeanTurn(Lap(300, 120, 10, 60, 5, 0)).ok());  // no form for ten poles
}

// Tooth as wide as half the slot pitch at the bore, 1 mm clearance. By hand: rounded corners 2(L+2e)+2b+pi w, sharp
// 2(L+2e)+2b+4w, semicircles 2(L+2e)+pi(b+w).
TEST(MeanTurn, OfToothCoils) {
  struct ToothCase {
    CoilGeometry coil;
    double rounded, sharp, semicircle;
  };
  for (const ToothCase& c : {ToothCase{Tooth(60, 60, 12, 18), 0.1594, 0.1648, 0.1684},
                             ToothCase{Tooth(40, 50, 9, 12), 0.1355, 0.1403, 0.1435},
                             ToothCase{Tooth(120, 80, 24, 25), 0.1972, 0.2020, 0.2062}}) {
    const MeanTurn turn = Estimate(c.coil);
    EXPECT_NEAR(turn.metres.nominal, c.rounded, 1e-4);
    EXPECT_NEAR(turn.metres.high, c.semicircle, 1e-4);
    EXPECT_EQ(turn.rule, rules::electric_mean_turn_tooth_coil);
    ExpectHonestBand(turn);
    const double pi = std::acos(-1.0);
    const double tooth = pi * c.coil.bore_mm / c.coil.slots / 2;
    const double side = (pi * (c.coil.bore_mm + c.coil.slot_depth_mm) / c.coil.slots - tooth) / 2;
    EXPECT_NEAR(ToothTurnMm(ToothHead::kSharpCorners, c.coil.core_length_mm, 1, tooth, side) / 1000, c.sharp, 1e-4);
  }
}

// The same mean as adding up rings: a coil side of n layers, each half a layer further off the tooth.
TEST(MeanTurn, OfAToothCoilIsTheMeanOverItsLayers) {
  const double side = 6, tooth = 8, core = 60, clearance = 1;
  const int layers = 12;
  double sum = 0;
  for (int layer = 0; layer < layers; ++layer) {
    const double offset = (layer + 0.5) * side / layers;
    sum += 2 * (core + 2 * clearance) + 2 * tooth + 2 * std::acos(-1.0) * offset;
  }
  EXPECT_NEAR(ToothTurnMm(ToothHead::kRoundedCorners, core, clearance, tooth, side), sum / layers, 1e-9);
}

TEST(MeanTurn, OfASingleLayerToothCoilIsLonger) {
  CoilGeometry one = Tooth(60, 60, 12, 18), two = one;
  one.double_layer = false;
  EXPECT_GT(Estimate(one).metres.nominal, Estimate(two).metres.nominal);
}

// A diamond of known straight part stands off by rise + knuckle + straight part: measuring that overhang must give it
// back.
TEST(MeanTurn, FollowsTheMeasuredOverhang) {
  CoilGeometry given = Lap(110, 120, 4, 36, 8, 18), measured = given;
  given.straight_extension_mm = 12;
  const double span = 8 * std::acos(-1.0) * 128 / 36;
  measured.head_extension_mm = 12 + span / 2 * std::tan(std::acos(-1.0) / 6) + 18 / 4.0;
  EXPECT_NEAR(Estimate(measured).metres.nominal, Estimate(given).metres.nominal, 1e-9);
  EXPECT_EQ(Estimate(measured).rule, rules::electric_mean_turn_head);
  double before = 0;
  for (double overhang : {1.0, 5.0, 15.0, 30.0, 35.0, 45.0, 80.0}) {
    measured.head_extension_mm = overhang;
    const MeanTurn turn = Estimate(measured);
    EXPECT_GE(turn.metres.nominal, before);
    EXPECT_GE(turn.metres.nominal, (2 * 120 + 2 * span) / 1000);  // never shorter than straight across
    before = turn.metres.nominal;
  }
}

// A half circle is a half ellipse: pi r; a flat head is its span. Ellipse 2:1 against the complete elliptic integral,
// perimeter 9.688448 for half axes 2 and 1 (Abramowitz and Stegun, table 17.1).
TEST(CoilHeads, AreTheirClosedForms) {
  EXPECT_NEAR(HalfEllipseMm(20, 10), std::acos(-1.0) * 10, 1e-9);
  EXPECT_NEAR(HalfEllipseMm(4, 1), 9.688448 / 2, 1e-4);
  EXPECT_DOUBLE_EQ(TriangleMm(40, 0), 40);
  EXPECT_NEAR(TriangleMm(30, 20), 50, 1e-12);
}

TEST(MeanTurn, GrowsWithCorePitchAndBore) {
  const double base = Estimate(Lap(110, 120, 4, 36, 8, 18)).metres.nominal;
  EXPECT_NEAR(Estimate(Lap(110, 130, 4, 36, 8, 18)).metres.nominal, base + 0.020, 1e-12);
  EXPECT_GT(Estimate(Lap(110, 120, 4, 36, 9, 18)).metres.nominal, base);
  EXPECT_GT(Estimate(Lap(120, 120, 4, 36, 8, 18)).metres.nominal, base);
}

TEST(MeanTurn, MeasuredIsOnePerCentUnlessSaid) {
  const auto turn = MeasuredMeanTurn(0.5);
  ASSERT_TRUE(turn.ok());
  EXPECT_DOUBLE_EQ(turn->metres.low, 0.495);
  EXPECT_DOUBLE_EQ(turn->metres.high, 0.505);
  EXPECT_EQ(turn->method, "measured");
  EXPECT_TRUE(MeasuredMeanTurn(0.005, 0).ok());
  EXPECT_TRUE(MeasuredMeanTurn(50, 0.2).ok());
  for (double metres : {0.0, -0.5, 0.0049, 50.1, 1e9, std::numeric_limits<double>::quiet_NaN()}) {
    EXPECT_FALSE(MeasuredMeanTurn(metres).ok()) << metres;
  }
  EXPECT_FALSE(MeasuredMeanTurn(0.5, 0.21).ok());
  EXPECT_FALSE(MeasuredMeanTurn(0.5, -0.01).ok());
}

std::vector<std::string> WrongFields(const CoilGeometry& coil) {
  std::vector<std::string> fields;
  for (const auto& error : standards::FieldErrorsOf(EstimateMeanTurn(coil).status())) fields.push_back(error.field);
  return fields;
}

TEST(MeanTurn, RefusesImpossibleGeometryWithEveryField) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  using testing::ElementsAre;
  EXPECT_THAT(WrongFields(Lap(0, 0, 0, 0, 0, -1)),
              ElementsAre("bore_mm", "core_length_mm", "slot_depth_mm", "slots", "poles", "mean_pitch"));
  EXPECT_THAT(WrongFields(Lap(nan, nan, 3, 1000000000, nan, nan)),
              ElementsAre("bore_mm", "core_length_mm", "slot_depth_mm", "slots", "poles", "mean_pitch"));
  EXPECT_THAT(WrongFields(Lap(110, 120, 4, 36, 36, 18)), ElementsAre("mean_pitch"));
  EXPECT_THAT(WrongFields(Lap(110, 120, 4, 36, 35, 18)), testing::IsEmpty());
  CoilGeometry head = Lap(110, 120, 4, 36, 8, 18);
  head.head_extension_mm = 0;
  head.straight_extension_mm = -1;
  EXPECT_THAT(WrongFields(head), ElementsAre("straight_extension_mm", "head_extension_mm"));
  CoilGeometry tooth = Tooth(60, 60, 12, 18);
  tooth.tooth_width_mm = 20.5;  // slot pitch at half depth is 20.42 mm
  EXPECT_THAT(WrongFields(tooth), ElementsAre("tooth_width_mm"));
  tooth.tooth_width_mm = 20.4;
  EXPECT_THAT(WrongFields(tooth), testing::IsEmpty());
  tooth.slot_depth_mm = 0;
  tooth.tooth_width_mm.reset();
  EXPECT_THAT(WrongFields(tooth), ElementsAre("slot_depth_mm"));
}

}  // namespace
}  // namespace coilwright::electric
