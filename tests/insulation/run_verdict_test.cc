// What a run comes to, and from when its time counts.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <functional>

#include "insulation/run.h"
#include "insulation/simulated_run.h"
#include "standards/rules.h"

namespace coilwright::insulation {
namespace {

using ::testing::AllOf;
using ::testing::AnyOf;
using ::testing::Contains;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::Not;

// A reading a second at 500 V and 40 C: megohms as a function of time.
std::vector<RunSample> Readings(double to_seconds, const std::function<double(double)>& megohms) {
  std::vector<RunSample> samples;
  for (double t = 1; t <= to_seconds; ++t) {
    RunSample sample;
    sample.seconds = t;
    sample.volts_dc = 500;
    sample.megohms = megohms(t);
    sample.winding_celsius = 40;
    samples.push_back(sample);
  }
  return samples;
}

RunSummary SummaryAfter(const std::vector<RunSample>& samples, const RunCase& c = FormWound()) {
  InsulationRun run = Started(c);
  for (const RunSample& sample : samples) EXPECT_FALSE(run.Add(sample).refused.has_value()) << sample.seconds;
  return run.Finish();
}

testing::Matcher<const RunSummary&> Comes(Verdict verdict, const std::string& reason) {
  return Field("judged", &RunSummary::judged,
               testing::Optional(AllOf(Field("verdict", &JudgedReading::verdict, verdict),
                                       Field("reason", &JudgedReading::reason, HasSubstr(reason)))));
}

// Minimum of a form-wound 690 V winding: 5 megohms at 40 C (IEEE 43 Table 3, from memory).
TEST(RunVerdict, AnEarthFaultFailsWhateverIsMissing) {
  for (const double megohms : {0.0, 0.002, 0.0099}) {
    for (const double seconds : {4.0, 69.0}) {
      const RunSummary summary = SummaryAfter(Readings(seconds, [=](double) { return megohms; }));
      EXPECT_THAT(summary, Comes(Verdict::kFail, "earth fault")) << megohms;
      EXPECT_THAT(summary.judged->rules, Contains(rules::run_failed));
      EXPECT_TRUE(summary.stop);
      EXPECT_FALSE(summary.absorption_ratio.applies);
      EXPECT_THAT(summary.absorption_ratio.reason, HasSubstr("broke down"));
      EXPECT_THAT(summary.advice, Not(Contains(Field(&Advice::kind, AdviceKind::kShortOfTime))));
    }
  }
  EXPECT_THAT(SummaryAfter(Readings(69, [](double t) { return t < 65 ? 1000.0 : 0.0; })),
              Comes(Verdict::kFail, "65 s"));
}

// A current that charges 10 uF shows t / C megohms: under 0.005 for its first 50 ms, which is no earth fault.
TEST(RunVerdict, AChargeIsNoEarthFault) {
  std::vector<RunSample> samples = Readings(70, [](double t) { return 100 * t; });
  RunSample charging = samples.front();
  charging.seconds = 0.04;
  charging.megohms = 0;
  samples.insert(samples.begin(), charging);
  EXPECT_THAT(SummaryAfter(samples), Comes(Verdict::kPass, "above the minimum"));
}

// What flows back once the voltage is gone, 10 uA at 0.05 V, is no resistance of the winding.
TEST(RunVerdict, ADischargeIsNoEarthFault) {
  RunCase steps = FormWound();
  steps.kind = RunKind::kStepVoltage;
  for (const RunCase& c : {FormWound(), steps}) {
    std::vector<RunSample> samples = Readings(75, [](double t) { return 100 * t; });
    for (RunSample& sample : samples) {
      if (sample.seconds <= 70) continue;
      sample.volts_dc = 0.05;
      sample.megohms = 0.005;
    }
    EXPECT_THAT(SummaryAfter(samples, c).advice, Not(Contains(Field(&Advice::kind, AdviceKind::kEarthFault))));
  }
}

TEST(RunVerdict, AFlashoverFailsBeforeTheMinuteAndAfterIt) {
  for (const double at : {10.0, 40.0, 100.0}) {
    // To 4 % of the voltage; to 80 %, where the instrument limits the current.
    for (const double share : {0.04, 0.8}) {
      std::vector<RunSample> samples = Readings(at + 5, [](double t) { return 100 * t; });
      for (RunSample& sample : samples) {
        if (sample.seconds < at) continue;
        sample.volts_dc *= share;
        *sample.megohms *= share / 10;
      }
      EXPECT_THAT(SummaryAfter(samples), Comes(Verdict::kFail, "a flashover")) << at << " s, " << share;
    }
  }
}

TEST(RunVerdict, OfAStepVoltageRunIsGivenWhereItBreaksDown) {
  RunCase c = FormWound();
  c.kind = RunKind::kStepVoltage;
  std::vector<RunSample> samples = Readings(130, [](double) { return 1000.0; });
  for (RunSample& sample : samples) sample.volts_dc = sample.seconds <= 60 ? 500 : 1000;
  EXPECT_FALSE(SummaryAfter(samples, c).judged.has_value());
  for (RunSample& sample : samples) {
    if (sample.seconds > 100) sample.megohms = 0.1;
  }
  EXPECT_THAT(SummaryAfter(samples, c), Comes(Verdict::kFail, "broke down"));
}

TEST(RunVerdict, AClimbThatEndsBelowTheMinimumFails) {
  const auto climbing = [](double end) {
    return Readings(200, [=](double t) { return t < 100 ? 1000 : 1000 * std::pow(end / 1000, (t - 100) / 100); });
  };
  EXPECT_THAT(SummaryAfter(climbing(0.058)), Comes(Verdict::kFail, "0.058 megohms at 40 C at the end"));
  EXPECT_THAT(SummaryAfter(climbing(20)), Comes(Verdict::kNotValid, "reason to stop"));
}

// Absorption falls as 1/t at most, so 0.5 megohm after 10 s are 3 after 60 s at best; 4 may become 24.
TEST(RunVerdict, MegohmsBelowTheMinimumThroughoutFailBeforeTheMinute) {
  const auto flat = [](double megohms, double seconds) { return Readings(seconds, [=](double) { return megohms; }); };
  EXPECT_THAT(SummaryAfter(flat(0.5, 40)), Comes(Verdict::kFail, "at every reading of the 40 s"));
  EXPECT_THAT(SummaryAfter(flat(4.9, 40)), Comes(Verdict::kFail, "4.9 megohms at 40 C at best"));
  EXPECT_THAT(SummaryAfter(flat(0.5, 10)), Comes(Verdict::kFail, "below the minimum"));
  EXPECT_THAT(SummaryAfter(flat(4, 10)), Comes(Verdict::kNotValid, "the run ended before"));
  EXPECT_THAT(SummaryAfter(flat(5.1, 40)), Comes(Verdict::kNotValid, "the run ended before"));
  // One reading above is not "throughout"; a wide uncertainty may reach the minimum.
  EXPECT_THAT(SummaryAfter(Readings(40, [](double t) { return t == 30 ? 6.0 : 0.5; })),
              Comes(Verdict::kNotValid, "ended"));
  RunCase wide = FormWound();
  wide.uncertainty_ratio = 0.1;
  EXPECT_THAT(SummaryAfter(flat(4.9, 40), wide), Comes(Verdict::kNotValid, "ended"));
}

// A meter at its greatest current holds no more than 50 V over 0.05 megohm.
TEST(RunVerdict, AMeterThatCannotHoldItsVoltageShowsALowInsulation) {
  for (const bool set : {false, true}) {
    RunCase c = FormWound();
    if (set) c.test_volts_dc = 500;
    std::vector<RunSample> samples = Readings(70, [](double) { return 0.05; });
    for (RunSample& sample : samples) sample.volts_dc = 50;
    EXPECT_THAT(SummaryAfter(samples, c), Comes(Verdict::kFail, "below the minimum")) << set;
  }
}

// Thermosetting, 85 C: factor 5.5 at most. Nothing is claimed not to have been sent that was.
TEST(RunVerdict, SaysWhatIsMissing) {
  std::vector<RunSample> samples = Readings(70, [](double) { return 3.0; });
  for (RunSample& sample : samples) sample.winding_celsius.reset();
  EXPECT_THAT(SummaryAfter(samples), Comes(Verdict::kNotValid, "temperature of the winding was not given"));
  for (RunSample& sample : samples) sample.megohms = 0.9;
  EXPECT_THAT(SummaryAfter(samples), Comes(Verdict::kFail, "were it at 85 C"));
  EXPECT_THAT(SummaryAfter(Readings(50, [](double) { return 100.0; })),
              Comes(Verdict::kNotValid, "no reading after 60 s: the run ended before"));
  EXPECT_FALSE(SummaryAfter({}).judged.has_value());
}

// 0 to 500 V at so many volts a second, then held `held` seconds; 20 uA of charge while it rises, absorption from
// there.
std::vector<RunSample> Ramp(double volts_per_second, double interval, double held) {
  std::vector<RunSample> samples;
  const double full = 500 / volts_per_second;
  for (int i = 1; i * interval <= full + held; ++i) {
    RunSample sample;
    sample.seconds = i * interval;
    sample.volts_dc = std::min(sample.seconds * volts_per_second, 500.0);
    sample.microamps = sample.seconds < full ? 20 : 2 * std::pow(sample.seconds - full + 1e-3, -0.8) + 0.02;
    sample.winding_celsius = 40;
    samples.push_back(sample);
  }
  return samples;
}

// The rule: full voltage within 2 % of the one that stands, and every mark from there.
TEST(RunRamp, MarksCountFromFullVoltageHoweverSlowTheRamp) {
  for (const double volts_per_second : {1.0, 2.5, 5.0, 10.0, 20.0, 100.0}) {
    for (const double interval : {0.1, 0.5, 1.0}) {
      for (const bool set : {false, true}) {
        RunCase c = FormWound();
        if (set) c.test_volts_dc = 500;
        const RunSummary summary = SummaryAfter(Ramp(volts_per_second, interval, 79), c);
        const double full = 500 / volts_per_second;
        ASSERT_TRUE(summary.full_voltage_seconds.has_value()) << volts_per_second;
        EXPECT_GE(*summary.full_voltage_seconds, 0.98 * full - 1e-9);
        EXPECT_LE(*summary.full_voltage_seconds, full + interval + 1e-9) << volts_per_second << " " << interval;
        ASSERT_EQ(summary.marks.size(), 2) << volts_per_second;
        EXPECT_DOUBLE_EQ(summary.marks[1].run_seconds, *summary.full_voltage_seconds + 60);
        const double since = summary.marks[1].run_seconds - full;
        EXPECT_NEAR(*summary.marks[1].megohms / (500 / (2 * std::pow(since, -0.8) + 0.02)), 1, 0.01);
        EXPECT_THAT(summary, Comes(Verdict::kPass, "above the minimum"));
        EXPECT_FALSE(summary.stop);
        EXPECT_THAT(summary.rules, Contains(rules::run_full_voltage));
        EXPECT_THAT(
            summary.advice,
            Not(Contains(Field(&Advice::kind, AnyOf(AdviceKind::kVoltageNotConstant, AdviceKind::kTestVoltage)))));
        EXPECT_NEAR(summary.discharge_seconds, 4 * summary.last_seconds, 1e-9);
      }
    }
  }
}

TEST(RunRamp, ARunAtItsVoltageFromTheFirstReadingCountsFromTheFirstVolt) {
  const RunSummary summary = SummaryAfter(SimulatedRun().Samples());
  EXPECT_EQ(summary.full_voltage_seconds, 0);
  for (const RunMark& mark : summary.marks) EXPECT_EQ(mark.run_seconds, mark.seconds);
  EXPECT_THAT(summary.rules, Not(Contains(rules::run_full_voltage)));
}

// Held at half the voltage for a minute on the way: the voltage set decides; where none is, the first that stands.
TEST(RunRamp, TheVoltageSetIsTheOneThatCounts) {
  std::vector<RunSample> samples = Readings(200, [](double) { return 1000.0; });
  for (RunSample& sample : samples) sample.volts_dc = sample.seconds <= 60 ? 250 : 500;
  RunCase c = FormWound();
  c.test_volts_dc = 500;
  const RunSummary set = SummaryAfter(samples, c);
  EXPECT_EQ(set.full_voltage_seconds, 61);
  EXPECT_EQ(set.marks.front().run_seconds, 91);
  EXPECT_THAT(set, Comes(Verdict::kPass, ""));
  EXPECT_THAT(SummaryAfter(samples).advice, Contains(Field(&Advice::kind, AdviceKind::kVoltageNotConstant)));
  c.test_volts_dc = 1000;
  const RunSummary never = SummaryAfter(samples, c);
  EXPECT_TRUE(never.marks.empty());
  EXPECT_THAT(never, Comes(Verdict::kNotValid, "the voltage set was never reached"));
  EXPECT_THAT(never.advice, Contains(AllOf(Field(&Advice::kind, AdviceKind::kTestVoltage),
                                           Field(&Advice::reason, HasSubstr("where 1000 V was set")))));
}

TEST(RunRamp, AFlashoverOnTheWayUpIsReasonToStop) {
  std::vector<RunSample> samples = Ramp(10, 1, 0);
  samples.back().volts_dc = 30;
  *samples.back().microamps = 900;
  EXPECT_THAT(SummaryAfter(samples), Comes(Verdict::kFail, "a flashover"));
}

// A meter that shows 0 has less than its least current: 500 V over 0.001 uA are at least 500000 megohms.
TEST(RunLeastCurrent, ADisplayOfZeroIsABound) {
  std::vector<RunSample> samples = Readings(70, [](double) { return 1.0; });
  for (RunSample& sample : samples) {
    sample.megohms.reset();
    sample.microamps = sample.seconds < 20 ? 0.002 : 0;
  }
  RunCase c = FormWound();
  c.least_microamps = 0.001;
  const RunSummary summary = SummaryAfter(samples, c);
  EXPECT_EQ(summary.over_range, 51);
  EXPECT_TRUE(summary.marks[1].at_least);
  EXPECT_NEAR(*summary.marks[1].megohms, 500000, 1e-6);
  EXPECT_THAT(summary, Comes(Verdict::kPass, ""));
  EXPECT_TRUE(summary.judged->at_least);
  InsulationRun unknown = Started(FormWound());
  const RunUpdate update = unknown.Add(samples.back());
  ASSERT_TRUE(update.refused.has_value());
  EXPECT_THAT(update.refused->accepted, HasSubstr("--least-microamps"));
  samples.back().microamps = -0.1;
  InsulationRun known = Started(c);
  EXPECT_TRUE(known.Add(samples.back()).refused.has_value());
}

// A range of one value is named once.
TEST(RunTestVoltage, IsNamedOnce) {
  SimulatedRun play;
  play.volts = 1000;
  const RunSummary summary = SummaryAfter(play.Samples());
  EXPECT_THAT(summary.advice, Contains(Field(&Advice::reason, HasSubstr("the rule asks for 500 V DC"))));
  EXPECT_THAT(summary, Comes(Verdict::kNotValid, "the rule asks for 500 V DC"));
}

}  // namespace
}  // namespace coilwright::insulation
