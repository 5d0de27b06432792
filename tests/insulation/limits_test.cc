// Test voltages and minimums against the published editions of IEEE 43. Nothing was checked against a licensed copy.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "insulation/megohm.h"
#include "standards/errors.h"
#include "standards/rules.h"
#include "standards/tables.h"

namespace coilwright::insulation {
namespace {

using ::testing::ElementsAre;
using ::testing::Field;

MegohmLimits LimitsOf(const MegohmCase& c) {
  const auto limits = Limits(c);
  EXPECT_TRUE(limits.ok()) << limits.status();
  return limits.value_or(MegohmLimits{});
}

MegohmCase Rated(double volts, WindingKind kind = WindingKind::kRandomWound,
                 MegohmEdition edition = MegohmEdition::kIeee43_2013) {
  MegohmCase c;
  c.rated_volts = volts;
  c.kind = kind;
  c.edition = edition;
  return c;
}

struct VoltageRow {
  double rated, low, high;
};

// IEEE 43-2000 Table 1 as quoted in public: 230, 999, 1000, 2400 and 13800 V are worked there; the others stand on both
// sides of each row's limit.
TEST(Limits, TestVoltageFollowsTable1) {
  for (const VoltageRow& row : {VoltageRow{230, 500, 500},
                                {999, 500, 500},
                                {999.9, 500, 500},
                                {1000, 500, 1000},
                                {2400, 500, 1000},
                                {2500, 500, 1000},
                                {2500.5, 1000, 2500},
                                {2501, 1000, 2500},
                                {5000, 1000, 2500},
                                {5001, 2500, 5000},
                                {12000, 2500, 5000},
                                {12001, 5000, 10000},
                                {13800, 5000, 10000}}) {
    const MegohmLimits limits = LimitsOf(Rated(row.rated));
    EXPECT_EQ(limits.test_volts_dc_low, row.low) << row.rated;
    EXPECT_EQ(limits.test_volts_dc_high, row.high) << row.rated;
    EXPECT_EQ(limits.test_volts_dc, row.low) << row.rated;
    EXPECT_EQ(limits.test_voltage_rule, rules::ieee43_test_voltage);
  }
}

struct MinimumRow {
  const char* source;
  double rated;
  WindingKind kind;
  MegohmEdition edition;
  std::optional<int> built;
  double megohms;
};

TEST(Limits, MinimumsOfTheEditions) {
  using K = WindingKind;
  using E = MegohmEdition;
  for (const MinimumRow& row : {
           MinimumRow{"IEEE 43-2013 Table 3, random wound", 460, K::kRandomWound, E::kIeee43_2013, {}, 5},
           {"IEEE 43-2013 Table 3, form wound after 1970", 4160, K::kFormWound, E::kIeee43_2013, {}, 100},
           {"IEEE 43-2013 Table 3, form wound below 1 kV (from memory)", 999, K::kFormWound, E::kIeee43_2013, {}, 5},
           {"the other side of 1 kV", 1000, K::kFormWound, E::kIeee43_2013, {}, 100},
           {"EASA, Bishop, April 2016: DC armature in the 2013 edition", 500, K::kDcArmature, E::kIeee43_2013, {}, 5},
           {"the same article: 100 in the 2000 edition", 500, K::kDcArmature, E::kIeee43_2000, {}, 100},
           {"IEEE 43-2013 Table 3, field of 0.25 kV (from memory)", 250, K::kField, E::kIeee43_2013, {}, 1.25},
           {"IEEE 43-2000 Table 3, random wound", 460, K::kRandomWound, E::kIeee43_2000, {}, 5},
           {"IEEE 43-2000 Table 3, form wound", 6600, K::kFormWound, E::kIeee43_2000, 1985, 100},
           {"before about 1970 (from memory): kV + 1", 4160, K::kFormWound, E::kIeee43_2013, 1969, 5.16},
           {"1970 counts as after", 4160, K::kFormWound, E::kIeee43_2013, 1970, 100},
           {"before about 1970, random wound", 460, K::kRandomWound, E::kIeee43_2013, 1955, 1.46},
           {"IEEE 43-1974, Rm = kV + 1", 4160, K::kFormWound, E::kIeee43_1974, {}, 5.16},
           {"IEEE 43-1974, 480 V", 480, K::kRandomWound, E::kIeee43_1974, 2020, 1.48},
           {"one megohm per kV, public article", 2400, K::kFormWound, E::kOneMegohmPerKilovolt, {}, 2.4},
           {"one megohm per kV, at least one", 480, K::kRandomWound, E::kOneMegohmPerKilovolt, {}, 1},
       }) {
    MegohmCase c = Rated(row.rated, row.kind, row.edition);
    c.built_year = row.built;
    EXPECT_NEAR(LimitsOf(c).minimum_megohms, row.megohms, 1e-12) << row.source;
  }
}

// IEEE 43 scope: 750 W (1 hp) or greater.
TEST(Limits, ScopeEndsBelow750Watts) {
  MegohmCase c = Rated(230);
  EXPECT_FALSE(LimitsOf(c).outside_scope) << "unknown power is not outside";
  c.rated_kw = 0.75;
  EXPECT_FALSE(LimitsOf(c).outside_scope);
  c.rated_kw = 0.749;
  EXPECT_TRUE(LimitsOf(c).outside_scope);
  EXPECT_THAT(LimitsOf(c).rules, ::testing::Contains(rules::ieee43_scope));
}

TEST(Limits, ShopExpectationIsNeverBelowTheMinimum) {
  MegohmCase c = Rated(460);
  EXPECT_EQ(LimitsOf(c).shop_expectation_megohms, 100);
  c.shop_expectation_megohms = 1;
  EXPECT_EQ(LimitsOf(c).shop_expectation_megohms, 5);
}

TEST(Limits, MinimumAndVoltageNeverFallWithRatedVolts) {
  for (const auto edition : {MegohmEdition::kIeee43_2013, MegohmEdition::kIeee43_2000, MegohmEdition::kIeee43_1974,
                             MegohmEdition::kOneMegohmPerKilovolt}) {
    for (const auto kind :
         {WindingKind::kRandomWound, WindingKind::kFormWound, WindingKind::kField, WindingKind::kDcArmature}) {
      MegohmLimits before = LimitsOf(Rated(1, kind, edition));
      for (double volts = 1; volts <= 50000; volts *= 1.07) {
        const MegohmLimits limits = LimitsOf(Rated(volts, kind, edition));
        EXPECT_GE(limits.minimum_megohms, before.minimum_megohms);
        EXPECT_GE(limits.test_volts_dc, before.test_volts_dc);
        EXPECT_LE(limits.test_volts_dc_low, limits.test_volts_dc_high);
        for (const absl::string_view rule : limits.rules) EXPECT_NE(standards::FindRule(rule), nullptr) << rule;
        before = limits;
      }
    }
  }
}

TEST(Limits, EveryWrongFieldIsNamedAtOnce) {
  MegohmCase c;
  c.rated_volts = std::nan("");
  c.rated_kw = -1;
  c.built_year = 12;
  c.shop_expectation_megohms = 0;
  EXPECT_THAT(
      standards::FieldErrorsOf(Limits(c).status()),
      ElementsAre(Field(&standards::FieldError::field, "rated_volts"), Field(&standards::FieldError::field, "rated_kw"),
                  Field(&standards::FieldError::field, "shop_expectation_megohms"),
                  Field(&standards::FieldError::field, "built_year")));
  const double infinity = std::numeric_limits<double>::infinity();
  for (const double volts : {0.0, -230.0, 0.99, 50000.1, 1e300, infinity, -infinity}) {
    EXPECT_TRUE(absl::IsInvalidArgument(Limits(Rated(volts)).status())) << volts;
  }
  EXPECT_TRUE(Limits(Rated(1)).ok());
  EXPECT_TRUE(Limits(Rated(50000)).ok());
}

// The rule of a table's row is a name in a file: it must be in the registry.
TEST(Tables, EveryRuleOfATableIsRegistered) {
  for (const char* name :
       {"megohm_test_voltage", "megohm_minimum", "megohm_correction", "megohm_constants", "polarization_index"}) {
    const standards::Table table{standards::EmbeddedTable(name)};
    ASSERT_GT(table.rows(), 0) << name;
    for (int row = 0; row < table.rows(); ++row) {
      EXPECT_NE(standards::FindRule(table.Text(row, "rule")), nullptr) << name << " row " << row;
    }
  }
}

}  // namespace
}  // namespace coilwright::insulation
