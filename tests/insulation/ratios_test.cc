// Polarization index and absorption ratio against IEEE 43.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "insulation/megohm.h"
#include "standards/rules.h"

namespace coilwright::insulation {
namespace {

using ::testing::HasSubstr;

RatioCase RatioOf(double megohms_60s, double megohms_600s) {
  RatioCase c;
  c.kind = WindingKind::kFormWound;
  c.megohms_60s = megohms_60s;
  c.megohms_600s = megohms_600s;
  return c;
}

TEST(PolarizationIndex, IsTenMinutesOverOne) {
  const Ratio ratio = PolarizationIndex(RatioOf(500, 1200));
  ASSERT_TRUE(ratio.applies);
  EXPECT_NEAR(*ratio.value, 2.4, 1e-12);
  EXPECT_TRUE(ratio.reason.empty());
}

// IEEE 43-2000 Table 2: class A 1.5, B, F and H 2.0; 2013 by number, from memory.
TEST(PolarizationIndex, MinimumByThermalClass) {
  for (const auto& [thermal_class, minimum] :
       {std::pair<int, double>{105, 1.5}, {130, 2.0}, {155, 2.0}, {180, 2.0}, {90, 1.5}, {120, 2.0}}) {
    RatioCase c = RatioOf(500, 1200);
    c.thermal_class_celsius = thermal_class;
    EXPECT_EQ(PolarizationIndex(c).minimum, minimum) << thermal_class;
  }
}

// IEEE 43-2013 5.4: may not apply to small random-wound machines.
TEST(PolarizationIndex, SaysNothingOnARandomWinding) {
  RatioCase c = RatioOf(500, 1200);
  c.kind = WindingKind::kRandomWound;
  const Ratio ratio = PolarizationIndex(c);
  EXPECT_FALSE(ratio.applies);
  EXPECT_FALSE(ratio.value.has_value());
  EXPECT_FALSE(ratio.minimum.has_value());
  EXPECT_THAT(ratio.reason, HasSubstr("within seconds"));
  EXPECT_EQ(ratio.rule, rules::ieee43_polarization_index_random_wound);
  c.kind = WindingKind::kField;
  EXPECT_FALSE(PolarizationIndex(c).applies);
  c.kind = WindingKind::kDcArmature;
  EXPECT_TRUE(PolarizationIndex(c).applies);
}

// IEEE 43 12.2, from memory: 6200 megohms at 40 C with an index of 1.3 is no fault.
TEST(PolarizationIndex, IsDisregardedAbove5000Megohms) {
  RatioCase c = RatioOf(6200, 8060);
  c.megohms_60s_at_40c = 6200;
  EXPECT_FALSE(PolarizationIndex(c).applies);
  c.megohms_60s_at_40c = 5000;
  EXPECT_TRUE(PolarizationIndex(c).applies);
  c.megohms_60s_at_40c = 5000.1;
  EXPECT_FALSE(PolarizationIndex(c).applies);
}

TEST(PolarizationIndex, WarnsAboveEight) {
  EXPECT_TRUE(PolarizationIndex(RatioOf(100, 800)).reason.empty());
  EXPECT_THAT(PolarizationIndex(RatioOf(100, 801)).reason, HasSubstr("brittle"));
}

TEST(Ratios, ReadingsNotTakenGiveNoValue) {
  const double infinity = std::numeric_limits<double>::infinity();
  for (const double wrong : {0.0, -1.0, std::nan(""), infinity}) {
    const Ratio ratio = PolarizationIndex(RatioOf(wrong, 100));
    EXPECT_TRUE(ratio.applies);
    EXPECT_FALSE(ratio.value.has_value()) << wrong;
    EXPECT_THAT(ratio.reason, HasSubstr("not measured"));
  }
  EXPECT_FALSE(PolarizationIndex(RatioOf(1e-300, 1e300)).value.has_value()) << "no infinity comes out";
}

// Definition: 300 megohms after 30 s and 400 after 60 s are 1.333. No standard sets a limit.
TEST(AbsorptionRatio, HasNoLimit) {
  RatioCase c;
  c.megohms_30s = 300;
  c.megohms_60s = 400;
  const Ratio ratio = AbsorptionRatio(c);
  ASSERT_TRUE(ratio.applies);
  EXPECT_NEAR(*ratio.value, 1.333, 0.001);
  EXPECT_FALSE(ratio.minimum.has_value());
  EXPECT_EQ(standards::FindRule(ratio.rule)->standing, standards::Standing::kCommonPractice);
  EXPECT_FALSE(AbsorptionRatio(RatioCase{}).value.has_value());
}

}  // namespace
}  // namespace coilwright::insulation
