#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <fstream>
#include <numeric>
#include <sstream>

#include "standards/tables.h"
#include "standards/units.h"
#include "winding/group_factor.h"
#include "winding/winding.h"

namespace coilwright::winding {
namespace {

using standards::kPi;

constexpr double kExact = 1e-10;

double Factor(const Pattern& pattern, int harmonic = 1) {
  const absl::StatusOr<double> factor = WindingFactor(pattern, harmonic);
  EXPECT_TRUE(factor.ok()) << factor.status() << " " << pattern.slots << "/" << pattern.poles;
  return factor.value_or(std::nan(""));
}

TEST(WindingFactor, AgreesWithEveryPrintedFactor) {
  std::ifstream file(COILWRIGHT_SOURCE_DIR "/tests/winding/winding_factors.csv");
  std::stringstream text;
  text << file.rdbuf();
  const standards::Table table(text.str());
  ASSERT_EQ(table.rows(), 170);
  for (int row = 0; row < table.rows(); ++row) {
    const auto whole = [&](absl::string_view column) { return static_cast<int>(*table.Number(row, column)); };
    const int slots = whole("slots"), poles = whole("poles"), pitch = whole("coil_pitch");
    const int harmonic = whole("harmonic");
    const double expected = *table.Number(row, "value"), tolerance = *table.Number(row, "tolerance");
    const absl::string_view kind = table.Text(row, "factor");
    SCOPED_TRACE(testing::Message() << slots << "/" << poles << " pitch " << pitch << " n " << harmonic << " "
                                    << std::string(table.Text(row, "source")));
    if (kind == "pitch") {
      EXPECT_NEAR(std::abs(PitchFactor(slots, poles, pitch, harmonic)), std::abs(expected), tolerance);
    } else if (kind == "distribution") {
      const Pattern pattern = {slots, poles, pitch, Layers::kDouble, CoilForm::kLap};
      EXPECT_NEAR(Factor(pattern, harmonic) / PitchFactor(slots, poles, pitch, harmonic), expected, tolerance);
    } else {
      const Layers layers = whole("layers") == 1 ? Layers::kSingle : Layers::kDouble;
      EXPECT_NEAR(Factor({slots, poles, pitch, layers, CoilForm::kToothCoil}, harmonic), expected, tolerance);
    }
  }
}

// Closed form for 60-degree belts, z the numerator of q; integral and fractional q alike.
TEST(WindingFactor, IsTheClosedFormForEveryBalancedDoubleLayer) {
  for (int slots = 3; slots <= 72; slots += 3) {
    for (int poles = 2; poles <= 60; poles += 2) {
      if (slots % (3 * std::gcd(slots, poles / 2)) != 0) continue;
      const int z = slots / std::gcd(slots, 3 * poles);
      const double kd = 0.5 / (z * std::sin(kPi / 6 / z));
      for (int pitch : {1, 2, slots / poles, slots / poles - 1, (slots - 1) / 2}) {
        if (pitch < 1 || pitch * poles % (2 * slots) == 0) continue;
        const double kp = std::abs(std::sin(kPi / 2 * pitch * poles / slots));
        ASSERT_NEAR(Factor({slots, poles, pitch}), kd * kp, kExact) << slots << "/" << poles << " pitch " << pitch;
      }
    }
  }
}

// Magnitude of the raw phasor sum over the coil list, whatever its axis.
double RawFactor(const Pattern& pattern, int harmonic, int phase, int shift = 0) {
  const std::vector<Coil> coils = *Coils(pattern);
  std::complex<double> sum = 0;
  int count = 0;
  for (const Coil& coil : coils) {
    if (coil.phase != phase) continue;
    ++count;
    const auto side = [&](int slot) {
      return std::polar(1.0, 2 * kPi * harmonic * (pattern.poles / 2) * (slot + shift) / pattern.slots);
    };
    sum += static_cast<double>(coil.sign) * (side(coil.go_slot) - side(coil.return_slot));
  }
  return std::abs(sum) / (2 * count);
}

TEST(WindingFactor, IsTheSameForEveryPhaseAndEveryStartingSlot) {
  for (const Pattern& pattern :
       {Pattern{36, 4, 8}, Pattern{27, 6, 4}, Pattern{54, 8, 6},
        Pattern{12, 10, 1, Layers::kDouble, CoilForm::kToothCoil}, Pattern{24, 4, 5, Layers::kSingle, CoilForm::kChain},
        Pattern{48, 4, 10, Layers::kSingle, CoilForm::kConcentric},
        Pattern{36, 4, 8, Layers::kDouble, CoilForm::kConcentric}}) {
    for (int harmonic : {1, 5, 7, 11, 13}) {
      const double factor = std::abs(Factor(pattern, harmonic));
      for (int phase : {0, 1, 2}) {
        for (int shift : {0, 1, 7}) {
          EXPECT_NEAR(RawFactor(pattern, harmonic, phase, shift), factor, kExact) << pattern.slots << " n " << harmonic;
        }
      }
    }
  }
}

// T. Singh, Electrical Machines II, Ex 1.1 p24 (single layer) and Ex 1.2 p28 (double layer): the layouts are printed,
// the factors follow from them.
TEST(WindingFactor, OfTheTwentyFourSlotExamples) {
  const Pattern chain = {24, 4, 5, Layers::kSingle, CoilForm::kChain};
  EXPECT_NEAR(Factor(chain, 1), 0.965926, 1e-6);
  EXPECT_NEAR(std::abs(Factor(chain, 3)), 0.707107, 1e-6);
  EXPECT_NEAR(std::abs(Factor(chain, 5)), 0.258819, 1e-6);
  EXPECT_NEAR(std::abs(Factor(chain, 7)), 0.258819, 1e-6);
  const Pattern lap = {24, 4, 5};
  EXPECT_NEAR(Factor(lap, 1), 0.933013, 1e-6);
  EXPECT_NEAR(std::abs(Factor(lap, 3)), 0.5, 1e-6);
  EXPECT_NEAR(std::abs(Factor(lap, 5)), 0.066987, 1e-6);
  EXPECT_NEAR(std::abs(Factor(lap, 7)), 0.066987, 1e-6);
}

// Belts of q slots filled by one layer: the factor is the distribution factor however the ends are joined.
TEST(WindingFactor, OfASingleLayerThatFillsItsBeltsIsTheDistributionFactor) {
  for (int q : {1, 2, 3, 4, 6}) {
    for (int poles : {2, 4, 6}) {
      const int slots = 3 * q * poles;
      const double kd = 0.5 / (q * std::sin(kPi / 6 / q));
      for (CoilForm form : {CoilForm::kChain, CoilForm::kConcentric, CoilForm::kLap}) {
        // A chain has an odd pitch: one side in an odd and one in an even slot.
        if (form == CoilForm::kChain && q % 2 == 0 && q != 2) continue;
        if (form != CoilForm::kChain || q % 2 != 0) {
          EXPECT_NEAR(Factor({slots, poles, 3 * q, Layers::kSingle, form}), kd, kExact);
        }
        if (q % 2 == 0) {
          const int half_belts = 3 * q - q / 2;
          EXPECT_NEAR(Factor({slots, poles, half_belts, Layers::kSingle, form}), kd, kExact);
        }
      }
    }
  }
}

// Concentric groups of equal turns fill the slots of the lap winding of their mean pitch: mean of sin(90 y/tau) over
// the spans 6, 8, 10 (0.945214) and 7, 9, 11 (0.959795) of a 36-slot 4-pole machine.
TEST(WindingFactor, OfConcentricGroupsIsThatOfTheLapWithTheirMeanPitch) {
  for (int mean : {8, 9}) {
    double sum = 0;
    for (int span : {mean - 2, mean, mean + 2}) sum += std::sin(kPi / 2 * span / 9);
    EXPECT_NEAR(Factor({36, 4, mean, Layers::kDouble, CoilForm::kConcentric}), sum / 3, kExact);
    EXPECT_NEAR(Factor({36, 4, mean}), sum / 3, kExact);
  }
}

// Groups of unequal turns: 8, 14 and 17 turns on spans 4, 6 and 8 of 9 slots count as 34.008 turns, by hand; equal
// turns are the concentric winding of the same mean pitch.
TEST(ConcentricGroupFactor, WeighsTheSpansByTheirTurns) {
  EXPECT_NEAR(39 * ConcentricGroupFactor(36, 4, {{4, 8}, {6, 14}, {8, 17}}), 34.008, 1e-3);
  EXPECT_NEAR(ConcentricGroupFactor(36, 4, {{6, 20}, {8, 20}, {10, 20}}), Factor({36, 4, 8}), kExact);
  EXPECT_NEAR(ConcentricGroupFactor(24, 4, {{5, 30}, {7, 30}}),
              Factor({24, 4, 6, Layers::kSingle, CoilForm::kConcentric}), kExact);
  EXPECT_EQ(ConcentricGroupFactor(36, 4, {}), 0);
}

// Slot harmonics n = k Q/p +- 1 keep the factor of the fundamental.
TEST(WindingFactor, OfSlotHarmonicsIsThatOfTheFundamental) {
  for (int harmonic : {17, 19, 35, 37}) {
    EXPECT_NEAR(std::abs(Factor({36, 4, 8}, harmonic)), Factor({36, 4, 8}), kExact);
  }
}

// Sawhney, A Course in Electrical Machine Design, Ex 11.20 p11.56: chording by a third lowers 2480 kVA to 2147 kVA.
TEST(PitchFactor, OfATwoThirdsCoil) { EXPECT_NEAR(PitchFactor(18, 2, 6), 2147.0 / 2480.0, 5e-4); }

TEST(WindingFactor, RefusesHarmonicsItDoesNotKnow) {
  EXPECT_TRUE(WindingFactor({36, 4, 8}, 1000).ok());
  for (int harmonic : {0, -1, 1001, 1000000000}) {
    EXPECT_EQ(WindingFactor({36, 4, 8}, harmonic).status().code(), absl::StatusCode::kInvalidArgument);
  }
  EXPECT_EQ(WindingFactor({48, 6, 7}).status().code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_EQ(Coils({48, 6, 7}).status().code(), absl::StatusCode::kFailedPrecondition);
}

TEST(SeriesTurns, DivideByTheCircuits) {
  EXPECT_DOUBLE_EQ(SeriesTurnsPerPhase(36, 34, 2), 204);  // 36 x 34 / (3 x 2)
  EXPECT_DOUBLE_EQ(SeriesTurnsPerPhase(36, 34, 4), SeriesTurnsPerPhase(36, 17, 2));
}

// What adds up to nothing would be -0.0 at some harmonics, which JSON prints.
TEST(WindingFactors, NothingHasNoSign) {
  std::vector<int> harmonics(60);
  std::iota(harmonics.begin(), harmonics.end(), 1);
  int nothing = 0;
  for (const Pattern& pattern :
       {Pattern{12, 8, 1, Layers::kDouble, CoilForm::kToothCoil}, Pattern{36, 4, 8, Layers::kDouble, CoilForm::kLap},
        Pattern{36, 4, 6, Layers::kDouble, CoilForm::kLap}}) {
    const absl::StatusOr<std::vector<double>> factors = WindingFactors(pattern, harmonics);
    ASSERT_TRUE(factors.ok()) << factors.status();
    for (const double factor : *factors) {
      if (factor != 0) continue;
      ++nothing;
      EXPECT_FALSE(std::signbit(factor)) << pattern.slots << "/" << pattern.poles;
    }
  }
  EXPECT_GT(nothing, 0);
}

}  // namespace
}  // namespace coilwright::winding
