#include "testing/temperature_rise.h"

#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "standards/thermal_class.h"
#include "testing/level_tables.h"

namespace coilwright::testing {
namespace {

absl::Status Check(const TemperatureRiseCase& c, const TemperatureRiseReading& r, double winding_celsius) {
  standards::RangeCheck check;
  const bool cold = check.Within("cold_ohms", r.cold_ohms, 1e-6, 1e6, "ohms");
  const bool hot = check.Within("hot_ohms", r.hot_ohms, 1e-6, 1e6, "ohms");
  const bool from = check.Within("cold_temperature", r.cold_celsius, -60, 100, "C");
  check.Within("coolant_temperature", r.coolant_celsius, -40, 80, "C");
  if (r.seconds_after_switch_off) check.Within("seconds_after_switch_off", *r.seconds_after_switch_off, 0, 36000, "s");
  check.Within("instrument.uncertainty_ratio", r.uncertainty_ratio, 0, 0.2, "");
  check.Within("shop_margin_ratio", c.shop_margin_ratio, 0, 0.5, "");
  if (c.rated_kw) check.Above("rated_kw", *c.rated_kw, 0, 1e6, "kW");
  if (cold && hot && from && !(winding_celsius >= -60 && winding_celsius <= 300)) {
    check.Refuse("hot_ohms", absl::StrFormat("%g ohms, a winding of %.0f C", r.hot_ohms, winding_celsius),
                 "readings of one path whose ratio gives a winding of -60 to 300 C");
  }
  return check.status();
}

// How late a hot reading may come, by size; 0 beyond the table.
double MostDelaySeconds(const std::optional<double>& rated_kw) {
  const double kw = rated_kw.value_or(0);
  if (kw <= 50) return Setting("rise_delay_to_50_kw");
  if (kw <= 200) return Setting("rise_delay_to_200_kw");
  return kw <= 5000 ? Setting("rise_delay_to_5000_kw") : 0;
}

}  // namespace

absl::StatusOr<RiseLimit> RiseLimitOf(int thermal_class_celsius, std::optional<double> rated_kw,
                                      bool fanless_or_potted) {
  const auto thermal_class = standards::FindThermalClass(absl::StrCat(thermal_class_celsius));
  if (!thermal_class.ok()) return thermal_class.status();
  RiseLimit limit;
  limit.small = fanless_or_potted || (rated_kw && *rated_kw < Setting("rise_small_below"));
  limit.kelvin = limit.small ? thermal_class->rise_small_kelvin : thermal_class->rise_kelvin;
  limit.text =
      absl::StrCat("class ", thermal_class->letter, thermal_class->letter.empty() ? "" : " (", thermal_class_celsius,
                   thermal_class->letter.empty() ? "" : ")", " by resistance at 40 C coolant",
                   limit.small ? ", under 600 W, fanless or encapsulated" : "");
  limit.rule = limit.small ? rules::iec60034_1_rise_small : rules::iec60034_1_rise_resistance;
  return limit;
}

absl::StatusOr<TemperatureRise> JudgeTemperatureRise(const TemperatureRiseCase& c, const TemperatureRiseReading& r) {
  const standards::ConductorConstants constants = standards::Constants(c.preset, c.metal);
  const double k = constants.zero_resistance_kelvin;
  TemperatureRise out;
  out.winding_celsius = r.cold_ohms > 0 ? r.hot_ohms / r.cold_ohms * (k + r.cold_celsius) - k : 0;
  if (absl::Status status = Check(c, r, out.winding_celsius); !status.ok()) return status;
  out.rise_kelvin = out.winding_celsius - r.coolant_celsius;

  JudgedTest& test = out.test;
  test.kind = TestKind::kTemperatureRise;
  test.title = "Temperature rise by resistance";
  test.unit = "K";
  test.corrected = out.rise_kelvin;
  test.rules = {rules::iec60034_1_rise_by_resistance, constants.rule};
  if (!c.thermal_class_celsius) {
    test.limit.kind = LimitKind::kNoLimitInStandard;
    test.suspect = Suspect::kReading;
    test.reason = absl::StrFormat("%.1f K, with no thermal class to hold it against: give the class of the plate",
                                  out.rise_kelvin);
    return out;
  }
  const auto limit = RiseLimitOf(*c.thermal_class_celsius, c.rated_kw, c.fanless_or_potted);
  if (!limit.ok()) return limit.status();
  out.limit_kelvin = limit->kelvin;
  if (!out.limit_kelvin) {
    test.limit.kind = LimitKind::kNoLimitInStandard;
    test.reason = absl::StrCat("class ", *c.thermal_class_celsius, " has no limit of rise by resistance");
    return out;
  }
  test.limit = AtMost(*out.limit_kelvin, "K", limit->text, limit->rule);
  test.rules.push_back(test.limit.rule);
  // Both readings by the same instrument, taken as independent.
  const double uncertainty = (out.winding_celsius + k) * r.uncertainty_ratio * std::sqrt(2.0);
  Decide(out.rise_kelvin, {uncertainty, c.shop_margin_ratio}, test);
  const double most_delay = MostDelaySeconds(c.rated_kw);
  if (r.seconds_after_switch_off) test.rules.push_back(rules::iec60034_1_rise_delay);
  if (r.hot_ohms <= r.cold_ohms * (1 + r.uncertainty_ratio)) {
    test.verdict = Verdict::kNotValid;
    test.suspect = Suspect::kReading;
    test.reason = "the hot resistance is not above the cold one: no heat run, or two different paths";
  } else if (test.verdict != Verdict::kFail && r.seconds_after_switch_off && *r.seconds_after_switch_off > most_delay) {
    test.verdict = Verdict::kNotValid;
    test.suspect = Suspect::kReading;
    test.reason = absl::StrFormat(
        "read %.0f s after switch-off where %.0f s are allowed: the winding has cooled; read several times and go back "
        "along the cooling curve",
        *r.seconds_after_switch_off, most_delay);
  } else if (test.verdict == Verdict::kPass && !r.seconds_after_switch_off) {
    test.verdict = Verdict::kMarginal;
    test.suspect = Suspect::kReading;
    test.reason = absl::StrCat(
        "below the limit as read, but how long after switch-off is not known, and the winding "
        "cools from the first second: ",
        limit->text);
    test.points_to = {"the seconds from switch-off to the hot reading; where they are lost, the run again"};
  } else if (test.verdict == Verdict::kPass) {
    test.reason = absl::StrCat("below the limit: ", limit->text);
  } else {
    test.suspect = Suspect::kOverheating;
    test.reason = absl::StrCat(
        test.verdict == Verdict::kMarginal ? "within the guard band of the limit: " : "over the limit: ", limit->text);
    test.points_to = {"load, voltage and cooling first; then turns and wire against the record"};
  }
  return out;
}

}  // namespace coilwright::testing
