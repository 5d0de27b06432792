// An insulation run from readings to summary. Published figures by their sources; the rest against closed forms.
#include "insulation/run.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <malloc.h>

#include <cmath>
#include <cstdio>
#include <limits>

#include "insulation/simulated_run.h"
#include "standards/errors.h"
#include "standards/rules.h"

namespace coilwright::insulation {
namespace {

using ::testing::AllOf;
using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

RunSample At(double seconds, double megohms, double volts = 500) {
  RunSample sample;
  sample.seconds = seconds;
  sample.volts_dc = volts;
  sample.megohms = megohms;
  sample.winding_celsius = 40;
  return sample;
}

// Everything a run said on the way.
struct Told {
  std::vector<RunMark> marks;
  std::vector<Advice> advice;
  int refused = 0, refits = 0;
};

Told Play(InsulationRun& run, const std::vector<RunSample>& samples) {
  Told told;
  for (const RunSample& sample : samples) {
    RunUpdate update = run.Add(sample);
    told.refused += update.refused.has_value();
    told.refits += update.refitted;
    for (RunMark& mark : update.marks) told.marks.push_back(mark);
    for (Advice& advice : update.advice) told.advice.push_back(advice);
  }
  return told;
}

bool Said(const std::vector<Advice>& advice, AdviceKind kind) {
  for (const Advice& one : advice) {
    if (one.kind == kind) return true;
  }
  return false;
}

// Definition of the ratio: 300 megohms after 30 s and 400 after 60 s are 1.333. IEEE 43: 10 min over 1 min, and the
// winding earthed for 4 x the time of the test (from memory): 40 min after 10 min.
TEST(Run, MarksAndRatiosOfReadingsTakenByHand) {
  InsulationRun run = Started(FormWound());
  const Told told = Play(run, {At(30, 300), At(60, 400), At(600, 1000)});
  ASSERT_EQ(told.marks.size(), 3);
  EXPECT_EQ(*told.marks[0].megohms, 300);
  EXPECT_FALSE(told.marks[1].interpolated);
  const RunSummary summary = run.Finish();
  EXPECT_NEAR(*summary.absorption_ratio.value, 1.333, 0.001);
  EXPECT_NEAR(*summary.polarization_index.value, 2.5, 1e-12);
  EXPECT_EQ(*summary.polarization_index.minimum, 2.0);
  EXPECT_EQ(summary.discharge_seconds, 40 * 60);
  EXPECT_FALSE(summary.fit.has_value());
  ASSERT_TRUE(summary.judged.has_value());
  EXPECT_EQ(summary.judged->verdict, Verdict::kPass);
}

// IEEE 43 12.3, from memory: one phase at 30 megohms counts 15 with the others earthed and 10 with them guarded.
TEST(Run, APhaseStandsForTheWholeWinding) {
  for (const auto& [others, megohms] : {std::pair<OtherPhases, double>{OtherPhases::kEarthed, 15},
                                        {OtherPhases::kGuarded, 10},
                                        {OtherPhases::kTogether, 30}}) {
    RunCase c = FormWound();
    c.others = others;
    InsulationRun run = Started(c);
    const Told told = Play(run, {At(60, 30)});
    EXPECT_DOUBLE_EQ(*told.marks.back().megohms_40c, megohms);
    // The minimum in the terms of the reading: of one phase alone two and three times that of the winding.
    EXPECT_DOUBLE_EQ(*told.marks.back().minimum_megohms_as_read, run.Now().limits.minimum_megohms * 30 / megohms);
    EXPECT_DOUBLE_EQ(*run.Now().megohms_40c, megohms);
  }
}

// IEEE 43 12.2, from memory: 6200 megohms at 40 C, index 1.3: disregarded. 2013, 5.4: none on a random winding.
TEST(Run, TheIndexIsLeftOutWhereItMeansNothing) {
  InsulationRun run = Started(FormWound());
  Play(run, {At(60, 6200), At(600, 8060)});
  EXPECT_FALSE(run.Now().polarization_index.applies);
  RunCase random = FormWound();
  random.judgement.megohm.kind = WindingKind::kRandomWound;
  InsulationRun wound = Started(random);
  Play(wound, {At(60, 400), At(600, 1000)});
  EXPECT_FALSE(wound.Now().polarization_index.applies);
  EXPECT_THAT(wound.Now().polarization_index.reason, HasSubstr("within seconds"));
}

// Megohms of a power law are straight in the logarithms: the marks are exact wherever the readings fall.
TEST(Run, MarksOfAPowerLawAreExact) {
  SimulatedRun play;
  play.absorption_microamps = 20;
  play.conduction_microamps = 0;
  play.charge_microamps = 0;
  play.scatter_ratio = 0;
  play.interval_seconds = 0.7;
  InsulationRun run = Started(FormWound());
  const Told told = Play(run, play.Samples());
  ASSERT_EQ(told.marks.size(), 3);
  for (const RunMark& mark : told.marks) {
    EXPECT_TRUE(mark.interpolated);
    EXPECT_NEAR(*mark.megohms, play.volts / play.Microamps(mark.seconds), 1e-9 * *mark.megohms) << mark.seconds;
  }
  EXPECT_NEAR(*run.Now().polarization_index.value, std::pow(10, 0.8), 1e-6);
}

// Halving per 10 K: 200 megohms at 20 C are 50 at 40 C (published with IEEE 43-2013).
TEST(Run, CorrectsEveryMarkByItsTemperature) {
  RunCase c = FormWound();
  c.judgement.family = InsulationFamily::kThermoplastic;
  InsulationRun run = Started(c);
  RunSample cold = At(30, 200);
  cold.winding_celsius = 20;
  RunSample warm = At(60, 25);
  warm.winding_celsius = 50;
  const Told told = Play(run, {cold, warm});
  EXPECT_DOUBLE_EQ(*told.marks[0].megohms_40c, 50);
  EXPECT_DOUBLE_EQ(*told.marks[1].megohms_40c, 50);
  const double minimum = run.Now().limits.minimum_megohms;
  EXPECT_DOUBLE_EQ(*told.marks[0].minimum_megohms_as_read, 4 * minimum);
  EXPECT_DOUBLE_EQ(*told.marks[1].minimum_megohms_as_read, minimum / 2);
}

// Ohm: 500 V and 2 uA are 250 megohms.
TEST(Run, AReadingIsMegohmsHoweverItWasGiven) {
  RunSample sample;
  sample.volts_dc = 500;
  EXPECT_FALSE(MegohmsOf(sample).has_value());
  sample.microamps = 0;
  EXPECT_FALSE(MegohmsOf(sample).has_value());
  sample.microamps = 2;
  EXPECT_DOUBLE_EQ(*MegohmsOf(sample), 250);
  sample.megohms = 251;
  EXPECT_DOUBLE_EQ(*MegohmsOf(sample), 251);
  EXPECT_TRUE(MayBeTheSame(100, 119));
  EXPECT_TRUE(MayBeTheSame(119, 100));
  EXPECT_FALSE(MayBeTheSame(100, 121));
}

TEST(Run, NothingIsCorrectedOutsideTheRule) {
  InsulationRun run = Started(FormWound());
  RunSample cold = At(60, 200);
  cold.winding_celsius = 9;
  const Told told = Play(run, {cold});
  EXPECT_FALSE(told.marks.back().megohms_40c.has_value());
  EXPECT_FALSE(told.marks.back().minimum_megohms_as_read.has_value());
  EXPECT_THAT(told.advice, Contains(AllOf(Field(&Advice::kind, AdviceKind::kNotCorrected),
                                          Field(&Advice::rule, rules::ieee43_correction_thermosetting))));
  EXPECT_EQ(run.Finish().judged->verdict, Verdict::kNotValid);
  RunCase old = FormWound();
  old.judgement.family = InsulationFamily::kThermoplastic;
  InsulationRun thermoplastic = Started(old);
  EXPECT_THAT(Play(thermoplastic, {cold}).advice,
              Contains(AllOf(Field(&Advice::kind, AdviceKind::kNotCorrected),
                             Field(&Advice::rule, rules::shop_correction_thermoplastic))));
}

TEST(Run, ReadingsOverRangeStayInequalities) {
  InsulationRun run = Started(FormWound());
  std::vector<RunSample> samples = {At(30, 2000), At(60, 2000), At(600, 2000)};
  for (RunSample& sample : samples) sample.over_range = true;
  const Told told = Play(run, samples);
  for (const RunMark& mark : told.marks) EXPECT_TRUE(mark.at_least);
  const RunSummary summary = run.Finish();
  EXPECT_TRUE(summary.at_least);
  EXPECT_FALSE(summary.polarization_index.value.has_value());
  EXPECT_FALSE(summary.absorption_ratio.value.has_value());
  EXPECT_FALSE(summary.fit.has_value());
  EXPECT_TRUE(summary.judged->at_least);
  EXPECT_EQ(summary.over_range, 3);
}

// Between "more than 800" and 900 the reading at the mark is at least 800.
TEST(Run, AMarkBesideAReadingOverRangeIsTheLowerBound) {
  InsulationRun run = Started(FormWound());
  RunSample over = At(58, 800);
  over.over_range = true;
  const Told told = Play(run, {over, At(62, 900)});
  EXPECT_EQ(*told.marks.back().megohms, 800);
  EXPECT_TRUE(told.marks.back().at_least);
}

TEST(Run, WrongReadingsAreRefusedOneByOneAndTheRunGoesOn) {
  const double nan = std::nan(""), infinity = std::numeric_limits<double>::infinity();
  InsulationRun run = Started(FormWound());
  EXPECT_FALSE(run.Add(At(10, 100)).refused.has_value());
  EXPECT_EQ(run.Add(At(10, 100)).refused->refusal, Refusal::kRepeated);
  EXPECT_EQ(run.Add(At(9, 100)).refused->refusal, Refusal::kOutOfOrder);
  std::vector<RunSample> wrong(12, At(11, 100));
  wrong[0].seconds = nan;
  wrong[1].seconds = infinity;
  wrong[2].seconds = 0;
  wrong[3].seconds = 1.1e6;
  wrong[4].volts_dc = nan;
  wrong[5].volts_dc = 1e-300;
  wrong[6].megohms = -1;
  wrong[7].megohms = nan;
  wrong[8].megohms.reset();
  wrong[9].microamps = 0;
  wrong[10].winding_celsius = nan;
  wrong[11].winding_celsius = 400;
  for (size_t i = 0; i < wrong.size(); ++i) {
    const RunUpdate update = run.Add(wrong[i]);
    ASSERT_TRUE(update.refused.has_value()) << i;
    EXPECT_EQ(update.refused->refusal, Refusal::kNotAReading) << i;
    EXPECT_FALSE(update.refused->field.empty() || update.refused->given.empty() || update.refused->accepted.empty())
        << i;
  }
  RunSample both = At(11, 100);
  both.microamps = 5.2;  // 96 megohms
  EXPECT_FALSE(run.Add(both).refused.has_value());
  both.seconds = 12;
  both.microamps = 5.3;  // 94
  EXPECT_EQ(run.Add(both).refused->refusal, Refusal::kContradictory);
  const RunSummary summary = run.Finish();
  EXPECT_EQ(summary.samples, 2);
  EXPECT_EQ(summary.refused, 15);
  EXPECT_TRUE(run.Add(At(20, 100)).refused.has_value()) << "after the end";
}

TEST(Run, WrongSetUpsNameEveryField) {
  RunCase c = FormWound();
  c.judgement.megohm.rated_volts = 0;
  c.charge_seconds = 0;
  c.test_volts_dc = std::nan("");
  c.winding_celsius = 1000;
  c.uncertainty_ratio = 2;
  const auto run = InsulationRun::Start(c);
  ASSERT_FALSE(run.ok());
  std::vector<std::string> fields;
  for (const standards::FieldError& error : standards::FieldErrorsOf(run.status())) fields.push_back(error.field);
  EXPECT_THAT(fields, ElementsAre("rated_volts", "test_volts_dc", "winding_temperature", "instrument.uncertainty_ratio",
                                  "charge_seconds"));
}

// A run that breaks off keeps what it had.
TEST(Run, BreakingOffKeepsWhatItHad) {
  SimulatedRun play;
  play.to_seconds = 200;
  InsulationRun run = Started(FormWound());
  Play(run, play.Samples());
  const RunSummary summary = run.Finish();
  EXPECT_EQ(summary.marks.size(), 2);
  EXPECT_TRUE(summary.absorption_ratio.value.has_value());
  EXPECT_FALSE(summary.polarization_index.value.has_value());
  ASSERT_TRUE(summary.fit.has_value());
  EXPECT_NEAR(summary.fit->exponent.value, play.exponent, 4 * summary.fit->exponent.standard_error);
  ASSERT_TRUE(summary.forecast.has_value());
  EXPECT_LE(summary.forecast->index.low, play.Index());
  EXPECT_GE(summary.forecast->index.high, play.Index());
  EXPECT_TRUE(Said(summary.advice, AdviceKind::kShortOfTime));
  EXPECT_NEAR(summary.discharge_seconds, 4 * summary.last_seconds, 1e-9);
  ASSERT_TRUE(summary.judged.has_value());
}

TEST(Run, AnEmptyRunHasNothing) {
  InsulationRun run = Started(FormWound());
  const RunSummary summary = run.Finish();
  EXPECT_EQ(summary.samples, 0);
  EXPECT_FALSE(summary.megohms.has_value());
  EXPECT_THAT(summary.marks, IsEmpty());
  EXPECT_EQ(summary.discharge_seconds, 0);
}

TEST(Run, TheLastReadingStandsForAMarkItMissesByLessThanTwoInAHundred) {
  InsulationRun run = Started(FormWound());
  Play(run, {At(30, 300), At(60, 400), At(589, 1000)});
  const RunSummary summary = run.Finish();
  ASSERT_EQ(summary.marks.size(), 3);
  EXPECT_THAT(summary.marks[2].reason, HasSubstr("589 s"));
  InsulationRun early = Started(FormWound());
  Play(early, {At(30, 300), At(60, 400), At(587, 1000)});
  EXPECT_EQ(early.Finish().marks.size(), 2);
}

TEST(Run, GapsAreNotedAndMarksAcrossThemAreMissing) {
  SimulatedRun play;
  std::vector<RunSample> samples = play.Samples(), kept;
  for (const RunSample& sample : samples) {
    if (sample.seconds < 40 || sample.seconds > 100) kept.push_back(sample);
  }
  InsulationRun run = Started(FormWound());
  const Told told = Play(run, kept);
  const RunSummary summary = run.Finish();
  EXPECT_EQ(summary.gaps, 1);
  EXPECT_NEAR(summary.longest_gap_from_seconds, 39.5, 1e-9);
  EXPECT_NEAR(summary.longest_gap_seconds, 61, 1e-9);
  EXPECT_TRUE(Said(told.advice, AdviceKind::kGap));
  EXPECT_FALSE(summary.marks[1].megohms.has_value());
  EXPECT_THAT(summary.marks[1].reason, HasSubstr("no reading between 39.5 s and 100.5 s"));
  EXPECT_EQ(summary.judged->verdict, Verdict::kNotValid);
  EXPECT_THAT(summary.judged->reason, HasSubstr("no reading between 39.5 s and 100.5 s"));
}

// A winding that cools by 0.5 K a minute: its current falls by the correction factor alone, no absorption at all. The
// ratio shows it, the ratio at 40 C does not, and the advice says what to expect.
TEST(Run, ACoolingWindingIsToldFromOneThatAbsorbs) {
  const auto factor = [](double celsius) { return To40Celsius(1, celsius, InsulationFamily::kThermosetting)->factor; };
  SimulatedRun play;
  play.absorption_microamps = 0;
  play.conduction_microamps = 1;
  play.scatter_ratio = 0.001;
  play.celsius = [](double t) { return 62 - 0.5 * t / 60; };
  play.factor = [&](double t) { return factor(62 - 0.5 * t / 60); };
  InsulationRun run = Started(FormWound());
  const Told told = Play(run, play.Samples());
  EXPECT_TRUE(Said(told.advice, AdviceKind::kTemperatureDrift));
  const RunSummary summary = run.Finish();
  const double false_ratio = factor(61.5) / factor(57);
  EXPECT_NEAR(summary.drift->kelvin_per_minute, -0.5, 1e-6);
  EXPECT_NEAR(summary.drift->false_index_ratio, false_ratio, 0.003 * false_ratio);
  EXPECT_NEAR(*summary.polarization_index.value, false_ratio, 0.01);
  EXPECT_NEAR(*summary.index_at_40c, 1, 0.01);
}

TEST(Run, ASteadyTemperatureIsNoDrift) {
  SimulatedRun play;
  InsulationRun run = Started(FormWound());
  EXPECT_FALSE(Said(Play(run, play.Samples()).advice, AdviceKind::kTemperatureDrift));
  EXPECT_NEAR(run.Finish().drift->false_index_ratio, 1, 1e-9);
}

TEST(Run, RatiosDoNotCountWhereTheVoltageWasNotConstant) {
  SimulatedRun play;
  std::vector<RunSample> samples = play.Samples();
  for (RunSample& sample : samples) {
    if (sample.seconds > 100 && sample.seconds < 110) sample.volts_dc *= 1.03;
  }
  InsulationRun run = Started(FormWound());
  const Told told = Play(run, samples);
  EXPECT_TRUE(Said(told.advice, AdviceKind::kVoltageNotConstant));
  const RunSummary summary = run.Finish();
  EXPECT_FALSE(summary.polarization_index.applies);
  EXPECT_FALSE(summary.polarization_index.value.has_value());
  EXPECT_FALSE(summary.stop);
  for (RunSample& sample : samples) {
    if (sample.seconds > 100 && sample.seconds < 110) sample.volts_dc *= 1.019 / 1.03;
  }
  InsulationRun within = Started(FormWound());
  EXPECT_FALSE(Said(Play(within, samples).advice, AdviceKind::kVoltageNotConstant));
}

TEST(Run, AVoltageThatIsNotTheOneOfTheRuleIsSaid) {
  SimulatedRun play;
  play.volts = 1000;  // the rule asks 500 V below 1000 V rated
  InsulationRun run = Started(FormWound());
  EXPECT_TRUE(Said(Play(run, play.Samples()).advice, AdviceKind::kTestVoltage));
  EXPECT_EQ(run.Finish().judged->verdict, Verdict::kNotValid);
  play.volts = 500;
  RunCase set = FormWound();
  set.test_volts_dc = 560;
  InsulationRun other = Started(set);
  EXPECT_TRUE(Said(Play(other, play.Samples()).advice, AdviceKind::kTestVoltage));
}

// Readings brought in other portions cannot matter to a run that takes them one by one; what could is when it is asked.
TEST(Run, AskingOnTheWayChangesNothing) {
  SimulatedRun play;
  play.scatter_ratio = 0.02;
  InsulationRun quiet = Started(FormWound()), asked = Started(FormWound());
  for (const RunSample& sample : play.Samples()) {
    quiet.Add(sample);
    asked.Add(sample);
    asked.Now();
  }
  const RunSummary a = quiet.Finish(), b = asked.Finish();
  EXPECT_EQ(a.fit->exponent.value, b.fit->exponent.value);
  EXPECT_EQ(*a.polarization_index.value, *b.polarization_index.value);
  EXPECT_EQ(a.marks.size(), b.marks.size());
}

// 2000 readings a second for an hour: the record does not grow with them.
TEST(Run, MemoryDoesNotGrowWithTheReadings) {
  {
    InsulationRun first = Started(FormWound());  // what all runs share is read once
    Play(first, SimulatedRun().Samples());
    first.Finish();
  }
  const size_t before = mallinfo2().uordblks;
  InsulationRun run = Started(FormWound());
  SimulatedRun play;
  RunSample sample = At(0, 1);
  for (int i = 1; i <= 7200000; ++i) {
    sample.seconds = i / 2000.0;
    sample.megohms = play.volts / play.Microamps(sample.seconds);
    run.Add(sample);
  }
  const size_t bytes = sizeof(run) + mallinfo2().uordblks - before;
  std::printf("a run holds %zu bytes, %zu of them the object\n", bytes, sizeof(run));
  EXPECT_LT(bytes, 50000);
  const RunSummary summary = run.Finish();
  EXPECT_EQ(summary.samples, 7200000);
  EXPECT_LE(summary.fit->bins, 48 * 6);
  EXPECT_LE(summary.advice.size(), 24);
  EXPECT_NEAR(summary.fit->exponent.value, play.exponent, 1e-3);
}

TEST(Run, EveryRuleItNamesIsInTheRegistry) {
  SimulatedRun play;
  InsulationRun run = Started(FormWound());
  Play(run, play.Samples());
  const RunSummary summary = run.Finish();
  EXPECT_THAT(summary.rules, Contains(rules::run_absorption_law));
  for (const absl::string_view rule : summary.rules) EXPECT_NE(standards::FindRule(rule), nullptr) << rule;
}

}  // namespace
}  // namespace coilwright::insulation
