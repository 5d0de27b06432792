#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "standards/band.h"

namespace coilwright::insulation {

// One reading of a machine, corrected to 40 C for the whole winding.
struct TrendReading {
  double years = 0;  // when, counted in years: 2017.25; 1800 to 2300
  double megohms_40c = 0;
  bool at_least = false;                                   // a lower bound: the instrument showed "more than"
  std::optional<double> uncertainty_ratio = std::nullopt;  // expanded (k = 2), 0..0.5; absent: one is assumed
  int visit = -1;  // readings of one visit have the same, from 0; -1: a visit of its own
};

struct TrendCase {
  std::vector<TrendReading> readings;  // in any order
  double minimum_megohms = 0;          // at 40 C, above 0
  double confidence = 0.95;            // two-sided, 0.5..0.999
};

// ln(megohms) = a straight line over time.
struct TrendFit {
  standards::Band ratio_per_year;  // 0.8 is a fifth less every year; low and high at the confidence
  double scatter_ratio = 1;        // standard deviation about the line, as a factor
  int points = 0;
  double from_years = 0, to_years = 0;  // of the readings fitted
  double megohms_at_last = 0;           // the line at the last of them
};

// When the line reaches the minimum, in years as those of the readings.
struct TrendCrossing {
  double earliest_years = 0;  // not before the last reading
  double likeliest_years = 0;
  std::optional<double> latest_years;  // absent where that is further ahead than the readings carry
};

struct TrendPoint {
  bool fitted = false;
  std::string reason;  // why not, then
};

struct Trend {
  std::vector<TrendPoint> points;  // in the order given
  std::optional<TrendFit> fit;     // of three readings and a month at least
  std::optional<TrendCrossing> crossing;
  std::string no_forecast;  // why there is no crossing
  std::vector<std::string> notes;
  std::vector<absl::string_view> rules;
};

// Of one visit, where phases are read one by one, the lowest reading counts and the others are left out: three phases
// on one day are no three readings over time.
//
// Ordinary least squares of ln(megohms) over time, every reading that is no lower bound and above 0 counting the same;
// the band of the slope by Student's t. The scatter is that about the line, but never less than what the instruments
// alone make (half their expanded uncertainty, root mean square; that of an ordinary megohm meter where none is stated,
// and a note says so): three readings that fall in line by chance prove nothing.
//
// Crossing: where the line meets the minimum. Earliest and latest are where the confidence band of the line meets it
// (Fieller's limits of the ratio), not that of a single next reading: the question is when the winding as such has come
// down, and one reading scatters about that by `scatter_ratio` besides. Where the slope differs from zero at the
// confidence, both limits are finite.
//
// No forecast, with the reason in words: the last reading or the line at it already below the minimum; fewer than three
// readings; readings of less than a year; scatter beyond a factor of 2; a lower bound above what the line can reach;
// rising; a slope that may be zero; a crossing further ahead than twice the span of the readings. Figures: rule
// megohm.trend.carries.
//
// INVALID_ARGUMENT with every wrong field ("readings[i].years", "readings[i].megohms_40c", 0 to 1e9,
// "readings[i].uncertainty_ratio", "minimum_megohms", "confidence"). Accuracy: as SciPy's linregress and t.ppf to 1e-8.
absl::StatusOr<Trend> FollowTrend(const TrendCase& trend_case);

}  // namespace coilwright::insulation
