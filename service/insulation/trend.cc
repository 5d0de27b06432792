#include "insulation/trend.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "insulation/constants.h"
#include "insulation/input_ranges.h"
#include "insulation/run_settings.h"
#include "insulation/student_t.h"
#include "standards/range_check.h"
#include "standards/rule_ids.h"

namespace coilwright::insulation {
namespace {

// megohm_trend.csv, read once.
struct Figures {
  double least_readings, least_fit_years, least_years, most_scatter, most_ahead_in_spans, uncertainty_assumed;
};
const Figures& Carries() {
  static const auto& figures = *new Figures([] {
    const standards::Table table(standards::EmbeddedTable("megohm_trend"));
    const auto of = [&](absl::string_view name) { return NamedNumber(table, name); };
    return Figures{of("least_readings"), of("least_fit_years"),     of("least_years"),
                   of("most_scatter"),   of("most_ahead_in_spans"), of("uncertainty_assumed")};
  }());
  return figures;
}

// Where the data are exact, rounding still leaves something about the line.
constexpr double kLeastScatter = 1e-9;
// Readings of one month at the confidence of 0.999 have bands beyond any number; they stay numbers.
constexpr double kMostLogarithm = 600;

double Exp(double x) { return std::exp(std::clamp(x, -kMostLogarithm, kMostLogarithm)); }

// Neither a lower bound nor an earth fault.
bool Fitted(const TrendReading& reading) {
  return !reading.at_least && reading.megohms_40c >= Settings().earth_fault_below_megohms;
}

// Which readings stand for their visits: the lowest of each. A value stands before a bound at the same megohms.
std::vector<bool> LowestOfVisits(const std::vector<TrendReading>& readings) {
  std::map<int, size_t> lowest;
  std::vector<bool> stands(readings.size(), true);
  for (size_t i = 0; i < readings.size(); ++i) {
    if (readings[i].visit < 0) continue;
    const auto [at, first] = lowest.emplace(readings[i].visit, i);
    if (first) continue;
    const TrendReading& other = readings[at->second];
    const bool lower = std::make_pair(readings[i].megohms_40c, readings[i].at_least) <
                       std::make_pair(other.megohms_40c, other.at_least);
    stands[lower ? at->second : i] = false;
    if (lower) at->second = i;
  }
  return stands;
}

// The line through (years, ln megohms), about the middle of the readings.
struct Line {
  int points = 0;
  double first = 0, last = 0;  // years
  double mean_years = 0, mean_log = 0, squares_of_years = 0;
  double slope = 0, scatter = 0;  // of ln, per year
  double quantile = 0;            // Student's t
  double At(double years) const { return mean_log + slope * (years - mean_years); }
  double slope_error() const { return scatter / std::sqrt(squares_of_years); }
  // Of the line itself, at the confidence; a single reading has 1 more under the root.
  double HalfBand(double years, bool of_a_reading) const {
    const double lever = (years - mean_years) * (years - mean_years) / squares_of_years;
    return quantile * scatter * std::sqrt((of_a_reading ? 1.0 : 0.0) + 1.0 / points + lever);
  }
};

std::optional<Line> LineThrough(const TrendCase& c, const std::vector<TrendPoint>& points) {
  Line line;
  double of_instruments = 0;
  for (size_t i = 0; i < points.size(); ++i) {
    if (!points[i].fitted) continue;
    const TrendReading& reading = c.readings[i];
    line.first = line.points == 0 ? reading.years : std::min(line.first, reading.years);
    line.last = line.points == 0 ? reading.years : std::max(line.last, reading.years);
    ++line.points;
    line.mean_years += reading.years;
    line.mean_log += std::log(reading.megohms_40c);
    const double uncertainty = reading.uncertainty_ratio.value_or(Carries().uncertainty_assumed);
    of_instruments += uncertainty * uncertainty / 4;
  }
  if (line.points < Carries().least_readings || line.last - line.first < Carries().least_fit_years) return std::nullopt;
  line.mean_years /= line.points;
  line.mean_log /= line.points;
  double products = 0;
  for (size_t i = 0; i < points.size(); ++i) {
    if (!points[i].fitted) continue;
    const double years = c.readings[i].years - line.mean_years;
    line.squares_of_years += years * years;
    products += years * (std::log(c.readings[i].megohms_40c) - line.mean_log);
  }
  line.slope = products / line.squares_of_years;
  double squares = 0;
  for (size_t i = 0; i < points.size(); ++i) {
    if (!points[i].fitted) continue;
    const double residual = std::log(c.readings[i].megohms_40c) - line.At(c.readings[i].years);
    squares += residual * residual;
  }
  line.scatter =
      std::max({std::sqrt(squares / (line.points - 2)), std::sqrt(of_instruments / line.points), kLeastScatter});
  line.quantile = StudentT(c.confidence, line.points - 2);
  return line;
}

TrendCrossing CrossingOf(const Line& line, double log_minimum) {
  const double q = line.quantile * line.scatter, drop = log_minimum - line.mean_log;
  const double curvature = line.slope * line.slope - q * q / line.squares_of_years;
  const double root = q * std::sqrt(drop * drop / line.squares_of_years + curvature / line.points);
  TrendCrossing crossing;
  crossing.likeliest_years = line.mean_years + drop / line.slope;
  crossing.earliest_years = line.mean_years + (line.slope * drop - root) / curvature;
  crossing.latest_years = line.mean_years + (line.slope * drop + root) / curvature;
  return crossing;
}

std::string Megohms(double megohms) { return absl::StrFormat("%.3g megohms", megohms); }

// The reading taken last, bounds included: what the winding is now.
const TrendReading* Latest(const TrendCase& c) {
  const TrendReading* latest = nullptr;
  for (const TrendReading& reading : c.readings) {
    if (latest == nullptr || reading.years >= latest->years) latest = &reading;
  }
  return latest;
}

// Lower bounds against the line; true where one of them refutes it.
bool HoldBounds(const TrendCase& c, const Line& line, Trend& trend) {
  bool refuted = false;
  for (size_t i = 0; i < c.readings.size(); ++i) {
    const TrendReading& reading = c.readings[i];
    if (!reading.at_least) continue;
    const double highest = line.At(reading.years) + line.HalfBand(reading.years, true);
    if (std::log(reading.megohms_40c) <= highest) continue;
    refuted = true;
    absl::StrAppend(&trend.points[i].reason,
                    absl::StrFormat("; contradicts the line, which gives at most %s then", Megohms(Exp(highest))));
  }
  return refuted;
}

std::string WhyNoForecast(const TrendCase& c, const std::optional<Line>& line, bool refuted) {
  const Figures& carries = Carries();
  const TrendReading* latest = Latest(c);
  if (latest != nullptr && !latest->at_least && latest->megohms_40c < c.minimum_megohms) {
    return absl::StrFormat("the last reading, %s at 40 C, is already below the minimum of %s",
                           Megohms(latest->megohms_40c), Megohms(c.minimum_megohms));
  }
  if (!line) {
    const auto fitted = std::count_if(c.readings.begin(), c.readings.end(), Fitted);
    if (static_cast<double>(fitted) < carries.least_readings) {
      return absl::StrFormat("fewer than %.0f readings with a value of their own", carries.least_readings);
    }
    return "all readings were taken within a month";
  }
  const double span = line->last - line->first, at_last = Exp(line->At(line->last));
  if (at_last <= c.minimum_megohms) {
    return absl::StrFormat("the line is already at the minimum of %s: it gives %s at the last reading",
                           Megohms(c.minimum_megohms), Megohms(at_last));
  }
  if (span < carries.least_years) {
    return absl::StrFormat("the readings span %.2f years, less than %g: season and moisture look like ageing", span,
                           carries.least_years);
  }
  if (line->scatter > std::log(carries.most_scatter)) {
    return absl::StrFormat(
        "the readings scatter about the line by a factor of %.3g, more than %g: moisture, dirt or temperature decide "
        "them, not age",
        Exp(line->scatter), carries.most_scatter);
  }
  if (refuted) return "a lower bound lies above what the line can reach: no straight line describes this winding";
  const bool differs = std::abs(line->slope) > line->quantile * line->slope_error();
  if (line->slope > 0 && differs) return "the megohms rise";
  if (!differs) {
    return absl::StrFormat("the slope does not differ from zero at a confidence of %g %%", 100 * c.confidence);
  }
  const TrendCrossing crossing = CrossingOf(*line, std::log(c.minimum_megohms));
  const double horizon = line->last + carries.most_ahead_in_spans * span;
  if (crossing.likeliest_years <= horizon) return "";
  return absl::StrFormat(
      "the line would reach the minimum further ahead than %g times the %.3g years of the readings; not before %.0f at "
      "a "
      "confidence of %g %%",
      carries.most_ahead_in_spans, span, std::floor(std::clamp(crossing.earliest_years, line->last, horizon)),
      100 * c.confidence);
}

absl::Status Check(const TrendCase& c) {
  standards::RangeCheck check;
  for (size_t i = 0; i < c.readings.size(); ++i) {
    const std::string path = absl::StrCat("readings[", i, "].");
    check.Within(path + "years", c.readings[i].years, 1800, 2300, "years");
    check.Within(path + "megohms_40c", c.readings[i].megohms_40c, 0, kMostMegohms, "megohms");
    check.Within(path + "uncertainty_ratio", c.readings[i].uncertainty_ratio.value_or(0.0), 0, 0.5, "");
  }
  check.Above("minimum_megohms", c.minimum_megohms, 0, kMostMegohms, "megohms");
  check.Within("confidence", c.confidence, 0.5, 0.999, "");
  return check.status();
}

// Every reading a visit.
Trend FollowVisits(const TrendCase& c) {
  Trend trend;
  trend.rules = {rules::megohm_trend_line, rules::megohm_trend_carries};
  bool bounds = false, earth_fault = false;
  for (const TrendReading& reading : c.readings) {
    TrendPoint& point = trend.points.emplace_back();
    bounds = bounds || reading.at_least;
    point.fitted = Fitted(reading);
    if (point.fitted) continue;
    point.reason = reading.at_least ? "a lower bound" : "an earth fault: not ageing";
    earth_fault = earth_fault || !reading.at_least;
  }
  const std::optional<Line> line = LineThrough(c, trend.points);
  bool refuted = false;
  if (line) {
    const double half = line->quantile * line->slope_error();
    trend.fit = TrendFit{{Exp(line->slope - half), Exp(line->slope), Exp(line->slope + half)},
                         Exp(line->scatter),
                         line->points,
                         line->first,
                         line->last,
                         Exp(line->At(line->last))};
    refuted = HoldBounds(c, *line, trend);
  }
  trend.no_forecast = WhyNoForecast(c, line, refuted);
  if (trend.no_forecast.empty()) {
    trend.rules.push_back(rules::megohm_trend_crossing);
    TrendCrossing crossing = CrossingOf(*line, std::log(c.minimum_megohms));
    if (crossing.earliest_years < line->last) {
      crossing.earliest_years = line->last;
      trend.notes.push_back("Within its band the line may have reached the minimum already: read again before use.");
    }
    if (*crossing.latest_years > line->last + Carries().most_ahead_in_spans * (line->last - line->first)) {
      crossing.latest_years.reset();
      trend.notes.push_back("No latest date: it lies further ahead than the readings carry.");
    }
    trend.crossing = crossing;
    trend.notes.push_back(
        "A forecast orders the next visit; it does not clear the winding until then. It holds if the winding goes on "
        "ageing as it did.");
  }
  if (bounds && line) {
    trend.notes.push_back("Lower bounds are not fitted, so that the line leans on the lower readings of the machine.");
  }
  const auto assumed = [&](const TrendReading& r) { return Fitted(r) && !r.uncertainty_ratio; };
  if (line && std::any_of(c.readings.begin(), c.readings.end(), assumed)) {
    trend.notes.push_back(
        absl::StrFormat("Where no uncertainty of the instrument is stated, %g %% is assumed: the line is not taken to "
                        "be surer than that.",
                        100 * Carries().uncertainty_assumed));
  }
  if (earth_fault) trend.notes.push_back("An earth fault is found and put right; it is no point of a line.");
  if (line) {
    trend.notes.push_back(
        "A rewind, or cleaning and drying, starts another line: leave the readings before it out where there was one.");
  }
  return trend;
}

}  // namespace

absl::StatusOr<Trend> FollowTrend(const TrendCase& given) {
  if (absl::Status status = Check(given); !status.ok()) return status;
  const std::vector<bool> stands = LowestOfVisits(given.readings);
  TrendCase c{{}, given.minimum_megohms, given.confidence};
  for (size_t i = 0; i < stands.size(); ++i) {
    if (stands[i]) c.readings.push_back(given.readings[i]);
  }
  Trend trend = FollowVisits(c);
  if (c.readings.size() == stands.size()) return trend;
  std::vector<TrendPoint> points;
  for (size_t i = 0, next = 0; i < stands.size(); ++i) {
    points.push_back(stands[i] ? std::move(trend.points[next++]) : TrendPoint{false, "not the lowest of its visit"});
  }
  trend.points = std::move(points);
  trend.notes.push_back("Readings of one visit are one point of the line: the lowest of them.");
  return trend;
}

}  // namespace coilwright::insulation
