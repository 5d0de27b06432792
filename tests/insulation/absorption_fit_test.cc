// The fit of absorption and conduction against closed forms and against SciPy on the same data (fit_oracle.py).
#include "insulation/absorption_fit.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <random>
#include <sstream>
#include <string>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"

namespace coilwright::insulation {
namespace {

struct Law {
  double a, n, c;
  double At(double t) const { return a * std::pow(t, -n) + c; }
};

// Bins at even steps of ln t with scatter in proportion, as a run records them.
std::vector<BinnedCurrent> Bins(const Law& law, double from, double to, int count, double scatter, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal;
  std::vector<BinnedCurrent> bins;
  for (int i = 0; i < count; ++i) {
    BinnedCurrent bin;
    bin.seconds = from * std::pow(to / from, i / (count - 1.0));
    bin.samples = std::max(1.0, std::floor(0.048 * bin.seconds));
    bin.microamps = law.At(bin.seconds) * (1 + scatter / std::sqrt(bin.samples) * normal(random));
    bins.push_back(bin);
  }
  return bins;
}

struct Answer {
  std::array<double, 8> numbers{};  // A, n, C, errors of each, least and greatest ratio
};

Answer OfSciPy(const std::vector<BinnedCurrent>& bins, const std::string& name) {
  const std::string file = testing::TempDir() + name + ".txt";
  std::ofstream out(file);
  for (const BinnedCurrent& bin : bins)
    out << absl::StrFormat("%.17g %.17g %.17g\n", bin.seconds, bin.microamps, bin.samples);
  out.close();
  FILE* pipe = popen(
      absl::StrCat("/usr/bin/python3 " COILWRIGHT_SOURCE_DIR "/tests/insulation/fit_oracle.py < ", file).c_str(), "r");
  Answer answer;
  for (double& number : answer.numbers) EXPECT_EQ(std::fscanf(pipe, "%lf", &number), 1);
  pclose(pipe);
  return answer;
}

TEST(AbsorptionFit, IsThatOfSciPyOnTheSameData) {
  ASSERT_EQ(std::system("/usr/bin/python3 -c 'import numpy, scipy.optimize, scipy.stats'"), 0)
      << "this test needs python3-scipy: bash .ci/setup.sh tests";
  int set = 0;
  for (const Law& law :
       {Law{2, 0.8, 0.02}, Law{10, 0.5, 0.5}, Law{0.3, 1.2, 0.002}, Law{150, 0.95, 1.5}, Law{5, 0.7, 0.2}}) {
    for (const auto& [to, scatter] : {std::pair<double, double>{600, 0.01}, {120, 0.003}, {600, 0.03}}) {
      ++set;
      const std::vector<BinnedCurrent> bins = Bins(law, 5, to, 90, scatter, static_cast<unsigned>(set));
      const auto fit = FitAbsorption(bins);
      ASSERT_TRUE(fit.has_value() && fit->absorption_seen && fit->conduction_microamps.value > 0) << set;
      const Answer scipy = OfSciPy(bins, absl::StrCat("fit", set));
      const Estimated parameters[] = {fit->absorption_microamps_1s, fit->exponent, fit->conduction_microamps};
      for (size_t i = 0; i < 3; ++i) {
        EXPECT_NEAR(parameters[i].value, scipy.numbers[i], 1e-5 * std::abs(scipy.numbers[i]))
            << "set " << set << ", " << i;
        EXPECT_NEAR(parameters[i].standard_error, scipy.numbers[i + 3], 1e-4 * scipy.numbers[i + 3])
            << "set " << set << ", " << i;
      }
      // The ends of the region by a search of SciPy's own; ours looks at steps of the exponent: 1 % of the ratio.
      const standards::Band band = RatioForecast(*fit, 60, 600);
      EXPECT_NEAR(band.low, scipy.numbers[6], 0.01 * scipy.numbers[6]) << set;
      EXPECT_NEAR(band.high, scipy.numbers[7], 0.01 * scipy.numbers[7]) << set;
    }
  }
}

TEST(AbsorptionFit, GivesBackALawWithoutScatter) {
  for (const Law& law : {Law{2, 0.8, 0.02}, Law{7, 0.3, 1}, Law{50, 2.2, 0.1}}) {
    const auto fit = FitAbsorption(Bins(law, 5, 600, 100, 0, 1));
    ASSERT_TRUE(fit.has_value() && fit->absorption_seen);
    EXPECT_NEAR(fit->exponent.value, law.n, 1e-8);
    EXPECT_NEAR(fit->absorption_microamps_1s.value, law.a, 1e-7 * law.a);
    EXPECT_NEAR(fit->conduction_microamps.value, law.c, 1e-7 * law.a);
    const standards::Band ratio = RatioForecast(*fit, 60, 600);
    EXPECT_NEAR(ratio.nominal, law.At(60) / law.At(600), 1e-6);
    EXPECT_LT(ratio.high - ratio.low, 1e-3);
  }
}

// A pure power law: the ratio is 10^n by itself.
TEST(AbsorptionFit, OfAPurePowerLawHasNoConduction) {
  const auto fit = FitAbsorption(Bins({3, 0.6, 0}, 5, 300, 80, 0.005, 3));
  ASSERT_TRUE(fit.has_value() && fit->absorption_seen);
  EXPECT_FALSE(fit->conduction_seen);
  EXPECT_GE(fit->conduction_microamps.value, 0);
  EXPECT_NEAR(fit->exponent.value, 0.6, 3 * fit->exponent.standard_error);
  const standards::Band ratio = RatioForecast(*fit, 60, 600);
  EXPECT_LE(ratio.low, std::pow(10, 0.6));
  EXPECT_GE(ratio.high, std::pow(10, 0.6));
}

// A current that does not fall: ratio 1, and the mean with the error of a mean.
TEST(AbsorptionFit, OfPureConductionSeesNoAbsorption) {
  int seen = 0, outside = 0;
  for (unsigned seed = 1; seed <= 200; ++seed) {
    const std::vector<BinnedCurrent> bins = Bins({0, 1, 4}, 5, 300, 80, 0.01, seed);
    const auto fit = FitAbsorption(bins);
    ASSERT_TRUE(fit.has_value());
    seen += fit->absorption_seen;
    const standards::Band ratio = RatioForecast(*fit, 60, 600);
    outside += ratio.low > 1;
    EXPECT_LT(ratio.low, 1.005);
    EXPECT_LT(ratio.high, 1.05);
    if (fit->absorption_seen) continue;
    EXPECT_EQ(fit->absorption_microamps_1s.value, 0);
    EXPECT_NEAR(fit->conduction_microamps.value, 4, 5 * fit->conduction_microamps.standard_error);
  }
  EXPECT_LE(seen, 2);
  EXPECT_LE(outside, 12);  // of 200, from a band of 95 %
}

TEST(AbsorptionFit, NeedsEightBins) {
  std::vector<BinnedCurrent> bins = Bins({2, 0.8, 0.02}, 5, 600, 8, 0.01, 1);
  EXPECT_TRUE(FitAbsorption(bins).has_value());
  bins.pop_back();
  EXPECT_FALSE(FitAbsorption(bins).has_value());
}

// Whatever the data, nothing comes out that is no number.
TEST(AbsorptionFit, OfAnythingIsFinite) {
  std::mt19937 random(7);
  for (int round = 0; round < 500; ++round) {
    std::vector<BinnedCurrent> bins;
    double seconds = 1;
    const int count = 8 + static_cast<int>(random() % 60);
    for (int i = 0; i < count; ++i) {
      seconds *= 1 + 0.2 * static_cast<double>(random() % 1000 + 1) / 1000;
      bins.push_back({seconds, std::pow(10, static_cast<double>(random() % 1600) / 100 - 8),
                      1.0 + static_cast<double>(random() % 1000)});
    }
    const auto fit = FitAbsorption(bins);
    ASSERT_TRUE(fit.has_value());
    const standards::Band ratio = RatioForecast(*fit, 60, 600), current = CurrentForecast(*fit, 600);
    for (const double number :
         {fit->absorption_microamps_1s.value, fit->absorption_microamps_1s.standard_error, fit->exponent.value,
          fit->exponent.standard_error, fit->conduction_microamps.value, fit->conduction_microamps.standard_error,
          fit->scatter_ratio, ratio.low, ratio.nominal, ratio.high, current.low, current.nominal, current.high}) {
      EXPECT_TRUE(std::isfinite(number)) << round;
    }
    EXPECT_LE(ratio.low, ratio.nominal);
    EXPECT_LE(ratio.nominal, ratio.high);
  }
}

}  // namespace
}  // namespace coilwright::insulation
