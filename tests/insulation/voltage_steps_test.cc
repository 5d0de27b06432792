// Step-voltage runs against closed forms and planted knees.
#include "insulation/voltage_steps.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <random>

#include "insulation/run.h"
#include "insulation/simulated_run.h"
#include "standards/rules.h"

namespace coilwright::insulation {
namespace {

using ::testing::IsEmpty;

constexpr int kStepSeconds = 70;

// Steps of 500 V held 70 s, a reading a second.
VoltageSteps Played(int steps, const std::function<double(double volts)>& microamps) {
  VoltageSteps played;
  for (int i = 0; i < steps * kStepSeconds; ++i) {
    const double volts = 500.0 * (i / kStepSeconds + 1);
    played.Add(i + 1, volts, microamps(volts));
  }
  return played;
}

// I = k V^p rises by p percent per percent of volts, whatever the step.
TEST(VoltageSteps, TheExponentIsThatOfAPowerLaw) {
  for (const double p : {0.5, 1.0, 1.7, 3.0}) {
    const std::vector<VoltageStep> steps = Played(6, [p](double volts) { return 0.002 * std::pow(volts, p); }).Read();
    ASSERT_EQ(steps.size(), 6);
    EXPECT_FALSE(steps[0].current_exponent.has_value() || steps[0].departure_ratio.has_value());
    for (size_t i = 1; i < steps.size(); ++i) EXPECT_NEAR(*steps[i].current_exponent, p, 1e-9) << p << ", step " << i;
  }
}

// A straight line foretells itself; of the squares 1, 4, 9 the least-squares line is 4 x - 10/3, 38/3 at 4 where the
// square is 16. The second step has only proportion to go by: 4 against 2.
TEST(VoltageSteps, TheDepartureIsFromTheLineThroughTheStepsBefore) {
  for (const VoltageStep& step : Played(5, [](double volts) { return 3 + volts / 100; }).Read()) {
    if (step.from_seconds > 2 * kStepSeconds) {
      EXPECT_NEAR(*step.departure_ratio, 0, 1e-12);
    }
  }
  const std::vector<VoltageStep> squares = Played(4, [](double volts) { return volts * volts / 250000; }).Read();
  EXPECT_NEAR(*squares[1].departure_ratio, 1, 1e-12);
  EXPECT_NEAR(*squares[3].departure_ratio, 16 / (38.0 / 3) - 1, 1e-12);
}

// The current after one minute of each step, straight in the logarithms between the readings around it.
TEST(VoltageSteps, AreReadAfterAMinute) {
  VoltageSteps played;
  for (int step = 0; step < 3; ++step) {
    for (int i = 0; i < 30; ++i) {
      const double into = 2.7 * i;
      played.Add(1 + 100 * step + into, 500 * (step + 1), std::pow(into + 1e-9, -0.8) * (step + 1));
    }
  }
  const std::vector<VoltageStep> steps = played.Read();
  ASSERT_EQ(steps.size(), 3);
  for (size_t i = 0; i < 3; ++i) {
    EXPECT_EQ(steps[i].read_after_seconds, 60);
    EXPECT_NEAR(steps[i].microamps, std::pow(60, -0.8) * static_cast<double>(i + 1), 1e-9);
  }
}

TEST(VoltageSteps, ARampBetweenThemLeavesNone) {
  VoltageSteps played;
  double seconds = 0;
  for (const double target : {500.0, 1000.0, 1500.0}) {
    for (double volts = target - 400; volts < target; volts += 100) played.Add(seconds += 1, volts, volts);
    for (int i = 0; i < 65; ++i) played.Add(seconds += 1, target, target);
  }
  const std::vector<VoltageStep> steps = played.Read();
  ASSERT_EQ(steps.size(), 3);
  for (size_t i = 0; i < 3; ++i) EXPECT_NEAR(steps[i].volts_dc, 500.0 * static_cast<double>(i + 1), 1e-9);
}

// Each lies 5 % above the last: ln(50000 / 0.001) / ln 1.05 = 363 over the whole range of volts.
TEST(VoltageSteps, AreBoundedInNumber) {
  VoltageSteps played;
  double seconds = 0;
  for (double volts = 0.001; volts <= 50000; volts *= 1.001) {
    for (int i = 0; i < 3; ++i) played.Add(seconds += 5, volts, volts);
  }
  EXPECT_LE(played.Read().size(), 363);
  EXPECT_GT(played.Read().size(), 100);
}

InsulationRun StepRun() {
  RunCase c;
  c.judgement.megohm.rated_volts = 6000;
  c.judgement.megohm.kind = WindingKind::kFormWound;
  c.kind = RunKind::kStepVoltage;
  return Started(c);
}

struct Outcome {
  std::vector<Advice> advice;
  RunSummary summary;
};

// Steps of 1000 V, 1 % of scatter.
Outcome Stepped(int steps, unsigned seed, const std::function<double(double seconds, double volts)>& microamps) {
  InsulationRun run = StepRun();
  std::mt19937 random(seed);
  std::normal_distribution<double> normal;
  Outcome outcome;
  for (int i = 1; i <= steps * kStepSeconds; ++i) {
    RunSample sample;
    sample.seconds = i;
    sample.volts_dc = 1000.0 * ((i - 1) / kStepSeconds + 1);
    sample.microamps = microamps(sample.seconds, sample.volts_dc) * std::exp(0.01 * normal(random));
    sample.winding_celsius = 40;
    for (Advice& advice : run.Add(sample).advice) outcome.advice.push_back(std::move(advice));
  }
  outcome.summary = run.Finish();
  return outcome;
}

TEST(StepRun, OfACurrentInProportionGivesNoAdvice) {
  for (unsigned seed = 1; seed <= 100; ++seed) {
    const Outcome outcome = Stepped(6, seed, [](double, double volts) { return volts / 2000; });
    EXPECT_THAT(outcome.summary.advice, IsEmpty()) << seed;
    EXPECT_FALSE(outcome.summary.stop);
    ASSERT_EQ(outcome.summary.steps.size(), 6);
    EXPECT_FALSE(outcome.summary.judged.has_value());
  }
}

// Absorption of every step goes on under the next (superposition).
TEST(StepRun, OfASoundWindingThatAbsorbsGivesNoAdvice) {
  for (unsigned seed = 1; seed <= 100; ++seed) {
    const double exponent = 0.4 + 0.008 * seed;
    const Outcome outcome = Stepped(6, seed, [=](double seconds, double volts) {
      double microamps = volts / 50000;
      for (double from = 0; from < seconds; from += kStepSeconds) microamps += std::pow(seconds - from, -exponent);
      return microamps;
    });
    EXPECT_THAT(outcome.summary.advice, IsEmpty()) << seed;
  }
}

// From 4000 V on twice what proportion would give: told when that step has been held its minute, not later.
TEST(StepRun, AKneeIsReasonToStopAtItsStep) {
  const auto with_knee = [](double share) {
    return [share](double, double volts) { return volts / 2000 * (volts > 3500 ? share : 1); };
  };
  const Outcome knee = Stepped(6, 1, with_knee(2));
  ASSERT_EQ(knee.advice.size(), 1);
  EXPECT_EQ(knee.advice[0].kind, AdviceKind::kOutOfProportion);
  EXPECT_TRUE(knee.advice[0].stop);
  EXPECT_EQ(knee.advice[0].rule, rules::ieee95_out_of_proportion);
  EXPECT_EQ(knee.advice[0].seconds, 3 * kStepSeconds + 61);
  EXPECT_NEAR(*knee.summary.steps[3].departure_ratio, 1, 0.06);
  const Outcome small = Stepped(4, 1, with_knee(1.35));
  ASSERT_EQ(small.advice.size(), 1);
  EXPECT_FALSE(small.advice[0].stop);
  EXPECT_THAT(Stepped(4, 1, with_knee(1.12)).advice, IsEmpty());
}

// Steps of one minute exactly, at any interval: the last reading of a step comes before its minute is over. A current
// that leaps stops the run within its own step; three times proportion, no leap, at the latest when the next begins or
// the run ends. No reading of the sound steps says anything. Brute force over the intervals a logger may have.
TEST(StepRun, AStepOfOneMinuteIsJudgedBeforeTheNextGoesOn) {
  struct Case {
    double interval, step_seconds, times, stop_before;
  };
  for (const Case& c : {Case{1, 60, 1e5, 250}, Case{1, 60, 1000, 250}, Case{0.5, 60, 1e5, 250}, Case{10, 60, 1e5, 275},
                        Case{1, 30, 1e5, 130}, Case{1, 300, 1e5, 1210}, Case{1, 60, 3, 301}, Case{10, 60, 3, 301}}) {
    InsulationRun run = StepRun();
    std::optional<double> stopped;
    for (int i = 0; i * c.interval < 7 * c.step_seconds; ++i) {
      const double seconds = std::max(i * c.interval, 0.01);
      const int step = static_cast<int>(seconds / c.step_seconds);
      RunSample sample;
      sample.seconds = seconds;
      sample.volts_dc = 1000.0 * (step + 1);
      const double into = seconds - step * c.step_seconds + 0.5;
      sample.microamps = sample.volts_dc / 1e4 * (1 + std::pow(into, -0.8)) * (step >= 4 ? c.times : 1);
      for (const Advice& advice : run.Add(sample).advice) {
        EXPECT_TRUE(advice.stop) << advice.reason;
        if (!stopped) stopped = advice.seconds;
      }
    }
    ASSERT_TRUE(stopped.has_value()) << c.interval << " s, " << c.step_seconds << " s, x" << c.times;
    EXPECT_GE(*stopped, 4 * c.step_seconds);
    EXPECT_LE(*stopped, c.stop_before) << c.interval << " s, " << c.step_seconds << " s, x" << c.times;
  }
}

TEST(StepRun, TheLastStepIsJudgedAtTheEnd) {
  InsulationRun run = StepRun();
  for (int i = 0; i < 180; ++i) {
    const int step = i / 60;
    RunSample sample;
    sample.seconds = std::max(i, 1) - (i == 0 ? 0.5 : 0);
    sample.volts_dc = 1000.0 * (step + 1);
    sample.microamps = sample.volts_dc / 1e4 * (step == 2 ? 3 : 1);
    EXPECT_TRUE(run.Add(sample).advice.empty());
  }
  EXPECT_TRUE(run.Finish().stop);
}

}  // namespace
}  // namespace coilwright::insulation
