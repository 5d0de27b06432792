// How often a run is right, on played windings drawn at random: forecasts, and advice to stop.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <random>

#include "insulation/run.h"
#include "insulation/simulated_run.h"

namespace coilwright::insulation {
namespace {

class Draw {
 public:
  explicit Draw(unsigned seed) : random_(seed) {}
  double Between(double low, double high) { return std::uniform_real_distribution<double>(low, high)(random_); }
  double Scaled(double low, double high) { return std::exp(Between(std::log(low), std::log(high))); }

 private:
  std::mt19937 random_;
};

// Sound windings: currents over three decades, ratios from 1 to 8, scatter to 3 %, a reading every 0.1 to 2 s.
SimulatedRun Sound(unsigned seed) {
  Draw draw(seed);
  SimulatedRun play;
  play.exponent = draw.Between(0.4, 1.2);
  play.absorption_microamps = draw.Scaled(0.5, 500);
  // Conduction against what is left of the absorption current after a minute.
  play.conduction_microamps = play.absorption_microamps * std::pow(60, -play.exponent) * draw.Scaled(0.03, 3);
  play.scatter_ratio = draw.Scaled(0.002, 0.03);
  play.interval_seconds = draw.Scaled(0.1, 2);
  play.seed = seed;
  return play;
}

struct Rates {
  int runs = 0, forecast = 0, inside = 0;
  double width = 0;  // mean of high / low
};

Rates ForecastsAfter(double seconds, unsigned first_seed) {
  Rates rates;
  for (unsigned seed = first_seed; seed < first_seed + 1000; ++seed) {
    SimulatedRun play = Sound(seed);
    play.to_seconds = seconds;
    InsulationRun run = Started(FormWound());
    for (const RunSample& sample : play.Samples()) run.Add(sample);
    const RunSummary summary = run.Finish();
    ++rates.runs;
    if (!summary.forecast) continue;
    ++rates.forecast;
    rates.inside += summary.forecast->index.low <= play.Index() && play.Index() <= summary.forecast->index.high;
    rates.width += summary.forecast->index.high / summary.forecast->index.low;
  }
  rates.width /= rates.forecast;
  return rates;
}

// The band is of 95 %; 90 in 100 is the promise. The width is held too, so that no band is right by being wide.
TEST(RunRates, TheForecastBandHoldsTheTruth) {
  for (const auto& [seconds, width] : {std::pair<double, double>{60, 1.5}, {120, 1.2}, {300, 1.05}}) {
    const Rates rates = ForecastsAfter(seconds, 424200);
    std::printf("forecast after %3.0f s: %d of %d given, %.1f %% inside, high over low %.3f\n", seconds, rates.forecast,
                rates.runs, 100.0 * rates.inside / rates.forecast, rates.width);
    EXPECT_GE(rates.forecast, 990);
    EXPECT_GE(rates.inside, 0.9 * rates.forecast) << seconds;
    EXPECT_LE(rates.width, width) << seconds;
  }
}

TEST(RunRates, NoSoundRunIsStopped) {
  int stopped = 0, flashes = 0;
  for (unsigned seed = 515100; seed < 516100; ++seed) {
    SimulatedRun play = Sound(seed);
    play.scatter_ratio = Draw(seed).Scaled(0.002, 0.1);
    InsulationRun run = Started(FormWound());
    for (const RunSample& sample : play.Samples()) run.Add(sample);
    const RunSummary summary = run.Finish();
    stopped += summary.stop;
    flashes += summary.flashes > 0;
    if (summary.stop) std::printf("seed %u: %s\n", seed, summary.advice.back().reason.c_str());
  }
  std::printf("%d of 1000 sound runs stopped\n", stopped);
  EXPECT_EQ(stopped, 0);
  EXPECT_EQ(flashes, 0);
}

// From `begins` on the current grows by a factor e every `constant` seconds. Seconds from the start of the growth to
// the advice, none where it never came.
std::optional<double> SecondsToStop(SimulatedRun play, double begins, double constant) {
  play.factor = [=](double t) { return t < begins ? 1.0 : std::exp(std::min((t - begins) / constant, 20.0)); };
  InsulationRun run = Started(FormWound());
  for (const RunSample& sample : play.Samples()) {
    for (const Advice& advice : run.Add(sample).advice) {
      if (advice.stop) return advice.seconds - begins;
    }
  }
  return std::nullopt;
}

// It comes before the current has grown twentyfold (three time constants), or within 16 readings where those are
// slower; and never before the growth begins.
TEST(RunRates, EveryClimbingRunIsStopped) {
  int runs = 0, told = 0, late = 0;
  for (unsigned seed = 636301; seed <= 637300; ++seed) {
    SimulatedRun play = Sound(seed);
    Draw draw(seed + 77777);
    const double begins = draw.Between(20, 400), constant = draw.Scaled(3, 60);
    const std::optional<double> seconds = SecondsToStop(play, begins, constant);
    ++runs;
    told += seconds.has_value();
    if (!seconds) continue;
    EXPECT_GE(*seconds, 0) << seed;
    late += *seconds > std::max(3 * constant, 16 * play.interval_seconds);
  }
  std::printf("%d of %d stopped, %d late\n", told, runs, late);
  EXPECT_EQ(told, runs);
  EXPECT_LE(late, 5);
}

// A slow one: 10 % in five minutes on top of a settled current, with one reading a second and 1 % of scatter.
TEST(RunRates, ASlowClimbIsSeenToo) {
  SimulatedRun play;
  play.absorption_microamps = 0;
  play.conduction_microamps = 2;
  play.to_seconds = 1800;
  const std::optional<double> seconds = SecondsToStop(play, 300, 300 / std::log(1.1));
  ASSERT_TRUE(seconds.has_value());
  EXPECT_GT(*seconds, 60);
  EXPECT_LT(*seconds, 400);
}

// A winding that is heated by 1 K a minute conducts more; with the temperature known that is no fault.
TEST(RunRates, AWarmingWindingIsNotStoppedWhereItsTemperatureIsKnown) {
  SimulatedRun play;
  play.absorption_microamps = 0;
  play.conduction_microamps = 2;
  const auto celsius = [](double t) { return 45 + t / 60; };
  play.factor = [&](double t) { return To40Celsius(1, celsius(t), InsulationFamily::kThermosetting)->factor; };
  for (const bool known : {true, false}) {
    InsulationRun run = Started(FormWound());
    play.celsius = celsius;
    for (RunSample sample : play.Samples()) {
      // A thermometer that shows whole degrees.
      sample.winding_celsius = known ? std::optional<double>(std::round(*sample.winding_celsius)) : std::nullopt;
      run.Add(sample);
    }
    EXPECT_EQ(run.Finish().stop, !known);
  }
}

// Sound windings that warm by 0.2 to 4 K a minute while the test lasts, with insulation that halves its megohms every
// 10 to 20 K: the steepest that a correction knows and a gentler one. Thermometers of a tenth and of a whole degree.
SimulatedRun Warming(unsigned seed, bool whole_degrees) {
  SimulatedRun play = Sound(seed);
  Draw draw(seed + 99999);
  const double per_minute = draw.Scaled(0.2, 4), halving = draw.Between(10, 20), from = draw.Between(15, 40);
  const double begins = draw.Between(0, 200);
  const auto celsius = [=](double t) { return from + per_minute * std::max(t - begins, 0.0) / 60; };
  play.factor = [=](double t) { return std::exp2((celsius(t) - from) / halving); };
  const double step = whole_degrees ? 1 : 0.1;
  play.celsius = [=](double t) { return step * std::round(celsius(t) / step); };
  return play;
}

TEST(RunRates, NoSoundRunIsStoppedForItsWarmth) {
  int stopped = 0;
  for (unsigned seed = 747400; seed < 748400; ++seed) {
    RunCase c = FormWound();
    c.judgement.family = seed / 2 % 2 == 0 ? InsulationFamily::kThermosetting : InsulationFamily::kThermoplastic;
    InsulationRun run = Started(c);
    for (const RunSample& sample : Warming(seed, seed % 2 == 0).Samples()) run.Add(sample);
    const RunSummary summary = run.Finish();
    stopped += summary.stop;
    if (summary.stop) std::printf("seed %u: %s\n", seed, summary.advice.back().reason.c_str());
  }
  std::printf("%d of 1000 sound runs that warm stopped\n", stopped);
  EXPECT_EQ(stopped, 0);
}

// The same windings with a current that climbs beside their warmth, by a factor e every 3 to 60 s.
TEST(RunRates, EveryClimbingRunThatWarmsIsStopped) {
  int told = 0, late = 0;
  for (unsigned seed = 858500; seed < 859500; ++seed) {
    SimulatedRun play = Warming(seed, seed % 2 == 0);
    Draw draw(seed + 77777);
    const double begins = draw.Between(20, 400), constant = draw.Scaled(3, 60);
    const auto warmth = play.factor;
    play.factor = [=](double t) {
      return warmth(t) * (t < begins ? 1.0 : std::exp(std::min((t - begins) / constant, 20.0)));
    };
    InsulationRun run = Started(FormWound());
    std::optional<double> seconds;
    for (const RunSample& sample : play.Samples()) {
      for (const Advice& advice : run.Add(sample).advice) {
        if (advice.stop && !seconds) seconds = advice.seconds - begins;
      }
    }
    told += seconds.has_value();
    if (!seconds) continue;
    EXPECT_GE(*seconds, 0) << seed;
    late += *seconds > std::max(3 * constant, 16 * play.interval_seconds);
  }
  std::printf("%d of 1000 climbing runs that warm stopped, %d late\n", told, late);
  EXPECT_EQ(told, 1000);
  EXPECT_LE(late, 10);
}

// A winding warmed by hand-read temperatures, one a minute.
TEST(RunRates, ATemperatureReadOnceAMinuteIsEnough) {
  SimulatedRun play;
  play.absorption_microamps = 0;
  play.conduction_microamps = 2;
  play.from_seconds = 10;
  const auto celsius = [](double t) { return 25 + t / 60; };
  play.factor = [&](double t) { return std::exp2(t / 600); };
  InsulationRun run = Started(FormWound());
  for (RunSample sample : play.Samples()) {
    sample.winding_celsius.reset();
    if (std::fmod(sample.seconds, 60) < 1) sample.winding_celsius = celsius(sample.seconds);
    run.Add(sample);
  }
  const RunSummary summary = run.Finish();
  EXPECT_FALSE(summary.stop);
}

RunSummary WithReadings(const std::function<void(RunSample&)>& change) {
  SimulatedRun play;
  InsulationRun run = Started(FormWound());
  for (RunSample sample : play.Samples()) {
    change(sample);
    run.Add(sample);
  }
  return run.Finish();
}

bool Said(const RunSummary& summary, AdviceKind kind, bool stop) {
  return std::any_of(summary.advice.begin(), summary.advice.end(),
                     [&](const Advice& advice) { return advice.kind == kind && advice.stop == stop; });
}

TEST(RunStops, AJumpButNotASingleFlash) {
  const RunSummary jump = WithReadings([](RunSample& s) {
    if (s.seconds > 200) *s.microamps *= 5;
  });
  EXPECT_TRUE(Said(jump, AdviceKind::kJump, true));
  EXPECT_FALSE(jump.forecast.has_value());
  EXPECT_EQ(jump.judged->verdict, Verdict::kNotValid);
  const RunSummary flash = WithReadings([](RunSample& s) {
    if (s.seconds == 200.5) *s.microamps *= 50;
  });
  EXPECT_TRUE(Said(flash, AdviceKind::kFlash, false));
  EXPECT_FALSE(flash.stop);
  EXPECT_EQ(flash.flashes, 1);
  // It is kept out of the fit.
  EXPECT_NEAR(flash.fit->exponent.value, 0.8, 0.05);
  const RunSummary flashes = WithReadings([](RunSample& s) {
    if (s.seconds == 200.5 || s.seconds == 250.5 || s.seconds == 300.5) *s.microamps *= 50;
  });
  EXPECT_TRUE(Said(flashes, AdviceKind::kFlash, true));
}

TEST(RunStops, AFlashOnAMarkDoesNotBecomeTheMark) {
  const RunSummary clean = WithReadings([](RunSample&) {});
  const RunSummary flash = WithReadings([](RunSample& s) {
    if (s.seconds == 60.5) *s.microamps *= 50;
  });
  EXPECT_NEAR(*flash.marks[1].megohms, *clean.marks[1].megohms, 0.05 * *clean.marks[1].megohms);
}

TEST(RunStops, AVoltageThatCollapsesUnderCurrent) {
  const RunSummary flashover = WithReadings([](RunSample& s) {
    if (s.seconds > 200) {
      s.volts_dc = 20;
      *s.microamps *= 100;
    }
  });
  EXPECT_TRUE(Said(flashover, AdviceKind::kVoltageFell, true));
  const RunSummary taken_off = WithReadings([](RunSample& s) {
    if (s.seconds > 200) {
      s.volts_dc = 20;
      *s.microamps *= 0.04;
    }
  });
  EXPECT_TRUE(Said(taken_off, AdviceKind::kVoltageFell, false));
  EXPECT_FALSE(taken_off.stop);
}

TEST(RunStops, AnEarthFaultAtOnce) {
  InsulationRun run = Started(FormWound());
  RunSample sample;
  sample.seconds = 1;
  sample.volts_dc = 500;
  sample.megohms = 0;
  const RunUpdate update = run.Add(sample);
  ASSERT_EQ(update.advice.size(), 1);
  EXPECT_TRUE(update.advice[0].stop);
  EXPECT_EQ(*run.Finish().megohms, 0);
}

TEST(RunStops, ARunThatEndsOnABreakdown) {
  SimulatedRun play;
  play.to_seconds = 300;
  std::vector<RunSample> samples = play.Samples();
  *samples.back().microamps *= 1000;
  InsulationRun run = Started(FormWound());
  for (const RunSample& sample : samples) run.Add(sample);
  EXPECT_FALSE(run.Now().stop);
  EXPECT_TRUE(Said(run.Finish(), AdviceKind::kJump, true));
}

}  // namespace
}  // namespace coilwright::insulation
