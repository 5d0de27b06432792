// The trend of megohms against SciPy on the same data (trend_oracle.py), a certified regression, and closed forms.
#include "insulation/trend.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <limits>
#include <random>
#include <string>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "insulation/student_t.h"
#include "standards/errors.h"

namespace coilwright::insulation {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;

// Readings that fall by `ratio` a year from 2015 on, with scatter as a standard deviation of ln, of exact instruments.
TrendCase Falling(double first, double ratio, int count, double step, double scatter, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal;
  TrendCase c;
  c.minimum_megohms = 5;
  for (int i = 0; i < count; ++i) {
    const double years = i * step;
    c.readings.push_back(
        {2015 + years, first * std::pow(ratio, years) * std::exp(scatter * normal(random)), false, 0.0});
  }
  return c;
}

Trend Of(const TrendCase& c) {
  const absl::StatusOr<Trend> trend = FollowTrend(c);
  EXPECT_TRUE(trend.ok()) << trend.status();
  return trend.ok() ? *trend : Trend{};
}

struct StudentAnswer {
  double slope = 0, error = 0, intercept = 0, t = 0, scatter = 0, earliest = 0, latest = 0;
};

StudentAnswer OfSciPy(const TrendCase& c, const std::string& name) {
  const std::string file = testing::TempDir() + name + ".txt";
  std::ofstream out(file);
  for (const TrendReading& r : c.readings) out << absl::StrFormat("%.17g %.17g\n", r.years, r.megohms_40c);
  out.close();
  FILE* pipe = popen(
      absl::StrFormat("/usr/bin/python3 %s %.17g %.17g < %s", COILWRIGHT_SOURCE_DIR "/tests/insulation/trend_oracle.py",
                      c.minimum_megohms, c.confidence, file)
          .c_str(),
      "r");
  StudentAnswer a;
  EXPECT_EQ(std::fscanf(pipe, "%lf %lf %lf %lf %lf %lf %lf", &a.slope, &a.error, &a.intercept, &a.t, &a.scatter,
                        &a.earliest, &a.latest),
            7);
  pclose(pipe);
  return a;
}

TEST(Trend, IsThatOfSciPyOnTheSameData) {
  ASSERT_EQ(std::system("/usr/bin/python3 -c 'import numpy, scipy.optimize, scipy.stats'"), 0)
      << "this test needs python3-scipy: bash .ci/setup.sh tests";
  unsigned set = 0;
  int crossings = 0, without_latest = 0;
  for (const double confidence : {0.8, 0.95, 0.99}) {
    for (const int count : {3, 5, 9, 20}) {
      TrendCase c = Falling(300, 0.66, count, 8.0 / (count - 1), 0.08, ++set);
      c.confidence = confidence;
      const StudentAnswer scipy = OfSciPy(c, absl::StrCat("trend", set));
      const Trend trend = Of(c);
      ASSERT_TRUE(trend.fit.has_value());
      const double half = scipy.t * scipy.error;
      EXPECT_NEAR(std::log(trend.fit->ratio_per_year.nominal), scipy.slope, 1e-8);
      EXPECT_NEAR(std::log(trend.fit->ratio_per_year.low), scipy.slope - half, 1e-8 + 1e-8 * half);
      EXPECT_NEAR(std::log(trend.fit->ratio_per_year.high), scipy.slope + half, 1e-8 + 1e-8 * half);
      EXPECT_NEAR(std::log(trend.fit->scatter_ratio), scipy.scatter, 1e-8);
      EXPECT_NEAR(std::log(trend.fit->megohms_at_last), scipy.intercept + 2023 * scipy.slope, 1e-7);
      EXPECT_EQ(trend.crossing.has_value(), std::abs(scipy.slope) > half) << set << trend.no_forecast;
      if (!trend.crossing) continue;
      ++crossings;
      EXPECT_NEAR(trend.crossing->likeliest_years, (std::log(5) - scipy.intercept) / scipy.slope, 1e-6);
      EXPECT_NEAR(trend.crossing->earliest_years, std::max(2023.0, scipy.earliest), 1e-6);
      if (trend.crossing->latest_years) {
        EXPECT_NEAR(*trend.crossing->latest_years, scipy.latest, 1e-6);
      } else {
        ++without_latest;
        EXPECT_GT(scipy.latest, 2023 + 2 * 8);
      }
    }
  }
  EXPECT_GE(crossings, 8);
  EXPECT_LT(without_latest, crossings);
}

// NIST Statistical Reference Datasets, linear regression, "Norris": 36 pairs and the certified values, from memory; the
// data give them to ten digits by SciPy too. Scaled, so that a logarithm of megohms can be as large.
TEST(Trend, OfTheCertifiedRegression) {
  constexpr double kPairs[36][2] = {
      {0.1, 0.2},     {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1},    {228.1, 226.5},
      {668.5, 666.3}, {998.5, 996.3}, {449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4},
      {0.1, 0.6},     {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0}, {448.9, 447.5}, {10.8, 11.6},
      {557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3},
      {0.6, 0.3},     {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2}, {998.5, 999.0}, {778.9, 779.0},
      {10.2, 11.1},   {117.6, 118.3}, {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5}};
  TrendCase c;
  c.minimum_megohms = 0.5;
  for (const auto& [y, x] : kPairs) c.readings.push_back({1900 + x / 10, std::exp(y / 100), false, 0.0});
  const Trend trend = Of(c);
  ASSERT_TRUE(trend.fit.has_value());
  const standards::Band& ratio = trend.fit->ratio_per_year;
  EXPECT_NEAR(std::log(ratio.nominal) * 10, 1.00211681802045, 1e-10);
  EXPECT_NEAR((std::log(ratio.high) - std::log(ratio.low)) / 2 * 10, 2.032244509 * 0.429796848199937e-3, 1e-8);
  EXPECT_NEAR(std::log(trend.fit->scatter_ratio) * 100, 0.884796396144373, 1e-9);
  EXPECT_NEAR(std::log(trend.fit->megohms_at_last) * 100, -0.262323073774029 + 999.0 * 1.00211681802045, 1e-7);
  EXPECT_THAT(trend.no_forecast, HasSubstr("rise"));
}

// Student's t of printed tables (any handbook), and the closed forms of one and two degrees of freedom.
TEST(Trend, StudentsTIsThatOfTheTables) {
  EXPECT_NEAR(StudentT(0.95, 1), 12.706, 5e-4);
  EXPECT_NEAR(StudentT(0.95, 5), 2.571, 5e-4);
  EXPECT_NEAR(StudentT(0.99, 10), 3.169, 5e-4);
  EXPECT_NEAR(StudentT(0.90, 30), 1.697, 5e-4);
  EXPECT_NEAR(StudentT(0.999, 120), 3.373, 5e-4);
  for (const double p : {0.5, 0.8, 0.95, 0.999}) {
    EXPECT_NEAR(StudentT(p, 1) / std::tan(std::acos(-1.0) / 2 * p), 1, 1e-11);
    EXPECT_NEAR(StudentT(p, 2) / (p * std::sqrt(2 / (1 - p * p))), 1, 1e-11);
  }
}

// A halving every two years from 160: at 5 after ten years, to the day and with no width.
TEST(Trend, OfALineWithoutScatter) {
  const Trend trend = Of(Falling(160, std::sqrt(0.5), 6, 1, 0, 1));
  ASSERT_TRUE(trend.crossing.has_value()) << trend.no_forecast;
  EXPECT_NEAR(trend.fit->ratio_per_year.nominal, std::sqrt(0.5), 1e-12);
  EXPECT_NEAR(trend.crossing->likeliest_years, 2025, 1e-6);
  EXPECT_NEAR(trend.crossing->earliest_years, 2025, 1e-6);
  EXPECT_NEAR(trend.crossing->latest_years.value(), 2025, 1e-6);
  EXPECT_EQ(trend.fit->points, 6);
}

// The order of the readings and the zero of the years do not matter.
TEST(Trend, DoesNotDependOnTheOrderOrTheEpoch) {
  TrendCase c = Falling(300, 0.66, 7, 1, 0.1, 4);
  const Trend trend = Of(c);
  std::reverse(c.readings.begin(), c.readings.end());
  for (TrendReading& r : c.readings) r.years -= 100;
  const Trend moved = Of(c);
  ASSERT_TRUE(trend.crossing && moved.crossing);
  EXPECT_NEAR(moved.crossing->likeliest_years, trend.crossing->likeliest_years - 100, 1e-8);
  EXPECT_NEAR(moved.fit->scatter_ratio, trend.fit->scatter_ratio, 1e-10);
}

// The crossing of the truth lies within earliest and latest as often as the confidence says. Readings enough for a
// slope every time, so that nothing is selected.
TEST(Trend, TheBandHoldsTheTruthAsOftenAsItSays) {
  int inside = 0, drawn = 0;
  for (unsigned seed = 1; seed <= 2000; ++seed) {
    const Trend trend = Of(Falling(160, std::sqrt(0.5), 8, 1, 0.15, seed));
    ASSERT_TRUE(trend.crossing.has_value()) << trend.no_forecast;
    ++drawn;
    inside += trend.crossing->earliest_years <= 2025 && trend.crossing->latest_years.value_or(3000) >= 2025;
  }
  // 95 % of 2000, within four standard deviations.
  EXPECT_NEAR(inside, 0.95 * drawn, 4 * std::sqrt(0.95 * 0.05 * drawn));
}

// Flat readings with scatter: a forecast comes out no oftener than a slope is seen by chance.
TEST(Trend, OfFlatReadingsCarriesNoForecast) {
  int forecasts = 0;
  for (unsigned seed = 1; seed <= 2000; ++seed) forecasts += Of(Falling(40, 1, 6, 1.5, 0.3, seed)).crossing.has_value();
  EXPECT_LE(forecasts, 0.025 * 2000 + 4 * std::sqrt(0.025 * 2000));
}

TEST(Trend, SaysWhyItForetellsNothing) {
  const auto why = [](const TrendCase& c) {
    const Trend trend = Of(c);
    EXPECT_EQ(trend.crossing.has_value(), trend.no_forecast.empty());
    return trend.no_forecast;
  };
  EXPECT_THAT(why(Falling(160, 0.7, 2, 4, 0, 1)), HasSubstr("fewer than 3"));
  EXPECT_THAT(why(TrendCase{{}, 5}), HasSubstr("fewer than 3"));
  EXPECT_FALSE(Of(Falling(160, 0.7, 2, 4, 0, 1)).fit.has_value());
  EXPECT_THAT(why(Falling(160, 0.5, 6, 0.19, 0, 1)), HasSubstr("0.95 years"));
  TrendCase a_year = Falling(160, 0.7, 6, 0.21, 0, 1);
  a_year.minimum_megohms = 80;
  EXPECT_EQ(why(a_year), "") << "1.05 years carry";
  EXPECT_THAT(why(Falling(160, 0.7, 6, 0.001, 0, 1)), HasSubstr("within a month"));
  EXPECT_THAT(why(Falling(160, 1.1, 6, 1, 0, 1)), HasSubstr("rise"));
  EXPECT_THAT(why(Falling(160, 1, 6, 1, 0, 1)), HasSubstr("does not differ from zero at a confidence of 95 %"));
  // From 160 to 5 at 0.85 a year takes 21.3 years; five years of readings carry to 2030.
  EXPECT_THAT(why(Falling(160, 0.85, 6, 1, 0, 1)), HasSubstr("not before 2030"));
  TrendCase scattered = Falling(160, 0.7, 6, 1, 0, 1);
  for (size_t i = 0; i < 6; ++i) scattered.readings[i].megohms_40c *= i % 2 == 0 ? 2 : 0.5;
  EXPECT_THAT(why(scattered), HasSubstr("scatter about the line by a factor of"));
  TrendCase below = Falling(160, 0.6, 6, 1, 0, 1);
  below.readings.push_back({2021, 4.99});
  EXPECT_THAT(why(below), HasSubstr("4.99 megohms at 40 C, is already below the minimum of 5 megohms"));
  below.readings.back().megohms_40c = 5.2;  // above, but the line is not
  for (TrendReading& r : below.readings) r.megohms_40c = r.years < 2020.5 ? r.megohms_40c * 0.33 : r.megohms_40c;
  EXPECT_THAT(why(below), HasSubstr("the line is already at the minimum"));
}

TEST(Trend, LowerBoundsAreShownAndNeverFitted) {
  TrendCase c = Falling(160, std::sqrt(0.5), 6, 1, 0.02, 5);
  const double slope = Of(c).fit->ratio_per_year.nominal;
  c.readings.insert(c.readings.begin(), {2014, 200, true});  // the line gives 226 then
  Trend trend = Of(c);
  EXPECT_EQ(trend.fit->ratio_per_year.nominal, slope);
  EXPECT_FALSE(trend.points[0].fitted);
  EXPECT_EQ(trend.points[0].reason, "a lower bound");
  EXPECT_TRUE(trend.points[1].fitted);
  EXPECT_TRUE(trend.crossing.has_value());
  EXPECT_THAT(trend.notes, Contains(HasSubstr("Lower bounds are not fitted")));
  // Dried meanwhile: the meter goes off its scale where the line has 20.
  c.readings.push_back({2021, 1000, true});
  trend = Of(c);
  EXPECT_THAT(trend.points.back().reason, HasSubstr("contradicts the line"));
  EXPECT_THAT(trend.no_forecast, HasSubstr("lower bound"));
  // A low bound, even below the minimum, says nothing.
  c.readings.back().megohms_40c = 1;
  EXPECT_TRUE(Of(c).crossing.has_value());
}

TEST(Trend, InstrumentsSetTheLeastScatter) {
  TrendCase c = Falling(160, std::sqrt(0.5), 4, 1, 0, 5);
  for (TrendReading& r : c.readings) r.uncertainty_ratio = 0.2;
  const Trend trend = Of(c);
  EXPECT_NEAR(std::log(trend.fit->scatter_ratio), 0.1, 1e-9);
  // By hand: 4.3027 x 0.1 / sqrt(5) each way.
  EXPECT_NEAR(std::log(trend.fit->ratio_per_year.high / trend.fit->ratio_per_year.nominal),
              4.30265 * 0.1 / std::sqrt(5.0), 1e-6);
}

// Three exact readings, as of a card: 160, 80, 40 megohms a year apart. Half of the 10 % assumed is the scatter, and by
// hand the slope is known to 12.7062 x 0.05 / sqrt(2) each way: a halving may as well be a third more or less.
TEST(Trend, WithoutAStatedUncertaintyOneIsAssumed) {
  TrendCase c = Falling(160, 0.5, 3, 1, 0, 5);
  EXPECT_NEAR(std::log(Of(c).fit->scatter_ratio), 0, 1e-6) << "stated as none";
  EXPECT_THAT(Of(c).notes, Not(Contains(HasSubstr("assumed"))));
  for (TrendReading& r : c.readings) r.uncertainty_ratio.reset();
  const Trend trend = Of(c);
  EXPECT_NEAR(std::log(trend.fit->scatter_ratio), 0.05, 1e-9);
  EXPECT_NEAR(std::log(trend.fit->ratio_per_year.high / 0.5), 12.7062 * 0.05 / std::sqrt(2.0), 1e-5);
  EXPECT_THAT(trend.notes, Contains(HasSubstr("10 % is assumed")));
}

// Three phases read on each of two days are two visits and no line; of a third the lowest counts.
TEST(Trend, PhasesOfOneVisitAreOnePoint) {
  TrendCase c;
  c.minimum_megohms = 5;
  for (int visit = 0; visit < 2; ++visit) {
    for (const double megohms : {400.0, 300.0, 350.0})
      c.readings.push_back({2015.0 + visit, megohms * std::pow(0.5, visit), false, 0.0, visit});
  }
  Trend trend = Of(c);
  EXPECT_FALSE(trend.fit.has_value());
  EXPECT_THAT(trend.no_forecast, HasSubstr("fewer than 3"));
  EXPECT_THAT(trend.points[0].reason, HasSubstr("lowest of its visit"));
  EXPECT_TRUE(trend.points[1].fitted);
  EXPECT_THAT(trend.notes, Contains(HasSubstr("one point of the line: the lowest")));
  c.readings.push_back({2017, 75, false, 0.0, 2});
  c.readings.push_back({2017, 75, true, 0.0, 2});
  trend = Of(c);
  EXPECT_EQ(trend.fit->points, 3);
  EXPECT_NEAR(trend.fit->ratio_per_year.nominal, 0.5, 1e-12);
  EXPECT_NEAR(trend.fit->megohms_at_last, 75, 1e-9);
  EXPECT_TRUE(trend.points[6].fitted) << "a value before a bound at the same megohms";
  // A dead phase is what the winding is now, in whatever order the three were written down.
  c.readings.push_back({2017, 0, false, 0.0, 2});
  c.readings.push_back({2017, 900, false, 0.0, 2});
  EXPECT_THAT(Of(c).no_forecast, HasSubstr("already below"));
  // A phase beyond the scale says nothing against a lower one.
  c.readings.resize(7);
  c.readings.push_back({2017, 100000, true, 0.0, 2});
  EXPECT_THAT(Of(c).points[7].reason, HasSubstr("lowest of its visit"));
}

TEST(Trend, AnEarthFaultIsNoPointOfTheLine) {
  TrendCase c = Falling(160, std::sqrt(0.5), 6, 1, 0.02, 5);
  c.readings.insert(c.readings.begin() + 2, {2016.5, 0});
  const Trend trend = Of(c);
  EXPECT_THAT(trend.points[2].reason, HasSubstr("earth fault"));
  EXPECT_EQ(trend.fit->points, 6);
  c.readings.push_back({2022, 0});
  EXPECT_THAT(Of(c).no_forecast, HasSubstr("already below"));
}

TEST(Trend, NamesEveryWrongField) {
  TrendCase c = Falling(160, 0.7, 3, 1, 0, 1);
  c.minimum_megohms = 0;
  c.confidence = 1;
  c.readings[1].years = std::nan("");
  c.readings[2].megohms_40c = -1;
  c.readings[2].uncertainty_ratio = 2;
  std::vector<std::string> fields;
  for (const auto& error : standards::FieldErrorsOf(FollowTrend(c).status())) fields.push_back(error.field);
  EXPECT_THAT(fields, ElementsAre("readings[1].years", "readings[2].megohms_40c", "readings[2].uncertainty_ratio",
                                  "minimum_megohms", "confidence"));
}

// Whatever the data, nothing comes out that is no number, and the order of the dates holds.
TEST(Trend, OfAnythingIsFinite) {
  std::mt19937 random(7);
  const auto within = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int i = 0; i < 20000; ++i) {
    TrendCase c;
    c.minimum_megohms = std::pow(10, within(-6, 9));
    c.confidence = within(0.5, 0.999);
    const double spread = std::pow(10, within(-3, 2));
    for (int k = static_cast<int>(within(0, 7)); k > 0; --k) {
      c.readings.push_back({1900 + within(0, spread), within(0, 1) < 0.05 ? 0 : std::pow(10, within(-12, 9)),
                            within(0, 1) < 0.2, within(0, 0.5), static_cast<int>(within(-2, 4))});
    }
    const Trend trend = Of(c);
    EXPECT_EQ(trend.points.size(), c.readings.size());
    EXPECT_NE(trend.crossing.has_value(), !trend.no_forecast.empty());
    if (trend.fit) {
      const standards::Band& ratio = trend.fit->ratio_per_year;
      EXPECT_TRUE(std::isfinite(ratio.low) && std::isfinite(ratio.high) && std::isfinite(trend.fit->megohms_at_last) &&
                  std::isfinite(trend.fit->scatter_ratio));
      EXPECT_TRUE(ratio.low <= ratio.nominal && ratio.nominal <= ratio.high);
    }
    if (!trend.crossing) continue;
    EXPECT_TRUE(std::isfinite(trend.crossing->likeliest_years));
    EXPECT_LE(trend.fit->to_years, trend.crossing->earliest_years);
    EXPECT_LE(trend.crossing->earliest_years, trend.crossing->likeliest_years + 1e-9);
    EXPECT_LE(trend.crossing->likeliest_years, trend.crossing->latest_years.value_or(3000) + 1e-9);
  }
}

}  // namespace
}  // namespace coilwright::insulation
