#include "winding/field.h"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <map>
#include <numeric>

#include "standards/units.h"
#include "winding/short_names.h"

namespace coilwright::winding {
namespace {

using standards::kPi;

Layout LaidAs(const Pattern& pattern) {
  const absl::StatusOr<Layout> layout = LaidOut({pattern});
  EXPECT_TRUE(layout.ok()) << layout.status();
  return layout.value_or(Layout{});
}

// Whole q, full pitch: the table of q = 1..6 in textbooks (from memory) and its closed form.
TEST(DifferentialLeakage, OfWholeSlotsPerPoleAndPhaseIsTheClassicTable) {
  const double table[] = {0.0966, 0.0284, 0.0141, 0.0089, 0.0065, 0.0052};
  for (int q = 1; q <= 6; ++q) {
    for (const int poles : {2, 4, 10}) {
      const double kd = q == 1 ? 1 : 0.5 / (q * std::sin(kPi / 6 / q));
      const double closed = std::pow(kPi / (3 * kd), 2) * (5.0 * q * q + 1) / (6.0 * q * q) - 1;
      const double sigma = FieldOf(LaidAs({3 * q * poles, poles, 3 * q})).differential_leakage;
      EXPECT_NEAR(sigma, table[q - 1], 5e-5) << q;
      EXPECT_NEAR(sigma, closed, 1e-10) << q;
    }
  }
}

// Summed wave by wave, which leaves a tail of about (slots / pole pairs) / (order / pole pairs).
TEST(DifferentialLeakage, IsTheSumOverTheWaves) {
  for (const Pattern& pattern :
       {Pattern{24, 4, 5}, Pattern{36, 4, 8}, Pattern{36, 4, 7}, Pattern{27, 6, 4}, Pattern{18, 8, 2},
        Pattern{12, 10, 1, kTwo, kTooth}, Pattern{12, 10, 1, kOne, kTooth}, Pattern{9, 8, 1, kTwo, kTooth},
        Pattern{9, 10, 1, kTwo, kTooth}, Pattern{24, 4, 5, kOne, CoilForm::kChain}}) {
    const Layout layout = LaidAs(pattern);
    double sum = -1;
    for (const Wave& wave : WavesOf(layout, 100000)) sum += wave.amplitude_ratio * wave.amplitude_ratio;
    EXPECT_NEAR(FieldOf(layout).differential_leakage, sum, 1e-3) << pattern.slots << "/" << pattern.poles;
    EXPECT_GT(FieldOf(layout).differential_leakage, sum);
  }
}

// Half-integer slots per pole and phase of a half: only orders 1, 2, 4, 5, 7, 8 ... of factor sqrt(3)/2 remain, so that
// the sum is that of 1/n^2 without multiples of three less one: 8/9 pi^2/6 - 1.
TEST(DifferentialLeakage, OfThreeTeethOnTwoPolesIsAClosedSum) {
  for (const Pattern& pattern : {Pattern{3, 2, 1, kTwo, kTooth}, Pattern{12, 8, 1, kTwo, kTooth}}) {
    EXPECT_NEAR(FieldOf(LaidAs(pattern)).differential_leakage, 8.0 / 9 * kPi * kPi / 6 - 1, 1e-12);
  }
}

// Summed separately over waves from lists of coils, by another program.
TEST(DifferentialLeakage, AgreesWithSumsMadeElsewhere) {
  struct Sums {
    Pattern pattern;
    double sigma;
  };
  for (const Sums& c : {Sums{{24, 4, 5}, 0.0235},
                        {{36, 4, 8}, 0.0115},
                        {{36, 4, 7}, 0.0111},
                        {{48, 4, 10}, 0.0062},
                        {{27, 6, 4}, 0.0456},
                        {{18, 8, 2}, 0.2729},
                        {{12, 10, 1, kTwo, kTooth}, 0.9683},
                        {{12, 10, 1, kOne, kTooth}, 2.6730},
                        {{12, 14, 1, kTwo, kTooth}, 2.8580},
                        {{9, 8, 1, kTwo, kTooth}, 1.1821},
                        {{18, 16, 1, kTwo, kTooth}, 1.1821},
                        {{9, 10, 1, kTwo, kTooth}, 2.4095},
                        {{15, 14, 1, kTwo, kTooth}, 1.3744},
                        {{24, 22, 1, kTwo, kTooth}, 1.2999},
                        {{24, 22, 1, kOne, kTooth}, 3.5213}}) {
    EXPECT_NEAR(FieldOf(LaidAs(c.pattern)).differential_leakage, c.sigma, 5.1e-5)
        << c.pattern.slots << "/" << c.pattern.poles << " pitch " << c.pattern.coil_pitch;
  }
}

// Signed amplitudes by order, + forward.
std::map<int, double> Spectrum(const Pattern& pattern, int most_order) {
  std::map<int, double> spectrum;
  for (const Wave& wave : WavesOf(LaidAs(pattern), most_order)) {
    spectrum[wave.order] += wave.forward ? wave.amplitude_ratio : -wave.amplitude_ratio;
  }
  return spectrum;
}

// Full-pitch whole q: order 6k+1 runs forward and 6k-1 backward with kd(n)/(n kd), sin(n 30)/(q sin(n 30/q)).
TEST(Waves, OfWholeSlotsPerPoleAndPhaseAreTheTextbookSeries) {
  for (const int q : {2, 3, 4}) {
    const auto spectrum = Spectrum({12 * q, 4, 3 * q}, 120);
    const auto kd = [&](int n) { return std::sin(n * kPi / 6) / (q * std::sin(n * kPi / 6 / q)); };
    for (int order = 1; order <= 120; ++order) {
      const int n = order / 2;
      const bool runs = order % 2 == 0 && n % 2 != 0 && n % 3 != 0;
      ASSERT_EQ(spectrum.count(order), runs) << order;
      if (!runs) continue;
      EXPECT_NEAR(spectrum.at(order), (n % 6 == 1 ? 1 : -1) * std::abs(kd(n) / n / kd(1)), 1e-10) << order;
    }
  }
}

// R. K. Srivastava, Electrical Machines, Ex 5.7: two poles, 50 Hz: the fifth runs at -600 rpm, the seventh at 428.57
// rpm.
TEST(Waves, RunAtTheSpeedsInPrint) {
  const std::vector<Wave> waves = WavesOf(LaidAs({12, 2, 5}), 7);
  ASSERT_EQ(waves.size(), 3u);
  EXPECT_NEAR(waves[1].speed_ratio * 3000, -600, 1e-9);
  EXPECT_NEAR(waves[2].speed_ratio * 3000, 428.57, 0.005);
}

// Tooth coils: kw(n) of AabB... by hand for 12/10 (two layers): order 7 has the factor of order 5, order 1 sin(15)
// sin(15).
TEST(Waves, OfToothCoilsHaveTheirSubHarmonics) {
  const auto twelve_ten = Spectrum({12, 10, 1, kTwo, kTooth}, 20);
  const double s15 = std::pow(std::sin(kPi / 12), 2), s75 = std::pow(std::sin(5 * kPi / 12), 2);
  EXPECT_NEAR(twelve_ten.at(1), -5 * s15 / s75, 1e-10);
  EXPECT_NEAR(twelve_ten.at(5), 1, 1e-12);
  EXPECT_NEAR(twelve_ten.at(7), -5.0 / 7, 1e-10);
  EXPECT_NEAR(twelve_ten.at(17), 5.0 / 17, 1e-10);
  EXPECT_NEAR(twelve_ten.at(19), -5.0 / 19, 1e-10);
  for (const int order : {2, 3, 4, 6, 8, 9, 10}) EXPECT_EQ(twelve_ten.count(order), 0u) << order;
  // Three teeth on two poles: every order but the multiples of three, 1/n, in turn forward and backward.
  const auto twelve_eight = Spectrum({12, 8, 1, kTwo, kTooth}, 20);
  EXPECT_NEAR(twelve_eight.at(8), -0.5, 1e-10);
  EXPECT_NEAR(twelve_eight.at(16), 0.25, 1e-10);
  EXPECT_NEAR(twelve_eight.at(20), -0.2, 1e-10);
}

// The same by a plain Fourier integral of the stepped field at two instants, without phasors of phases.
TEST(Waves, AgreeWithTheFieldIntegratedAtTwoInstants) {
  for (const Pattern& pattern : {Pattern{27, 6, 4}, Pattern{9, 10, 1, kTwo, kTooth}, Pattern{18, 16, 1, kOne, kTooth},
                                 Pattern{36, 4, 8, kTwo, CoilForm::kConcentric}}) {
    const Layout layout = LaidAs(pattern);
    const SlotCurrents currents = CurrentsOf(layout);
    // Coefficient of cos and sin of the field at a time angle, for phase currents cos(t - phase x 120).
    const auto coefficients = [&](double t, int order) {
      double c = 0, s = 0;
      for (int slot = 0; slot < layout.slots; ++slot) {
        double current = 0;
        for (size_t phase = 0; phase < 3; ++phase) {
          current +=
              currents[static_cast<size_t>(slot)][phase] * std::cos(t - 2 * kPi / 3 * static_cast<double>(phase));
        }
        const double angle = 2 * kPi * slot * order / layout.slots;
        c += -current * std::sin(angle) / order;
        s += current * std::cos(angle) / order;
      }
      return std::pair(c, s);
    };
    // Forward amplitude from two instants a quarter period apart.
    const auto rising = [&](int order) {
      const auto [c0, s0] = coefficients(0, order);
      const auto [c1, s1] = coefficients(kPi / 2, order);
      return std::pair(std::hypot(c0 + s1, s0 - c1) / 2, std::hypot(c0 - s1, s0 + c1) / 2);
    };
    const double main = rising(pattern.poles / 2).first;
    const auto spectrum = Spectrum(pattern, 60);
    for (int order = 1; order <= 60; ++order) {
      const auto [forward, backward] = rising(order);
      const double expected = (forward - backward) / main;
      EXPECT_NEAR(spectrum.count(order) > 0 ? spectrum.at(order) : 0, expected, 1e-9) << pattern.slots << " " << order;
    }
  }
}

TEST(Field, RepeatsAndPullsAsSlotsAndPolesSay) {
  for (int slots = 6; slots <= 60; slots += 3) {
    for (int poles = 2; poles <= 28; poles += 2) {
      const Pattern pattern = {slots, poles, 1, kTwo, kTooth};
      if (slots % (3 * std::gcd(slots, poles / 2)) != 0 || poles % (2 * slots) == 0) continue;
      const Field field = FieldOf(LaidAs(pattern));
      EXPECT_EQ(field.periods_per_rev, std::gcd(slots, poles / 2)) << slots << "/" << poles;
      EXPECT_EQ(field.radial_pull_order, std::gcd(slots, poles));
      EXPECT_EQ(field.radial_pull_balanced, std::gcd(slots, poles) > 1) << slots << "/" << poles;
    }
  }
  EXPECT_FALSE(FieldOf(LaidAs({9, 8, 1, kTwo, kTooth})).radial_pull_balanced);
  // Three sections alike: the pulls of the three thirds cancel, though no two lie half a turn apart.
  EXPECT_TRUE(FieldOf(LaidAs({9, 6, 1, kTwo, kTooth})).radial_pull_balanced);
  EXPECT_EQ(FieldOf(LaidAs({9, 6, 1, kTwo, kTooth})).radial_pull_order, 3);
  EXPECT_TRUE(FieldOf(LaidAs({12, 10, 1, kTwo, kTooth})).radial_pull_balanced);
  // One layer of 18/16: nine coils, no two of them half a turn apart.
  EXPECT_FALSE(FieldOf(LaidAs({18, 16, 1, kOne, kTooth})).radial_pull_balanced);
}

// Maxwell's stress goes with the square of the radial field, and the net force with its first wave round the bore: two
// waves of the field give one only where their orders differ by one. Waves: those of the currents, and the odd
// multiples of the pole pairs of the magnets.
TEST(Field, PullsToOneSideWhereTwoOrdersDifferByOne) {
  int one_sided = 0, balanced = 0;
  for (int slots = 3; slots <= 48; slots += 3) {
    for (int poles = 2; poles <= 28; poles += 2) {
      for (const Layers layers : {kOne, kTwo}) {
        for (const int pitch : {1, 3, slots / poles}) {
          const auto coils = LaidOut({{slots, poles, pitch, layers, pitch == 1 ? kTooth : CoilForm::kLap}});
          if (pitch < 1 || !coils.ok()) continue;
          const SlotCurrents currents = CurrentsOf(*coils);
          std::vector<bool> runs(static_cast<size_t>(2 * slots * poles) + 2);
          for (size_t order = 1; order < runs.size(); ++order) {
            runs[order] = order % static_cast<size_t>(poles) == static_cast<size_t>(poles / 2);
            for (size_t phase = 0; phase < 3; ++phase) {
              std::complex<double> sum = 0;
              for (size_t slot = 0; slot < currents.size(); ++slot) {
                sum += std::polar(1.0, 2 * M_PI * static_cast<double>(order * slot % currents.size()) / slots) *
                       static_cast<double>(currents[slot][phase]);
              }
              runs[order] = runs[order] || std::abs(sum) > 1e-9;
            }
            if (order > static_cast<size_t>(slots + poles)) break;
          }
          bool pulls = false;
          for (size_t order = 2; order < runs.size(); ++order) pulls = pulls || (runs[order] && runs[order - 1]);
          EXPECT_EQ(FieldOf(*coils).radial_pull_balanced, !pulls) << slots << "/" << poles << " pitch " << pitch;
          (pulls ? one_sided : balanced) += 1;
        }
      }
    }
  }
  EXPECT_GT(one_sided, 10);
  EXPECT_GT(balanced, 100);
}

TEST(Field, HasTheWindingFactorOfThePattern) {
  for (const Pattern& pattern : {Pattern{36, 4, 8}, Pattern{27, 6, 4}, Pattern{12, 14, 1, kTwo, kTooth},
                                 Pattern{48, 4, 10, kOne, CoilForm::kConcentric}, Pattern{720, 120, 2}}) {
    const Field field = FieldOf(LaidAs(pattern));
    for (const double factor : field.winding_factors) EXPECT_NEAR(factor, *WindingFactor(pattern), 1e-10);
  }
}

}  // namespace
}  // namespace coilwright::winding
