// Surge waves: closed forms of damped sines, f = 1/(2 pi sqrt(LC)).
#include "testing/surge_compare.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "standards/errors.h"
#include "standards/units.h"

namespace coilwright::testing {
namespace {

using ::testing::HasSubstr;
using ::testing::SizeIs;

using standards::kPi;

// Volts of a coil of inductance `henries` on 10 nF with damping `a`, sampled every `step` seconds.
std::vector<double> Pulse(double henries, double a = 2e4, double peak = 1400, double step = 1e-7, int samples = 1500,
                          double noise = 0) {
  std::mt19937 random(11);
  std::normal_distribution<double> normal(0, noise > 0 ? noise : 1);
  const double w = std::sqrt(1 / (henries * 1e-8) - a * a);
  std::vector<double> volts;
  for (int i = 0; i < samples; ++i) {
    const double t = i * step;
    volts.push_back(peak * std::exp(-a * t) * std::cos(w * t) + (noise > 0 ? normal(random) : 0));
  }
  return volts;
}

double Natural(double henries) { return 1 / (2 * kPi * std::sqrt(henries * 1e-8)); }

SurgeComparisonCase Case() {
  SurgeComparisonCase c;
  c.sample_seconds = 1e-7;
  c.level_volts_peak = 1380;
  return c;
}

SurgeComparison Compare(const SurgeComparisonCase& c, const std::vector<SurgeWave>& waves) {
  const auto compared = CompareSurges(c, waves);
  EXPECT_TRUE(compared.ok()) << compared.status();
  return compared.value_or(SurgeComparison{});
}

std::vector<SurgeWave> Three(double uv, double vw, double wu) {
  return {{WavePoint::kUV, Pulse(uv), {}}, {WavePoint::kVW, Pulse(vw), {}}, {WavePoint::kWU, Pulse(wu), {}}};
}

TEST(Ring, FrequencyAndDampingOfAKnownCircuit) {
  const auto ring = FitRing(Pulse(1e-3), 1e-7);
  ASSERT_TRUE(ring.ok()) << ring.status();
  EXPECT_NEAR(ring->natural_frequency_hz / Natural(1e-3), 1, 1e-6);
  EXPECT_NEAR(ring->damping_per_second, 2e4, 1);
  EXPECT_LT(ring->residual_ratio, 1e-6);
}

TEST(Ring, HoldsUnderNoise) {
  const auto ring = FitRing(Pulse(1e-3, 2e4, 1400, 1e-7, 1500, 28), 1e-7);
  ASSERT_TRUE(ring.ok()) << ring.status();
  EXPECT_NEAR(ring->natural_frequency_hz / Natural(1e-3), 1, 1e-3);
  EXPECT_GT(ring->frequency_error_hz, 0);
  EXPECT_NEAR(ring->frequency_hz, std::sqrt(1 / 1e-11 - 4e8) / (2 * kPi), 5 * ring->frequency_error_hz);
}

TEST(Ring, RefusesWhatCannotBeRead) {
  EXPECT_THAT(FitRing(Pulse(1e-3, 2e4, 1400, 8e-6, 100), 8e-6).status().message(), HasSubstr("times faster"));
  EXPECT_THAT(FitRing(Pulse(1e-3, 2e4, 1400, 1e-7, 120), 1e-7).status().message(), HasSubstr("periods"));
  EXPECT_THAT(FitRing(std::vector<double>(100, 0.0), 1e-7).status().message(), HasSubstr("flat"));
  EXPECT_THAT(FitRing({1, 2, 3}, 1e-7).status().message(), HasSubstr("at least 16"));
}

// Undamped sines a small phase apart over whole periods: sum |a - b| / sum |a| = 2 sin(phase / 2) (closed form).
TEST(Surge, DifferenceRatioOfShiftedSines) {
  std::vector<double> a, b;
  for (int i = 0; i < 100000; ++i) {
    a.push_back(std::sin(2 * kPi * i / 1000));
    b.push_back(std::sin(2 * kPi * i / 1000 + 0.1));
  }
  EXPECT_NEAR(WaveformDifferenceRatio(a, b), 2 * std::sin(0.05), 1e-5);
  EXPECT_EQ(WaveformDifferenceRatio(a, a), 0);
}

TEST(Surge, EqualWavesPassAndAreATurnTest) {
  const SurgeComparison equal = Compare(Case(), Three(1e-3, 1e-3, 1e-3));
  EXPECT_EQ(equal.test.verdict, Verdict::kPass);
  EXPECT_TRUE(equal.turn_insulation_tested);
  EXPECT_THAT(equal.differences, SizeIs(3));
}

// Inductance 5 % low in the two pairs that share phase U: the shift is sqrt(1/0.95) - 1.
TEST(Surge, AShortedTurnIsFoundInItsPhase) {
  const SurgeComparison shorted = Compare(Case(), Three(0.95e-3, 1e-3, 0.95e-3));
  EXPECT_EQ(shorted.test.verdict, Verdict::kFail);
  EXPECT_EQ(shorted.test.suspect, Suspect::kShortedTurns);
  EXPECT_THAT(shorted.test.points_to[0], HasSubstr("phase U"));
  EXPECT_NEAR(*shorted.differences[0].inductance_change, 1 / 0.95 - 1, 1e-5);
  EXPECT_NEAR(*shorted.differences[0].frequency_shift, std::sqrt(0.95) - 1, 1e-3);
}

TEST(Surge, SetPointsAreTheShops) {
  SurgeComparisonCase c = Case();
  const double ratio = Compare(c, Three(1e-3, 1.004e-3, 1e-3)).differences[0].waveform_difference_ratio;
  c.watch = ratio;
  EXPECT_EQ(Compare(c, Three(1e-3, 1.004e-3, 1e-3)).test.verdict, Verdict::kMarginal);  // the reverse pair is larger
  c.watch = 1.1 * ratio;
  c.act = 1;
  EXPECT_EQ(Compare(c, Three(1e-3, 1.004e-3, 1e-3)).test.verdict, Verdict::kPass);
  c.watch = 0.5 * ratio;
  EXPECT_EQ(Compare(c, Three(1e-3, 1.004e-3, 1e-3)).test.verdict, Verdict::kMarginal);
  c.act = 0.6 * ratio;
  EXPECT_EQ(Compare(c, Three(1e-3, 1.004e-3, 1e-3)).test.verdict, Verdict::kFail);
}

TEST(Surge, WhatIsNotComparableIsNotATurnTest) {
  SurgeComparisonCase magnets = Case();
  magnets.rotor_in = true;
  const SurgeComparison loose = Compare(magnets, Three(1e-3, 1e-3, 1e-3));
  EXPECT_EQ(loose.test.verdict, Verdict::kNotValid);
  EXPECT_THAT(loose.differences, SizeIs(0));
  SurgeComparisonCase induction = Case();
  induction.rotor_in = induction.induction = true;
  EXPECT_EQ(Compare(induction, Three(1e-3, 1e-3, 1e-3)).test.verdict, Verdict::kPass);
  magnets.locked_at_same_position = true;
  EXPECT_EQ(Compare(magnets, Three(1e-3, 1e-3, 1e-3)).test.verdict, Verdict::kPass);
  SurgeComparisonCase high = Case();
  high.level_volts_peak = 2000;
  EXPECT_THAT(Compare(high, Three(1e-3, 1e-3, 1e-3)).test.reason, HasSubstr("below the 2000 V"));
  std::vector<SurgeWave> two = Three(1e-3, 1e-3, 1e-3);
  two.pop_back();
  EXPECT_FALSE(Compare(Case(), two).turn_insulation_tested);
  two.pop_back();
  EXPECT_EQ(Compare(Case(), two).test.verdict, Verdict::kNotValid);
}

TEST(Surge, ABreakdownIsOneWhateverElse) {
  SurgeComparisonCase c = Case();
  c.rotor_in = true;
  std::vector<SurgeWave> waves = Three(1e-3, 1e-3, 1e-3);
  for (size_t i = 30; i < waves[1].volts.size(); ++i) waves[1].volts[i] *= 0.05;
  const SurgeComparison broken = Compare(c, waves);
  EXPECT_EQ(broken.test.verdict, Verdict::kFail);
  EXPECT_TRUE(broken.waves[1].collapsed);
  EXPECT_NEAR(*broken.waves[1].collapse_microseconds, 2.9, 0.11);
  // A coil that breaks down at full voltage only rings otherwise there.
  waves = Three(1e-3, 1e-3, 1e-3);
  waves[0].volts_at_lower_level = Pulse(1.1e-3, 2e4, 700);
  EXPECT_EQ(Compare(Case(), waves).test.suspect, Suspect::kBreakdown);
}

// A cosine at fewer than eight samples a period falls by more than half its peak from one sample to the next (closed
// form): three sound waves that do it alike are no breakdown, and no turn test either.
TEST(Surge, CoarseSamplesAreNotValidAndNoBreakdown) {
  const double period = 1 / Natural(1e-3);
  for (const double samples_a_period : {7.9, 7.1, 6.0, 5.0, 4.2}) {
    SurgeComparisonCase c = Case();
    c.sample_seconds = period / samples_a_period;
    std::vector<SurgeWave> waves;
    for (const WavePoint point : {WavePoint::kUV, WavePoint::kVW, WavePoint::kWU})
      waves.push_back({point, Pulse(1e-3, 2e4, 1400, c.sample_seconds, 60), {}});
    const SurgeComparison coarse = Compare(c, waves);
    EXPECT_EQ(coarse.test.verdict, Verdict::kNotValid) << samples_a_period << ": " << coarse.test.reason;
    EXPECT_THAT(coarse.test.reason, HasSubstr("too coarsely"));
    EXPECT_FALSE(coarse.turn_insulation_tested);
  }
  std::vector<SurgeWave> three = Three(1e-3, 1e-3, 1e-3);
  for (SurgeWave& wave : three) wave.volts = {1400, -1400, 900};
  EXPECT_EQ(Compare(Case(), three).test.verdict, Verdict::kNotValid);
}

// A record that begins t later is exp(-a t) cos(w (t0 + t)): same w and a (closed form). The coil with a shorted turn
// stays one whatever the trigger does beside it.
TEST(Surge, ALateTriggerIsNoShortedTurn) {
  const double step = 2e-7;
  SurgeComparisonCase c = Case();
  c.sample_seconds = step;
  const auto late = [&](double henries, size_t samples) {
    // `samples` of nothing before the pulse.
    std::vector<double> volts(samples, 0.0);
    const std::vector<double> pulse = Pulse(henries, 2e4, 1400, step, 800);
    volts.insert(volts.end(), pulse.begin(), pulse.end());
    return volts;
  };
  std::vector<SurgeWave> waves = {
      {WavePoint::kUV, late(1e-3, 0), {}}, {WavePoint::kVW, late(1e-3, 2), {}}, {WavePoint::kWU, late(1e-3, 4), {}}};
  const SurgeComparison shifted = Compare(c, waves);
  EXPECT_GT(shifted.differences[1].waveform_difference_ratio, shifted.act);
  EXPECT_EQ(shifted.test.verdict, Verdict::kNotValid) << shifted.test.reason;
  EXPECT_THAT(shifted.test.points_to, ::testing::Contains(HasSubstr("trigger")));
  EXPECT_FALSE(shifted.turn_insulation_tested);
  waves[0].volts = Pulse(0.95e-3, 2e4, 1400, step, 800);
  waves[2].volts = Pulse(0.95e-3, 2e4, 1400, step, 800);
  EXPECT_EQ(Compare(c, waves).test.verdict, Verdict::kFail);
}

// exp(-a t) cos(w t) begun late is the same w and a (closed form), past its crest too; a lag of nought to an eighth of
// a period, of whole samples and of half a sample.
TEST(Surge, ATriggerPastTheCrestIsNoShortedTurn) {
  const auto late = [](double samples, double step, int n) {
    std::vector<double> volts;
    for (int i = 0; i < n; ++i) {
      const double t = (i + samples) * step;
      volts.push_back(1490 * std::exp(-8e3 * t) * std::cos(2 * kPi * 40e3 * t));
    }
    return volts;
  };
  struct Lag {
    double samples, step;
    int n;
  };
  for (const Lag& lag : {Lag{4, 2e-7, 400}, Lag{5, 2e-7, 400}, Lag{7, 2e-7, 400}, Lag{10, 2e-7, 400},
                         Lag{15, 2e-7, 400}, Lag{1, 1e-6, 150}, Lag{0.5, 2e-6, 75}}) {
    SurgeComparisonCase c = Case();
    c.sample_seconds = lag.step;
    c.level_volts_peak = 1350;
    if (lag.samples * lag.step > 1.2e-6) c.level_volts_peak.reset();
    const std::vector<double> first = late(0, lag.step, lag.n);
    const SurgeComparison judged = Compare(c, {{WavePoint::kUV, first, {}},
                                               {WavePoint::kVW, late(lag.samples, lag.step, lag.n), {}},
                                               {WavePoint::kWU, first, {}}});
    EXPECT_EQ(judged.test.verdict, Verdict::kNotValid) << lag.samples;
    EXPECT_THAT(judged.test.reason, HasSubstr("trigger")) << lag.samples;
  }
}

// An amplitude, an offset or a clipped top moves neither w nor a (closed form): nothing the coil does.
TEST(Surge, AnotherVoltageOffsetOrRangeIsNoShortedTurn) {
  const auto reason = [](const std::vector<double>& odd) {
    std::vector<SurgeWave> waves = Three(1e-3, 1e-3, 1e-3);
    waves[1].volts = odd;
    const SurgeComparison judged = Compare(Case(), waves);
    EXPECT_EQ(judged.test.verdict, Verdict::kNotValid) << judged.test.reason;
    EXPECT_FALSE(judged.turn_insulation_tested);
    return judged.test.reason;
  };
  for (const double peak : {1470.0, 1540.0, 1568.0, 1820.0})
    EXPECT_THAT(reason(Pulse(1e-3, 2e4, peak)), HasSubstr("voltage")) << peak;
  std::vector<double> offset = Pulse(1e-3);
  for (double& v : offset) v += 145;
  EXPECT_THAT(reason(offset), HasSubstr("offset"));
  std::vector<double> cut = Pulse(1e-3, 2e4, 1820);
  for (double& v : cut) v = std::min(v, 1400.0);
  EXPECT_THAT(reason(cut), HasSubstr("cut off"));
  std::vector<double> turned = Pulse(1e-3);
  for (double& v : turned) v = -v;
  EXPECT_THAT(reason(turned), HasSubstr("clips"));
}

// Beside the same trouble a coil of 5 % less inductance, or of twice the damping, is still one.
TEST(Surge, AFaultBesideABadReadingIsStillFound) {
  std::vector<SurgeWave> waves = Three(1e-3, 1e-3, 1e-3);
  waves[1].volts = Pulse(0.95e-3, 2e4, 1700);
  EXPECT_EQ(Compare(Case(), waves).test.verdict, Verdict::kFail);
  waves[1].volts = Pulse(0.95e-3, 2e4, 1400, 1e-7, 1500, 42);
  waves[0].volts = Pulse(1e-3, 2e4, 1400, 1e-7, 1500, 42);
  EXPECT_EQ(Compare(Case(), waves).test.verdict, Verdict::kFail);
}

// Equal damped frequency, twice the damping: the curves differ, and no frequency says so.
TEST(Surge, DampingAloneIsNotToldByFrequency) {
  const double w = std::sqrt(1 / 1e-11 - 4e8);
  std::vector<SurgeWave> waves = Three(1e-3, 1e-3, 1e-3);
  waves[1].volts = Pulse(1 / (w * w + 16e8) / 1e-8, 4e4);
  const SurgeComparison judged = Compare(Case(), waves);
  EXPECT_NEAR(judged.waves[1].ring->frequency_hz / judged.waves[0].ring->frequency_hz, 1, 1e-6);
  EXPECT_EQ(judged.test.verdict, Verdict::kFail);
  EXPECT_THAT(judged.test.points_to[0], HasSubstr("dies down fastest"));
}

// A collapse does not return to its curve; a sample or two that stray, noise and a dead lead are none.
TEST(Surge, OnlyWhatDoesNotReturnIsACollapse) {
  const std::vector<double> good = Pulse(1e-3);
  int collapses = 0;
  for (size_t at = 1; at < 150; ++at) {
    for (const double left : {0.0, 0.1, 0.3}) {
      std::vector<SurgeWave> waves = Three(1e-3, 1e-3, 1e-3);
      for (size_t i = at; i < good.size(); ++i) waves[1].volts[i] *= left;
      const SurgeComparison broken = Compare(Case(), waves);
      EXPECT_EQ(broken.test.verdict, Verdict::kFail) << at << " " << left;
      collapses += broken.waves[1].collapsed ? 1 : 0;
    }
  }
  EXPECT_GT(collapses, 200);  // the rest fall where the curve itself is low, and the waves differ
  for (const size_t at : {1u, 5u, 100u, 200u, 700u}) {
    for (const double stray : {200.0, -250.0, 900.0, 3000.0}) {
      std::vector<SurgeWave> waves = Three(1e-3, 1e-3, 1e-3);
      waves[1].volts[at] += stray;
      const SurgeComparison judged = Compare(Case(), waves);
      EXPECT_NE(judged.test.verdict, Verdict::kFail) << at << " " << stray << ": " << judged.test.reason;
      EXPECT_TRUE(std::abs(stray) < 800 || judged.test.verdict == Verdict::kNotValid) << at << " " << stray;
    }
  }
  std::mt19937 random(5);
  const auto noise = [&](double volts) {
    std::normal_distribution<double> normal(0, volts);
    std::vector<double> out(1500);
    for (double& v : out) v = normal(random);
    return out;
  };
  for (const double volts : {2.0, 20.0, 700.0}) {
    std::vector<SurgeWave> waves = Three(1e-3, 1e-3, 1e-3);
    waves[1].volts = noise(volts);
    EXPECT_EQ(Compare(Case(), waves).test.verdict, Verdict::kNotValid) << volts;
  }
  for (const double share : {0.03, 0.04, 0.1}) {
    std::vector<SurgeWave> waves = Three(1e-3, 1e-3, 1e-3);
    for (SurgeWave& wave : waves) {
      const std::vector<double> added = noise(1400 * share);
      for (size_t i = 0; i < added.size(); ++i) wave.volts[i] += added[i];
    }
    const SurgeComparison judged = Compare(Case(), waves);
    EXPECT_EQ(judged.test.verdict, Verdict::kNotValid) << share << ": " << judged.test.reason;
  }
}

// Common practice, no source: a level is reached, not passed; 10 % over is the end of a plain pass.
TEST(Surge, FarAboveTheLevelIsOverStress) {
  SurgeComparisonCase c = Case();
  c.level_volts_peak = 1400 / 1.09;
  EXPECT_EQ(Compare(c, Three(1e-3, 1e-3, 1e-3)).test.verdict, Verdict::kPass);
  c.level_volts_peak = 1400 / 1.11;
  const SurgeComparison over = Compare(c, Three(1e-3, 1e-3, 1e-3));
  EXPECT_EQ(over.test.verdict, Verdict::kMarginal);
  EXPECT_THAT(over.test.reason, HasSubstr("over-stressed"));
}

TEST(Surge, EveryWrongFieldIsNamed) {
  SurgeComparisonCase c;
  c.watch = 0.5;
  c.act = 0.1;
  const auto compared = CompareSurges(c, {{WavePoint::kUV, {}, {}}, {WavePoint::kUV, {2e6}, {}}});
  EXPECT_THAT(standards::FieldErrorsOf(compared.status()), SizeIs(5)) << compared.status();
}

}  // namespace
}  // namespace coilwright::testing
