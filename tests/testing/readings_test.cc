// Back-EMF, heat runs and withstand. Sources stand beside the checks.
#include "testing/readings.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "standards/errors.h"
#include "testing/programme_steps.h"

namespace coilwright::testing {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

BackEmf Emf(const BackEmfCase& c, std::array<double, 3> volts, double rpm, std::optional<double> magnet = {}) {
  BackEmfReading reading;
  for (size_t i = 0; i < 3; ++i) reading.volts_rms[i] = volts[i];
  reading.speed_rpm = rpm;
  reading.magnet_celsius = magnet;
  const auto judged = JudgeBackEmf(c, reading);
  EXPECT_TRUE(judged.ok()) << judged.status();
  return judged.value_or(BackEmf{});
}

// 60 V/krpm at 20 C with -0.11 %/K is 56.04 at 80 C (coefficient from memory); back again here.
TEST(BackEmf, ToTwentyDegrees) {
  BackEmfCase c;
  c.percent_per_kelvin = -0.11;
  EXPECT_NEAR(Emf(c, {56.04, 56.04, 56.04}, 1000, 80).mean_volts_per_krpm_20c->nominal, 60, 1e-9);
}

// 168 V at 3000 rpm against a plate of 60 V/krpm: -6.67 % (arithmetic our own).
TEST(BackEmf, AgainstThePlate) {
  BackEmfCase c;
  c.expected_volts_per_krpm = standards::Band::Exactly(60);
  const BackEmf judged = Emf(c, {168, 168, 168}, 3000);
  EXPECT_THAT(judged.expected->reason, HasSubstr("-6.67 %"));
  EXPECT_EQ(judged.expected->verdict, Verdict::kMarginal);
  EXPECT_EQ(Emf(c, {150, 150, 150}, 3000).expected->verdict, Verdict::kFail);
  EXPECT_EQ(Emf(c, {175, 175, 175}, 3000).expected->verdict, Verdict::kPass);
}

// Magnets lose and do not gain: above the expectation stands a slip of the reading, whose factor is named (2 for speed,
// sqrt(3) for line and phase, sqrt(2) for rms and peak: arithmetic).
TEST(BackEmf, AboveTheExpectedValueIsAReadingToTakeAgain) {
  BackEmfCase c;
  c.expected_volts_per_krpm = standards::Band{58, 60, 62};
  c.resistance_ratio = standards::Band{0.95, 1, 1.05};
  const double r3 = std::sqrt(3.0);
  const std::pair<double, const char*> above[] = {
      {1.2, "speed, rms or peak"}, {2, "twice the speed"}, {r3, "line value"}};
  for (const auto& [factor, word] : above) {
    const double volts = 180 * factor;
    const BackEmf judged = Emf(c, {volts, volts, volts}, 3000);
    EXPECT_EQ(judged.expected->suspect, Suspect::kReading) << factor;
    EXPECT_THAT(judged.expected->points_to, Contains(HasSubstr(word))) << factor;
  }
  const std::pair<double, const char*> below[] = {{0.5, "half the speed"}, {1 / r3, "star and delta"}};
  for (const auto& [factor, word] : below) {
    const double volts = 180 * factor;
    const BackEmf judged = Emf(c, {volts, volts, volts}, 3000);
    EXPECT_EQ(judged.expected->suspect, Suspect::kWeakMagnets) << factor;
    EXPECT_THAT(judged.expected->points_to, Contains(HasSubstr(word))) << factor;
  }
}

// Half and 1/sqrt(3) are circuits and connections as well as slips: without the resistance none of them is named.
TEST(BackEmf, ASlipIsNoWrongConnectionBeforeTheResistanceIsRead) {
  BackEmfCase c;
  c.expected_volts_per_krpm = standards::Band{58, 60, 62};
  for (const double factor : {0.5, 1 / std::sqrt(3.0), 2.0}) {
    const double volts = 180 * factor;
    EXPECT_EQ(Emf(c, {volts, volts, volts}, 3000).expected->suspect, Suspect::kReading) << factor;
  }
  c.resistance_ratio = standards::Band{0.33, 1.0 / 3, 0.34};
  const double volts = 180 / std::sqrt(3.0);
  EXPECT_EQ(Emf(c, {volts, volts, volts}, 3000).expected->suspect, Suspect::kWrongConnection);
}

std::vector<BackEmfCause> Causes(std::array<double, 3> pairs, std::optional<double> resistance) {
  std::optional<standards::Band> band;
  if (resistance) band = {*resistance * 0.99, *resistance, *resistance * 1.01};
  std::vector<BackEmfCause> causes;
  for (const auto& explanation : ExplainBackEmf(pairs, true, band)) causes.push_back(explanation.cause);
  return causes;
}

// Star: line emf of phases m, 1, 1 is sqrt(m^2 + m + 1); derivation.
TEST(BackEmf, TellsMagnetsTurnsAndConnectionApart) {
  using C = BackEmfCause;
  EXPECT_THAT(Causes({0.8, 0.8, 0.8}, 1.0), ::testing::ElementsAre(C::kWeakMagnets));
  EXPECT_THAT(Causes({0.8, 0.8, 0.8}, 0.8), ::testing::ElementsAre(C::kWrongTurns));
  EXPECT_THAT(Causes({0.8, 0.8, 0.8}, 0.64), ::testing::ElementsAre(C::kWrongTurns));
  EXPECT_THAT(Causes({0.8, 0.8, 0.8}, std::nullopt), ::testing::ElementsAre(C::kWeakMagnets, C::kWrongTurns));
  const double r3 = std::sqrt(3.0);
  EXPECT_EQ(Causes({1 / r3, 1 / r3, 1 / r3}, 1.0 / 3)[0], C::kWrongConnection);
  EXPECT_EQ(Causes({1 / r3, 1, 1 / r3}, 1.0)[0], C::kReversedPhase);
  const double m = 0.7, r = std::sqrt((m * m + m + 1) / 3);
  const auto phase = ExplainBackEmf({r, 1, r}, true, std::nullopt);
  ASSERT_FALSE(phase.empty());
  EXPECT_EQ(phase[0].phase, "U");
  EXPECT_NEAR(*phase[0].turns_ratio, m, 1e-9);
}

TEST(BackEmf, SpeedAndFrequencyProveEachOther) {
  BackEmfCase c;
  c.poles = 8;
  BackEmfReading reading;
  reading.volts_rms = {100, 100, 100};
  reading.frequency_hz = 200;
  EXPECT_NEAR(*JudgeBackEmf(c, reading)->speed_rpm, 3000, 1e-9);
  reading.speed_rpm = 2000;
  EXPECT_EQ(JudgeBackEmf(c, reading)->balance.verdict, Verdict::kNotValid);
}

double Rise(TemperatureRiseCase c, double cold, double hot, double coolant) {
  TemperatureRiseReading reading;
  reading.cold_ohms = cold;
  reading.hot_ohms = hot;
  reading.coolant_celsius = coolant;
  const auto judged = JudgeTemperatureRise(c, reading);
  EXPECT_TRUE(judged.ok()) << judged.status();
  return judged->rise_kelvin;
}

// A published solved problem: 80 ohm at 20 C, 100 ohm hot, 1/234.5: 63.63 K. The others by the rule with k 235 and 225.
TEST(TemperatureRise, WorkedExamples) {
  TemperatureRiseCase ieee;
  ieee.preset = standards::ConductorPreset::kIeee112;
  EXPECT_NEAR(Rise(ieee, 80, 100, 20), 63.625, 0.01);
  EXPECT_NEAR(Rise({}, 80, 100, 20), 63.75, 1e-9);
  EXPECT_NEAR(Rise({}, 2.50, 3.20, 25), 66.4, 0.05);
  TemperatureRiseCase aluminium;
  aluminium.metal = standards::Metal::kAluminium;
  EXPECT_NEAR(Rise(aluminium, 2.50, 3.20, 25), 63.6, 0.05);
}

// Class F 105 K, 110 K small (from memory); both sides of the limit, and a reading that comes too late.
TEST(TemperatureRise, LimitsOfTheClass) {
  TemperatureRiseReading reading{1, 20, 1 + 105.0 / 255, 20, {}, 0};
  TemperatureRiseCase f;
  f.thermal_class_celsius = 155;
  // A limit is met at switch-off: a reading of unknown time is no plain pass.
  EXPECT_EQ(JudgeTemperatureRise(f, reading)->test.verdict, Verdict::kMarginal);
  EXPECT_THAT(JudgeTemperatureRise(f, reading)->test.reason, HasSubstr("how long after switch-off"));
  reading.seconds_after_switch_off = 20;
  EXPECT_EQ(JudgeTemperatureRise(f, reading)->test.verdict, Verdict::kPass);
  reading.hot_ohms += 0.001;
  EXPECT_EQ(JudgeTemperatureRise(f, reading)->test.verdict, Verdict::kFail);
  EXPECT_THAT(JudgeTemperatureRise(f, reading)->test.reason, HasSubstr("class F (155)"));
  TemperatureRiseCase small = f;
  small.rated_kw = 0.4;
  EXPECT_EQ(JudgeTemperatureRise(small, reading)->test.verdict, Verdict::kPass);
  reading.seconds_after_switch_off = 31;
  EXPECT_EQ(JudgeTemperatureRise(small, reading)->test.verdict, Verdict::kNotValid);
}

// Class B allows 80 K, F 105 K (IEC 60034-1, from memory): 86.8 K has no verdict before the class is known.
TEST(TemperatureRise, NoClassIsAssumed) {
  const TemperatureRiseReading reading{1, 20, 1 + 86.8 / 255, 20, {}, 0};
  const auto judged = JudgeTemperatureRise({}, reading);
  EXPECT_NEAR(judged->rise_kelvin, 86.8, 1e-9);
  EXPECT_EQ(judged->test.verdict, Verdict::kNotValid);
  EXPECT_THAT(judged->test.reason, HasSubstr("give the class"));
  TemperatureRiseCase b;
  b.thermal_class_celsius = 130;
  EXPECT_EQ(JudgeTemperatureRise(b, reading)->test.verdict, Verdict::kFail);
}

// Common practice, no source: a level is reached, not passed; 10 % over is the end of a plain pass.
TEST(WithstandReading, FarAboveTheLevelIsOverStress) {
  WithstandAsked asked;
  asked.test_volts = 1800;
  asked.hold_seconds = 60;
  WithstandReading reading;
  reading.hold_seconds = 60;
  reading.test_volts = 1979;
  EXPECT_EQ(JudgeWithstand(asked, reading)->verdict, Verdict::kPass);
  reading.test_volts = 1981;
  EXPECT_EQ(JudgeWithstand(asked, reading)->verdict, Verdict::kMarginal);
  reading.test_volts = 5000;
  EXPECT_THAT(JudgeWithstand(asked, reading)->reason, HasSubstr("over-stressed, 2.78 times"));
  // The second at 1.2 times the level counts against its own.
  asked.one_second_volts = 2160;
  reading.test_volts = 2160;
  reading.hold_seconds = 1;
  EXPECT_EQ(JudgeWithstand(asked, reading)->verdict, Verdict::kPass);
  reading.test_volts = 2400;
  EXPECT_EQ(JudgeWithstand(asked, reading)->verdict, Verdict::kMarginal);
}

TEST(WithstandReading, HeldBrokeAndLeaking) {
  WithstandAsked asked;
  asked.test_volts = 1500;
  asked.hold_seconds = 60;
  WithstandReading reading;
  reading.test_volts = 1500;
  reading.hold_seconds = 60;
  EXPECT_EQ(JudgeWithstand(asked, reading)->verdict, Verdict::kPass);
  reading.leakage_milliamps = {1, 1, 1.2};
  EXPECT_EQ(JudgeWithstand(asked, reading)->verdict, Verdict::kMarginal);
  asked.shop_leakage_milliamps = 1.1;
  EXPECT_EQ(JudgeWithstand(asked, reading)->verdict, Verdict::kFail);
  reading.test_volts = 1400;
  EXPECT_EQ(JudgeWithstand(asked, reading)->verdict, Verdict::kNotValid);
  reading.broke_down = true;
  EXPECT_EQ(JudgeWithstand(asked, reading)->verdict, Verdict::kFail);
}

}  // namespace
}  // namespace coilwright::testing
