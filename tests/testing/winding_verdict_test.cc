// The verdict of the winding from all its readings. Sources stand beside the checks.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "absl/strings/match.h"
#include "standards/errors.h"
#include "testing/programme_steps.h"
#include "testing/readings.h"

namespace coilwright::testing {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

JudgeCase ServoReadings(Stage stage = Stage::kAsReceived) {
  JudgeCase c;
  c.programme.stage = stage;
  c.programme.rated_volts = 230;
  c.programme.rated_kw = 0.75;
  c.programme.permanent_magnet = true;
  c.programme.rotor_fitted = !RotorOutStage(stage);
  c.programme.fitted.feedback = Feedback::kResolver;
  c.programme.fitted.brake = FittedBrake{};
  return c;
}

LineResistances Ohms(double uv, double vw, double wu) {
  LineResistances readings;
  readings.ohms = {uv, vw, wu};
  return readings;
}

insulation::MegohmReading Megohms(double megohms) {
  insulation::MegohmReading reading;
  reading.megohms_60s = megohms;
  reading.winding_celsius = 40;
  return reading;
}

SurgeReading Surge(double other_frequency = 50e3, bool locked = true) {
  SurgeReading reading;
  reading.sample_seconds = 1e-6;
  reading.locked_at_same_position = locked;
  for (const WavePoint point : {WavePoint::kUV, WavePoint::kVW, WavePoint::kWU}) {
    const double f = point == WavePoint::kUV ? 50e3 : other_frequency;
    std::vector<double> volts;
    for (int i = 0; i < 150; ++i)
      volts.push_back(1150 * std::exp(-2e4 * i * 1e-6) * std::cos(6.283185307 * f * i * 1e-6));
    reading.waves.push_back({point, volts, {}});
  }
  return reading;
}

// One by one: the compiler takes a list of variants for uninitialized.
template <typename... R>
std::vector<Reading> Take(R... readings) {
  std::vector<Reading> all;
  (all.emplace_back(std::move(readings)), ...);
  return all;
}

WindingJudgement Judged(const JudgeCase& c, const std::vector<Reading>& readings) {
  const auto judged = JudgeReadings(c, readings);
  EXPECT_TRUE(judged.ok()) << judged.status();
  return judged.value_or(WindingJudgement{});
}

TEST(WindingVerdict, AnswersTheShopsQuestion) {
  using V = WindingVerdict;
  const JudgeCase c = ServoReadings();
  const auto good = Judged(c, Take(Ohms(1, 1, 1), Megohms(800), Surge()));
  EXPECT_EQ(good.verdict, V::kSound);
  EXPECT_THAT(good.summary, HasSubstr("bearings, then the resolver"));
  EXPECT_TRUE(good.turn_insulation_tested);
  EXPECT_EQ(Judged(c, Take(Ohms(1, 1, 1), Megohms(800))).verdict, V::kNoFaultFoundTurnsNotTested);
  EXPECT_EQ(Judged(c, Take(Ohms(1, 1, 1), Megohms(800), Surge(50e3, false))).verdict, V::kNoFaultFoundTurnsNotTested);
  const auto damp = Judged(c, Take(Ohms(1, 1, 1), Megohms(2)));
  EXPECT_EQ(damp.verdict, V::kDryOut);
  EXPECT_EQ(*damp.dry_out_most_celsius, 70);
  EXPECT_THAT(damp.dry_out_limited_by, Contains("magnets"));
  EXPECT_EQ(Judged(c, Take(Ohms(1, 1, 1), Megohms(0))).verdict, V::kRewind);
  EXPECT_EQ(Judged(c, Take(Ohms(1, 1, 1), Megohms(800), Surge(55e3))).verdict, V::kRewind);
  EXPECT_EQ(Judged(c, Take(Ohms(0.93, 1, 0.93), Megohms(800))).verdict, V::kRewind);
  EXPECT_EQ(Judged(c, Take(Ohms(1.07, 1, 1.07), Megohms(800))).verdict, V::kRepairConnection);
  EXPECT_EQ(Judged(c, Take(Ohms(2.5, 1, 1), Megohms(800))).verdict, V::kUndecided);
  const auto half = Judged(c, Take(Megohms(800)));
  EXPECT_EQ(half.verdict, V::kUndecided);
  EXPECT_THAT(half.reasons, Contains(HasSubstr("not read: Winding resistance")));
}

// Two-reaction theory: a salient rotor at any position moves the waves as a shorted turn does, whatever kind it is.
TEST(WindingVerdict, AnUnlockedRotorOfUnknownKindDecidesNothing) {
  JudgeCase c = ServoReadings();
  c.programme.permanent_magnet = false;
  for (const double hz : {50e3, 55e3}) {
    EXPECT_EQ(Judged(c, Take(Ohms(1, 1, 1), Megohms(800), Surge(hz, false))).verdict,
              WindingVerdict::kNoFaultFoundTurnsNotTested);
  }
  c.programme.induction = true;
  EXPECT_EQ(Judged(c, Take(Ohms(1, 1, 1), Megohms(800), Surge(50e3, false))).verdict, WindingVerdict::kSound);
}

TEST(WindingVerdict, WeakMagnetsAreNoFaultOfTheWinding) {
  JudgeCase c = ServoReadings();
  c.plate_volts_per_krpm = 60;
  c.programme.expected_line_to_line_ohms_low = 0.95;
  c.programme.expected_line_to_line_ohms_high = 1.05;
  BackEmfReading emf;
  emf.volts_rms = {150, 150, 150};
  emf.speed_rpm = 3000;
  EXPECT_EQ(Judged(c, Take(Ohms(1, 1, 1), Megohms(800), Surge(), emf)).verdict, WindingVerdict::kMagnetsWeak);
}

// Two open phases would silence the pairs, and the resistances show none: the shaft, its coupling or the magnets.
TEST(WindingVerdict, ASilentBackEmfIsNoOpenWinding) {
  JudgeCase c = ServoReadings();
  c.plate_volts_per_krpm = 60;
  for (const double volts : {0.0, 0.5}) {
    BackEmfReading emf;
    emf.volts_rms = {volts, 0, volts};
    emf.speed_rpm = 3000;
    const auto judged = Judged(c, Take(Ohms(1, 1, 1), Megohms(800), Surge(), emf));
    EXPECT_NE(judged.verdict, WindingVerdict::kRepairConnection);
    ASSERT_EQ(judged.readings[3].tests.size(), 1u);
    EXPECT_EQ(judged.readings[3].tests[0].verdict, Verdict::kNotValid);
    EXPECT_THAT(judged.readings[3].tests[0].reason, HasSubstr("turn the shaft"));
  }
}

TEST(WindingVerdict, MegohmsComeBeforeAWithstandTest) {
  const JudgeCase c = ServoReadings(Stage::kAssembled);
  WithstandReading withstand;
  withstand.test_volts = 1500;  // below 1 kW: 2U + 1000 V, at least 1500 V (IEC 60034-1)
  withstand.hold_seconds = 60;
  const auto late = Judged(c, Take(Ohms(1, 1, 1), withstand, Megohms(800)));
  EXPECT_EQ(late.readings[1].tests[0].verdict, Verdict::kMarginal);
  EXPECT_THAT(late.readings[1].tests[0].reason, HasSubstr("megohms come first"));
  EXPECT_EQ(Judged(c, Take(Ohms(1, 1, 1), Megohms(800), withstand)).readings[2].tests[0].verdict, Verdict::kPass);
  // Where the programme leaves it out it proves nothing, and a breakdown is one all the same.
  const auto intake = Judged(ServoReadings(), Take(Ohms(1, 1, 1), Megohms(800), Surge(), withstand));
  EXPECT_EQ(intake.readings[3].tests[0].verdict, Verdict::kNotValid);
  EXPECT_THAT(intake.readings[3].tests[0].reason, HasSubstr("unknown state"));
  EXPECT_EQ(intake.verdict, WindingVerdict::kSound);
  withstand.broke_down = true;
  EXPECT_EQ(Judged(ServoReadings(), Take(Ohms(1, 1, 1), Megohms(800), Surge(), withstand)).verdict,
            WindingVerdict::kRewind);
}

// Marginal megohms are dried, not waited on (docs/readings.md); what is open is said with the headline.
TEST(WindingVerdict, MarginalMegohmsDryOutAndOpenTestsAreSaid) {
  insulation::MegohmReading marginal = Megohms(5.1);  // 5 megohms is the minimum of a new random winding (IEEE 43-2013)
  marginal.uncertainty_ratio = 0.05;
  EXPECT_EQ(Judged(ServoReadings(), Take(Ohms(1, 1, 1), marginal, Surge())).verdict, WindingVerdict::kDryOut);
  EXPECT_THAT(Judged(ServoReadings(), Take(Ohms(1, 1, 1), Megohms(800), Surge())).summary, HasSubstr("sound so far"));
}

// The figure beside the verdict is the set-point that made it: 0.04 watch, 0.10 act (shop's).
TEST(WindingVerdict, ASurgeFaultShowsItsActLimit) {
  const auto judged = Judged(ServoReadings(), Take(Ohms(1, 1, 1), Megohms(800), Surge(55e3)));
  EXPECT_EQ(judged.readings[2].tests[0].verdict, Verdict::kFail);
  EXPECT_EQ(*judged.readings[2].tests[0].limit.high, 0.1);
  EXPECT_LT(*judged.readings[2].tests[0].margin, 0);
}

BackEmfReading Emf(double uv, double vw, double wu) {
  BackEmfReading reading;
  reading.volts_rms = {uv, vw, wu};
  reading.speed_rpm = 3000;
  return reading;
}

// 1.05, 1, 1 ohm is a star with one phase at 0.475 and two at 0.525 (closed form), or a contact of 0.05 ohm in one
// reading: the coil with a tenth of its turns shorted would ring otherwise, and equal waves rule it out.
TEST(WindingVerdict, EqualWavesContradictTurnsMissingByOneReading) {
  const auto judged = Judged(ServoReadings(), Take(Ohms(1.05, 1, 1), Megohms(800), Surge()));
  EXPECT_EQ(judged.verdict, WindingVerdict::kUndecided);
  EXPECT_THAT(judged.next_steps, Contains(HasSubstr("read U-V again")));
  EXPECT_THAT(judged.next_steps, Contains(HasSubstr("contact of about 0.05 ohm")));
  EXPECT_THAT(judged.readings[0].tests[0].reason, HasSubstr("contradicted by the surge waves"));
  SurgeReading high = Surge();
  for (SurgeWave& wave : high.waves) {
    for (double& v : wave.volts) v *= 1.5;
  }
  EXPECT_EQ(Judged(ServoReadings(), Take(Ohms(1.05, 1, 1), Megohms(800), high)).verdict, WindingVerdict::kUndecided);
  // Without waves, with waves that may not be compared, or with waves that differ, the turns stand.
  EXPECT_EQ(Judged(ServoReadings(), Take(Ohms(1.05, 1, 1), Megohms(800))).verdict, WindingVerdict::kRewind);
  EXPECT_EQ(Judged(ServoReadings(), Take(Ohms(1.05, 1, 1), Megohms(800), Surge(50e3, false))).verdict,
            WindingVerdict::kRewind);
  EXPECT_EQ(Judged(ServoReadings(), Take(Ohms(1.05, 1, 1), Megohms(800), Surge(55e3))).verdict,
            WindingVerdict::kRewind);
  // A joint adds no turns and takes none away: the waves say nothing against it.
  EXPECT_EQ(Judged(ServoReadings(), Take(Ohms(1.07, 1, 1.07), Megohms(800), Surge())).verdict,
            WindingVerdict::kRepairConnection);
}

// One pair misread: by r^2 = (m^2 + m + 1) / 3 one phase would have other turns, which equal resistances and equal
// waves rule out.
TEST(WindingVerdict, ResistancesAndWavesContradictTurnsByOneBackEmf) {
  JudgeCase c = ServoReadings();
  c.programme.expected_ke_low = 58;
  c.programme.expected_ke_high = 62;
  for (const double volts : {171.0, 90.0, 190.0}) {
    const auto judged = Judged(c, Take(Ohms(1, 1, 1), Megohms(800), Surge(), Emf(180, 180, volts)));
    EXPECT_EQ(judged.verdict, WindingVerdict::kUndecided) << volts;
    EXPECT_THAT(judged.next_steps, Contains(HasSubstr("read W-U again"))) << volts;
  }
  // A phase with fewer turns that the waves show too stays one.
  EXPECT_EQ(Judged(c, Take(Ohms(1, 1, 1), Megohms(800), Surge(55e3), Emf(170, 180, 170))).verdict,
            WindingVerdict::kRewind);
}

TEST(WindingVerdict, BackEmfAboveTheExpectationIsUndecided) {
  JudgeCase c = ServoReadings();
  c.plate_volts_per_krpm = 60;
  c.programme.expected_line_to_line_ohms_low = 0.95;
  c.programme.expected_line_to_line_ohms_high = 1.05;
  for (const double volts : {216.0, 360.0, 311.8}) {
    EXPECT_EQ(Judged(c, Take(Ohms(1, 1, 1), Megohms(800), Surge(), Emf(volts, volts, volts))).verdict,
              WindingVerdict::kUndecided);
  }
}

TEST(WindingVerdict, ThreePairsOnAnArmatureProveNothing) {
  JudgeCase c = ServoReadings();
  c.programme.permanent_magnet = false;
  c.programme.three_phase = false;
  const auto judged = Judged(c, Take(Ohms(1, 1, 1), Megohms(800), Surge()));
  EXPECT_EQ(judged.verdict, WindingVerdict::kNoFaultFoundTurnsNotTested);
  for (const size_t reading : {0u, 2u}) {
    EXPECT_EQ(judged.readings[reading].tests[0].verdict, Verdict::kNotValid);
    EXPECT_THAT(judged.readings[reading].tests[0].reason, HasSubstr("three phases"));
  }
  EXPECT_EQ(Judged(c, Take(Ohms(0.9, 1, 0.9), Megohms(0))).verdict,
            WindingVerdict::kRewind);  // an earth fault stays one
}

// Whatever else is missing, the same words say that no turn was tested.
TEST(WindingVerdict, ATurnTestThatIsMissingIsSaidAtEveryStage) {
  for (const Stage stage : {Stage::kAsReceived, Stage::kWoundBeforeTreatment, Stage::kTreated, Stage::kAssembled}) {
    const auto judged = Judged(ServoReadings(stage), Take(Ohms(1, 1, 1), Megohms(800)));
    EXPECT_TRUE(absl::StrContains(judged.summary, "turn insulation not tested") ||
                ::testing::Value(judged.reasons, Contains("turn insulation not tested")));
  }
}

TEST(WindingVerdict, StageDecidesWhatCounts) {
  const auto released = Judged(ServoReadings(Stage::kAssembled), Take(Ohms(1, 1, 1), Megohms(800), Surge()));
  EXPECT_EQ(released.verdict, WindingVerdict::kUndecided);
  std::vector<TestKind> deciding;
  for (const MissingTest& test : released.missing) {
    if (test.decides) deciding.push_back(test.kind);
  }
  EXPECT_THAT(deciding, ::testing::UnorderedElementsAre(TestKind::kWithstandAc, TestKind::kBackEmf));
}

// Resistance, megohms and withstand do not see a shorted turn: without a valid turn test nothing makes a winding sound.
TEST(WindingVerdict, NeverSoundWithoutATurnTest) {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> uniform(0, 1);
  int not_tested = 0;
  for (int trial = 0; trial < 1500; ++trial) {
    JudgeCase c = ServoReadings(static_cast<Stage>(random() % 7));
    c.programme.permanent_magnet = random() % 2 == 0;
    std::vector<Reading> readings =
        Take(Ohms(1, 1 + 0.03 * uniform(random), 1), Megohms(std::pow(10, 4 * uniform(random))));
    if (random() % 2 == 0) {
      WithstandReading withstand;
      withstand.test_volts = 1000 + 1000 * uniform(random);
      withstand.hold_seconds = 60;
      readings.emplace_back(withstand);
    }
    if (random() % 2 == 0) {
      BackEmfReading emf;
      emf.volts_rms = {100, 100, 100};
      emf.speed_rpm = 2000;
      readings.emplace_back(emf);
    }
    // Waves that are no turn test: one or two of three, a level too low, or a magnet rotor at any position.
    switch (random() % 4) {
      case 0: {
        SurgeReading surge = Surge();
        surge.waves.resize(1 + random() % 2);
        readings.emplace_back(surge);
        break;
      }
      case 1: {
        SurgeReading surge = Surge();
        for (SurgeWave& wave : surge.waves) {
          for (double& v : wave.volts) v *= 0.1;
        }
        readings.emplace_back(surge);
        break;
      }
      case 2:
        if (c.programme.permanent_magnet && c.programme.stage == Stage::kAsReceived)
          readings.emplace_back(Surge(50e3, false));
        break;
      default:
        break;
    }
    for (const TestKind kind : {TestKind::kVisual, TestKind::kPolarity})
      readings.emplace_back(Observation{kind, true, ""});
    const auto judged = JudgeReadings(c, readings);
    ASSERT_TRUE(judged.ok()) << judged.status();
    EXPECT_NE(judged->verdict, WindingVerdict::kSound) << trial;
    not_tested += judged->verdict == WindingVerdict::kNoFaultFoundTurnsNotTested;
  }
  EXPECT_GT(not_tested, 100);  // the property is not empty
}

TEST(WindingVerdict, EveryWrongFieldOfEveryReadingIsNamed) {
  LineResistances ohms = Ohms(-1, 1, 1);
  WithstandReading withstand;
  JudgeCase servo = ServoReadings();
  servo.programme.expected_ke_low = servo.programme.expected_ke_high = std::nullopt;
  servo.plate_volts_per_krpm = 2e6;
  const auto judged = JudgeReadings(servo, Take(ohms, withstand, BackEmfReading()));
  std::vector<std::string> fields;
  for (const auto& error : standards::FieldErrorsOf(judged.status())) fields.push_back(error.field);
  // What is expected stands beside the readings.
  EXPECT_THAT(fields, Contains("expected_ke_volts_per_krpm.low"));
  EXPECT_THAT(fields, Contains("readings[0].resistance.line_to_line.u_v_ohms"));
  EXPECT_THAT(fields, Contains("readings[1].withstand.test_volts"));
}

}  // namespace
}  // namespace coilwright::testing
