// Surge levels: IEC 60034-15 and IEEE 522 as quoted in public, practice for low voltage.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "standards/errors.h"
#include "standards/rules.h"
#include "testing/withstand.h"

namespace coilwright::testing {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

SurgeLevel LevelOf(const SurgeCase& c) {
  const auto level = SurgeLevelFor(c);
  EXPECT_TRUE(level.ok()) << level.status();
  return level.value_or(SurgeLevel{});
}

SurgeCase FormWound(double volts, FormWoundSurge rule, bool in_service = false) {
  SurgeCase c;
  c.rated_volts = volts;
  c.form_wound = true;
  c.form_wound_rule = rule;
  c.in_service = in_service;
  return c;
}

SurgeCase RandomWound(double volts, double ac_withstand) {
  SurgeCase c;
  c.rated_volts = volts;
  c.ac_withstand_volts_rms = ac_withstand;
  return c;
}

struct Row {
  const char* source;
  double rated;
  FormWoundSurge rule;
  bool in_service;
  double kilovolts, tolerance;
};

TEST(Surge, PublishedFormWoundLevels) {
  using R = FormWoundSurge;
  for (const Row& row : {
           Row{"IEC 60034-15:2009, 0.65 (4U + 5)", 4160, R::kIec60034_15_2009, false, 14.07, 0.01},
           {"IEC 60034-15:2009 Table 1, whole kV", 4000, R::kIec60034_15_2009, false, 14, 0.5},
           {"IPST 2007 (Vollet, de Metz-Noblat), 11 kV", 11000, R::kIec60034_15_2009, false, 31.85, 0.005},
           {"the same formula", 6600, R::kIec60034_15_2009, false, 20.41, 0.005},
           {"the same formula", 13800, R::kIec60034_15_2009, false, 39.13, 0.005},
           {"2/2199/CDV (draft), 4 kV", 4000, R::kIec60034_15_2025Draft, false, 11.4, 0.05},
           {"2/2199/CDV (draft), at least 5.6 kV", 1000, R::kIec60034_15_2025Draft, false, 5.6, 1e-9},
           {"IEEE 522, 3.5 pu", 4160, R::kIeee522, false, 11.89, 0.01},
           {"IEEE 522, 3.5 pu", 2300, R::kIeee522, false, 6.573, 0.001},
           {"IEEE 522, 3.5 pu", 6600, R::kIeee522, false, 18.861, 0.001},
           {"IEEE 522, 3.5 pu", 13800, R::kIeee522, false, 39.437, 0.001},
           {"IEEE 522-2023 in service 75 %", 4160, R::kIeee522, true, 8.92, 0.01},
       }) {
    const SurgeLevel level = LevelOf(FormWound(row.rated, row.rule, row.in_service));
    EXPECT_NEAR(level.volts_peak / 1000, row.kilovolts, row.tolerance) << row.source;
    EXPECT_FALSE(level.capped) << row.source;
    EXPECT_TRUE(level.standard) << row.source;
  }
}

TEST(Surge, EditionsAreNamedBesideEachOther) {
  const SurgeLevel level = LevelOf(FormWound(4160, FormWoundSurge::kIec60034_15_2009));
  EXPECT_THAT(level.notes, Contains(HasSubstr("IEEE 522 (1992, 2004, 2023) would ask")));
  EXPECT_THAT(level.notes, Contains(HasSubstr("2/2199/CDV")));
  EXPECT_EQ(level.rise_time_us, 0.2);
}

// Range 3 to 15 kV, from memory.
TEST(Surge, Iec2009KeepsItsRange) {
  const auto status = [](double volts) {
    return SurgeLevelFor(FormWound(volts, FormWoundSurge::kIec60034_15_2009)).status();
  };
  EXPECT_TRUE(absl::IsFailedPrecondition(status(2999)));
  EXPECT_TRUE(status(3000).ok());
  EXPECT_TRUE(status(15000).ok());
  EXPECT_TRUE(absl::IsFailedPrecondition(status(15001)));
  EXPECT_TRUE(SurgeLevelFor(FormWound(2300, FormWoundSurge::kIeee522)).ok());
}

// Public notes on makers' literature: 460 V gets 1920 V peak. Common practice, no standard.
TEST(Surge, LowVoltagePractice) {
  const SurgeLevel level = LevelOf(RandomWound(460, 1920));
  EXPECT_NEAR(level.volts_peak, 1920, 1e-9);
  EXPECT_FALSE(level.standard);
  EXPECT_FALSE(level.capped);
  EXPECT_EQ(level.rule, rules::practice_surge_low_voltage);
  EXPECT_EQ(standards::FindRule(level.rule)->standing, standards::Standing::kCommonPractice);
}

// Never above the peak of the AC test: a 230 V motor tested at the 1000 V of NEMA MG 1 gets 1414 V, not 1460 V.
TEST(Surge, TheCapWinsAndIsSaid) {
  const SurgeLevel capped = LevelOf(RandomWound(230, 1000));
  EXPECT_TRUE(capped.capped);
  EXPECT_NEAR(capped.volts_peak, 1414.2135623731, 1e-9);
  EXPECT_THAT(capped.formula, HasSubstr("held down"));
  EXPECT_EQ(capped.rule, rules::practice_surge_cap);
  const double just_enough = 1460 / std::sqrt(2.0);
  EXPECT_FALSE(LevelOf(RandomWound(230, just_enough * 1.0000001)).capped);
  EXPECT_TRUE(LevelOf(RandomWound(230, just_enough * 0.9999999)).capped);
  for (double volts = 1; volts <= 1000; volts *= 1.1) {
    for (const double ac : {300.0, 1000.0, 1500.0, 3000.0}) {
      SurgeCase c = RandomWound(volts, ac);
      const double new_volts = LevelOf(c).volts_peak;
      EXPECT_LE(new_volts, std::sqrt(2.0) * ac + 1e-9);
      c.in_service = true;
      EXPECT_LE(LevelOf(c).volts_peak, new_volts);
    }
  }
}

TEST(Surge, WrongInputIsNamed) {
  for (const double volts : {std::nan(""), 0.0, -1.0, 1e300, std::numeric_limits<double>::infinity()}) {
    EXPECT_EQ(standards::FieldErrorsOf(SurgeLevelFor(RandomWound(volts, 0)).status()).size(), 2u) << volts;
    EXPECT_EQ(standards::FieldErrorsOf(SurgeLevelFor(FormWound(volts, FormWoundSurge::kIeee522)).status()).size(), 1u);
  }
  EXPECT_EQ(standards::FieldErrorsOf(SurgeLevelFor(RandomWound(230, std::nan(""))).status()).front().field,
            "ac_withstand_volts_rms");
}

// A used winding is never pulsed above what its own AC test would do, whatever edition is chosen for new coils.
TEST(Surge, AUsedFormWoundWindingGoesByIeee522BelowItsAcPeak) {
  for (const FormWoundSurge rule :
       {FormWoundSurge::kIec60034_15_2009, FormWoundSurge::kIec60034_15_2025Draft, FormWoundSurge::kIeee522}) {
    // 75 % of 3.5 sqrt(2/3) 4160 V, IEEE 522 as quoted in public.
    EXPECT_NEAR(LevelOf(FormWound(4160, rule, true)).volts_peak, 8916, 1);
    SurgeCase capped = FormWound(4160, rule, true);
    capped.ac_withstand_volts_rms = 6058;  // 65 % of 2 x 4160 V + 1000 V, ANSI/EASA AR100 (from memory)
    EXPECT_NEAR(LevelOf(capped).volts_peak, std::sqrt(2.0) * 6058, 0.5);
    EXPECT_TRUE(LevelOf(capped).capped);
  }
}

TEST(Surge, EverythingButNewAndRewoundCountsAsUsed) {
  for (const auto& [condition, used] : {std::pair{Condition::kNew, false},
                                        {Condition::kFullyRewound, false},
                                        {Condition::kBeforeTreatment, false},
                                        {Condition::kReconditioned, true},
                                        {Condition::kRepeat, true},
                                        {Condition::kPartlyRewound, true}}) {
    EXPECT_EQ(SurgeCaseFor({400, 3.0, condition, Family::kAr100}, 1000, false, {}).in_service, used);
  }
}

TEST(Surge, AUsedRandomWindingGetsNoMoreThanThreeQuartersOfItsNewLevel) {
  for (const double volts : {24.0, 48.0, 90.0, 230.0, 400.0, 690.0}) {
    const WithstandCase as_new = {volts, 0.3, Condition::kFullyRewound, Family::kIec60034};
    const double new_ac = WithstandLevels(as_new)->ac.volts;
    WithstandCase old = as_new;
    old.condition = Condition::kReconditioned;
    const SurgeLevel used = LevelOf(SurgeCaseFor(old, WithstandLevels(old)->ac.volts, false, {}));
    EXPECT_LE(used.volts_peak, 0.75 * LevelOf(RandomWound(volts, new_ac)).volts_peak + 1e-9) << volts;
  }
}

// Common practice, no source: random windings to about 1 kV, by some to 2.3 kV.
TEST(Surge, DoubtsARandomWindingOfVoltsItIsNotMadeFor) {
  for (const double volts : {24.0, 690.0, 1000.0}) EXPECT_FALSE(RandomWoundDoubt(volts)) << volts;
  EXPECT_THAT(RandomWoundDoubt(1000.5).value_or(""), HasSubstr("is rare"));
  EXPECT_THAT(RandomWoundDoubt(2300).value_or(""), HasSubstr("a random winding for 2300 V is rare"));
  EXPECT_THAT(RandomWoundDoubt(2301).value_or(""), HasSubstr("not made for 2301 V"));
  EXPECT_THAT(RandomWoundDoubt(50000).value_or(""), HasSubstr("not made for 50000 V"));
}

}  // namespace
}  // namespace coilwright::testing
