// Verdicts on megohm readings. Corrections to 40 C by the formulas recalled from IEEE 43-2013, 6.3 (constants from
// memory), recomputed here; minima by IEEE 43-2013, Table 3 (5 megohms random wound, 100 formed coils from 1 kV); dew
// point against the psychrometric table value of 20 C at 50 % (9.3 C, printed in any meteorology handbook).
#include "insulation/judgement.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

#include "standards/errors.h"
#include "standards/rules.h"

namespace coilwright::insulation {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::IsSupersetOf;
using ::testing::Not;

// A 400 V random-wound winding: test voltage 500 V, minimum 5 megohms.
JudgementCase RandomWound() {
  JudgementCase c;
  c.megohm.rated_volts = 400;
  c.megohm.rated_kw = 3;
  return c;
}

MegohmReading At40(double megohms) {
  MegohmReading reading;
  reading.megohms_60s = megohms;
  return reading;
}

JudgedReading JudgeSingle(const JudgementCase& c, const MegohmReading& reading) {
  const absl::StatusOr<Judgement> judgement = Judge(c, {reading});
  EXPECT_TRUE(judgement.ok()) << judgement.status();
  return judgement->readings.at(0);
}

double ThermosettingFactor(double celsius) {
  const double constant = celsius <= 40 ? 1245 : 4230;
  return std::exp(-constant * (1 / (celsius + 273) - 1.0 / 313));
}

TEST(Judgement, BothSidesOfTheMinimum) {
  EXPECT_EQ(JudgeSingle(RandomWound(), At40(5.0)).verdict, Verdict::kPass);
  EXPECT_EQ(JudgeSingle(RandomWound(), At40(4.999)).verdict, Verdict::kFail);
  JudgementCase formed = RandomWound();
  formed.megohm.kind = WindingKind::kFormWound;
  formed.megohm.rated_volts = 1000;
  EXPECT_EQ(JudgeSingle(formed, At40(100)).verdict, Verdict::kPass);
  EXPECT_EQ(JudgeSingle(formed, At40(99.9)).verdict, Verdict::kFail);
}

TEST(Judgement, StandardAndShopAreTwoLevels) {
  const JudgedReading low = JudgeSingle(RandomWound(), At40(99.9));
  EXPECT_EQ(low.verdict, Verdict::kPass);
  EXPECT_FALSE(low.meets_shop_expectation);
  EXPECT_THAT(low.reason, HasSubstr("below what the shop expects"));
  EXPECT_TRUE(JudgeSingle(RandomWound(), At40(100)).meets_shop_expectation);
}

// Before about 1970 the old kV + 1 holds: 1.4 megohms at 400 V.
TEST(Judgement, AnOldWindingHasTheOldMinimum) {
  JudgementCase c = RandomWound();
  c.megohm.built_year = 1965;
  EXPECT_EQ(JudgeSingle(c, At40(1.41)).verdict, Verdict::kPass);
  EXPECT_EQ(JudgeSingle(c, At40(1.39)).verdict, Verdict::kFail);
}

TEST(Judgement, TheGuardBandLiesOnBothSidesOfTheMinimum) {
  MegohmReading reading = At40(5.0);
  reading.uncertainty_ratio = 0.10;
  EXPECT_EQ(JudgeSingle(RandomWound(), reading).verdict, Verdict::kMarginal);
  reading.megohms_60s = 5.0 / 0.9 + 1e-9;  // value - U just above
  EXPECT_EQ(JudgeSingle(RandomWound(), reading).verdict, Verdict::kPass);
  reading.megohms_60s = 5.0 / 0.9 - 1e-6;
  EXPECT_EQ(JudgeSingle(RandomWound(), reading).verdict, Verdict::kMarginal);
  reading.megohms_60s = 5.0 / 1.1 + 1e-6;  // value + U just above
  EXPECT_EQ(JudgeSingle(RandomWound(), reading).verdict, Verdict::kMarginal);
  reading.megohms_60s = 5.0 / 1.1 - 1e-6;
  const JudgedReading fail = JudgeSingle(RandomWound(), reading);
  EXPECT_EQ(fail.verdict, Verdict::kFail);
  EXPECT_THAT(fail.rules, Contains(rules::shop_megohm_guard_band));
}

TEST(Judgement, NoWithstandBeforeAPass) {
  MegohmReading marginal = At40(5.0);
  marginal.uncertainty_ratio = 0.10;
  EXPECT_THAT(JudgeSingle(RandomWound(), marginal).reason, HasSubstr("no withstand"));
  EXPECT_THAT(JudgeSingle(RandomWound(), At40(1)).reason, HasSubstr("No withstand"));
}

TEST(Judgement, CorrectedAtTheEndsOfTheRangeAndNotBeyond) {
  for (const double celsius : {10.0, 20.0, 39.9, 40.0, 40.1, 85.0}) {
    MegohmReading reading = At40(1000);
    reading.winding_celsius = celsius;
    const JudgedReading judged = JudgeSingle(RandomWound(), reading);
    EXPECT_EQ(judged.verdict, Verdict::kPass) << celsius;
    EXPECT_NEAR(*judged.factor, ThermosettingFactor(celsius), 1e-12) << celsius;
    EXPECT_NEAR(*judged.megohms_40c, 1000 * ThermosettingFactor(celsius), 1e-9) << celsius;
  }
  for (const double celsius : {9.9, 85.1, -10.0, 120.0}) {
    MegohmReading reading = At40(1000);
    reading.winding_celsius = celsius;
    const JudgedReading judged = JudgeSingle(RandomWound(), reading);
    EXPECT_EQ(judged.verdict, Verdict::kNotValid) << celsius;
    EXPECT_FALSE(judged.megohms_40c.has_value()) << "nothing is extrapolated";
    EXPECT_THAT(judged.reason, HasSubstr("nothing is extrapolated"));
  }
}

// 15 megohms at 20 C: 11.4 thermosetting (pass), 3.75 thermoplastic (fail). The family belongs on the paper.
TEST(Judgement, TheInsulationFamilyDecidesAtTwentyDegrees) {
  MegohmReading reading = At40(15);
  reading.winding_celsius = 20;
  JudgementCase c = RandomWound();
  const JudgedReading setting = JudgeSingle(c, reading);
  c.family = InsulationFamily::kThermoplastic;
  const JudgedReading plastic = JudgeSingle(c, reading);
  EXPECT_EQ(setting.verdict, Verdict::kPass);
  EXPECT_EQ(plastic.verdict, Verdict::kFail);
  EXPECT_NEAR(*plastic.megohms_40c, 15.0 / 4, 1e-12);  // two halvings of 10 K
  EXPECT_NEAR(*setting.factor / *plastic.factor, 3.05, 0.02);
  const absl::StatusOr<Judgement> judgement = Judge(c, {reading});
  EXPECT_THAT(judgement->notes, Contains(HasSubstr("thermoplastic")));
}

// Others earthed: half, others guarded: a third of the reading stands for the winding (IEEE 43, from memory).
TEST(Judgement, PhaseReadingsStandForTheWholeWinding) {
  MegohmReading reading = At40(14.9);
  EXPECT_EQ(JudgeSingle(RandomWound(), reading).verdict, Verdict::kPass);
  reading.others = OtherPhases::kEarthed;
  EXPECT_NEAR(*JudgeSingle(RandomWound(), reading).megohms_40c, 7.45, 1e-12);
  reading.others = OtherPhases::kGuarded;
  const JudgedReading guarded = JudgeSingle(RandomWound(), reading);
  EXPECT_EQ(guarded.verdict, Verdict::kFail);
  EXPECT_NEAR(*guarded.megohms_40c, 14.9 / 3, 1e-12);
  EXPECT_THAT(guarded.rules, Contains(rules::ieee43_phase_reading));
}

TEST(Judgement, MoreThanIsALowerBound) {
  MegohmReading reading = At40(2000);
  reading.over_range = true;
  reading.uncertainty_ratio = 0.5;
  const JudgedReading above = JudgeSingle(RandomWound(), reading);
  EXPECT_EQ(above.verdict, Verdict::kPass);
  EXPECT_TRUE(above.at_least);
  reading.megohms_60s = 4.9;
  const JudgedReading below = JudgeSingle(RandomWound(), reading);
  EXPECT_EQ(below.verdict, Verdict::kNotValid);
  EXPECT_THAT(below.reason, HasSubstr("higher range"));
}

// "More than 2000" over 1500 is no ratio; it would have been printed as 1.33.
TEST(Judgement, ALowerBoundIsNoTermOfARatio) {
  MegohmReading reading = At40(2000);
  reading.megohms_30s = 1500;
  reading.megohms_600s = 2000;
  JudgementCase c = RandomWound();
  c.megohm.kind = WindingKind::kFormWound;
  EXPECT_NEAR(*JudgeSingle(c, reading).absorption_ratio.value, 4.0 / 3, 1e-12);
  EXPECT_NEAR(*JudgeSingle(c, reading).polarization_index.value, 1.0, 1e-12);
  reading.over_range = true;
  EXPECT_FALSE(JudgeSingle(c, reading).absorption_ratio.value.has_value());
  EXPECT_FALSE(JudgeSingle(c, reading).polarization_index.value.has_value());
}

TEST(Judgement, NoPolarizationIndexForRandomWindings) {
  MegohmReading reading = At40(500);
  reading.megohms_600s = 1500;
  EXPECT_FALSE(JudgeSingle(RandomWound(), reading).polarization_index.applies);
}

TEST(Judgement, TheTestVoltageMayBeTenPercentOff) {
  for (const auto& [volts, valid] :
       std::vector<std::pair<double, bool>>{{450, true}, {449, false}, {550, true}, {551, false}, {1000, false}}) {
    MegohmReading reading = At40(200);
    reading.test_volts_dc = volts;
    const JudgedReading judged = JudgeSingle(RandomWound(), reading);
    EXPECT_EQ(judged.verdict, valid ? Verdict::kPass : Verdict::kNotValid) << volts;
    EXPECT_THAT(judged.rules, Contains(rules::ieee43_test_voltage));
    EXPECT_EQ(judged.reason.find("the rule asks for 500") != std::string::npos, !valid) << judged.reason;
  }
}

// Air of 20 C and 50 %: dew point 9.3 C. Air of 30 C and 80 %: 26.2 C, so a cold stator sweats.
TEST(Judgement, AWindingAtTheDewPointIsNotJudged) {
  JudgementCase c = RandomWound();
  c.air_celsius = 30;
  c.relative_humidity_percent = 80;
  MegohmReading reading = At40(200);
  reading.winding_celsius = 22;
  const absl::StatusOr<Judgement> cold = Judge(c, {reading});
  EXPECT_NEAR(*cold->dew_point_celsius, 26.2, 0.1);
  EXPECT_EQ(cold->readings[0].verdict, Verdict::kNotValid);
  EXPECT_THAT(cold->readings[0].rules, Contains(rules::meteorology_dew_point));
  reading.winding_celsius = *cold->dew_point_celsius;
  EXPECT_EQ(JudgeSingle(c, reading).verdict, Verdict::kNotValid) << "at the dew point";
  reading.winding_celsius = *cold->dew_point_celsius + 0.1;
  const absl::StatusOr<Judgement> near = Judge(c, {reading});
  EXPECT_EQ(near->readings[0].verdict, Verdict::kPass);
  EXPECT_THAT(near->notes, Contains(HasSubstr("above the dew point")));
  reading.winding_celsius = *cold->dew_point_celsius + 3.1;
  EXPECT_THAT(Judge(c, {reading})->notes, Not(Contains(HasSubstr("above the dew point"))));
}

TEST(Judgement, DewPointOfAWorkshop) {
  JudgementCase c = RandomWound();
  c.air_celsius = 20;
  c.relative_humidity_percent = 50;
  EXPECT_NEAR(*Judge(c, {At40(200)})->dew_point_celsius, 9.3, 0.05);
}

TEST(Judgement, BelowTheScopeItSaysSo) {
  JudgementCase c = RandomWound();
  c.megohm.rated_kw = 0.74;
  EXPECT_THAT(Judge(c, {At40(200)})->notes, Contains(HasSubstr("750 W")));
  c.megohm.rated_kw = 0.75;
  EXPECT_THAT(Judge(c, {At40(200)})->notes, Not(Contains(HasSubstr("750 W"))));
}

TEST(Judgement, AGoodReadingDoesNotMakeAWindingSound) {
  EXPECT_THAT(Judge(RandomWound(), {At40(5000)})->notes, Contains(HasSubstr("shorted turn")));
}

// Earth for four times the time the voltage was on (IEEE 43-2013, clause 4, from memory): 4 min, or 40 min.
TEST(Judgement, DischargeByTheLongestReading) {
  EXPECT_EQ(JudgeSingle(RandomWound(), At40(200)).discharge_seconds, 240);
  MegohmReading reading = At40(200);
  reading.megohms_600s = 300;
  EXPECT_EQ(JudgeSingle(RandomWound(), reading).discharge_seconds, 2400);
}

TEST(Judgement, ReadingsStayInTheirOrder) {
  const absl::StatusOr<Judgement> judgement = Judge(RandomWound(), {At40(200), At40(1), At40(6)});
  ASSERT_TRUE(judgement.ok());
  EXPECT_THAT(judgement->readings, ElementsAre(Field(&JudgedReading::verdict, Verdict::kPass),
                                               Field(&JudgedReading::verdict, Verdict::kFail),
                                               Field(&JudgedReading::verdict, Verdict::kPass)));
  EXPECT_TRUE(Judge(RandomWound(), {})->readings.empty());
}

// An uncertainty that is no number made every comparison false and the verdict "fail".
TEST(Judgement, EveryWrongReadingAtOnce) {
  MegohmReading bad = At40(-1);
  bad.uncertainty_ratio = std::numeric_limits<double>::quiet_NaN();
  MegohmReading wide = At40(10);
  wide.uncertainty_ratio = 0.51;
  const absl::StatusOr<Judgement> judgement = Judge(RandomWound(), {At40(10), bad, wide});
  ASSERT_EQ(judgement.status().code(), absl::StatusCode::kInvalidArgument);
  std::vector<std::string> fields;
  for (const standards::FieldError& error : standards::FieldErrorsOf(judgement.status())) fields.push_back(error.field);
  EXPECT_THAT(fields, ElementsAre("readings[1].insulation_megohms", "readings[1].instrument.uncertainty_ratio",
                                  "readings[2].instrument.uncertainty_ratio"));
}

TEST(Judgement, EveryRuleIsInTheRegistry) {
  JudgementCase c = RandomWound();
  c.air_celsius = 20;
  c.relative_humidity_percent = 50;
  MegohmReading reading = At40(20);
  reading.others = OtherPhases::kEarthed;
  reading.test_volts_dc = 500;
  const JudgedReading judged = JudgeSingle(c, reading);
  for (const absl::string_view rule : judged.rules) EXPECT_NE(standards::FindRule(rule), nullptr) << rule;
  EXPECT_THAT(judged.rules, IsSupersetOf({rules::ieee43_minimum_random_wound, rules::ieee43_discharge,
                                          rules::ieee43_correction_thermosetting}));
}

// A better reading never gets a worse verdict, and the corrected value is monotone in the reading.
TEST(Judgement, IsMonotoneInTheReading) {
  std::mt19937 random(20240611);
  std::uniform_real_distribution<double> celsius(10, 85), share(0, 0.3), decades(-1, 3);
  const auto rank = [](Verdict v) { return v == Verdict::kPass ? 2 : v == Verdict::kMarginal ? 1 : 0; };
  for (int i = 0; i < 500; ++i) {
    MegohmReading reading = At40(std::pow(10, decades(random)));
    reading.winding_celsius = celsius(random);
    reading.uncertainty_ratio = share(random);
    const JudgedReading low = JudgeSingle(RandomWound(), reading);
    reading.megohms_60s *= 1.3;
    const JudgedReading high = JudgeSingle(RandomWound(), reading);
    EXPECT_LE(rank(low.verdict), rank(high.verdict));
    EXPECT_NEAR(*high.megohms_40c / *low.megohms_40c, 1.3, 1e-9);
    EXPECT_NEAR(*low.margin_ratio, *low.megohms_40c / 5, 1e-12);
  }
}

// A meter on a winding that touches the frame shows nothing but zero: that is a finding, not a wrong entry.
TEST(Judgement, ZeroIsAnEarthFault) {
  const absl::StatusOr<Judgement> judgement = Judge(RandomWound(), {At40(0)});
  ASSERT_TRUE(judgement.ok()) << judgement.status();
  EXPECT_EQ(judgement->readings[0].verdict, Verdict::kFail);
  EXPECT_EQ(judgement->readings[0].megohms_40c, 0);
  EXPECT_THAT(judgement->readings[0].reason, HasSubstr("earth fault"));
}

}  // namespace
}  // namespace coilwright::insulation
