#include <cmath>
#include <limits>

#include "absl/strings/str_cat.h"
#include "insulation/constants.h"
#include "insulation/megohm.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "standards/tables.h"

namespace coilwright::insulation {
namespace {

std::optional<double> Quotient(const std::optional<double>& later, const std::optional<double>& earlier) {
  const auto taken = [](const std::optional<double>& reading) {
    return reading && std::isfinite(*reading) && *reading > 0;
  };
  if (!taken(later) || !taken(earlier)) return std::nullopt;
  const double ratio = *later / *earlier;
  return std::isfinite(ratio) && ratio > 0 ? std::optional<double>(ratio) : std::nullopt;
}

double LeastIndex(int thermal_class_celsius) {
  static const standards::Table& table = *new standards::Table(standards::EmbeddedTable("polarization_index"));
  for (int row = 0; row < table.rows(); ++row) {
    const auto up_to = table.Number(row, "class_up_to_celsius");
    if (!up_to || thermal_class_celsius <= *up_to) return *table.Number(row, "minimum");
  }
  return std::numeric_limits<double>::max();
}

Ratio DoesNotApply(std::string reason, absl::string_view rule) { return {{}, {}, false, std::move(reason), rule}; }

}  // namespace

Ratio PolarizationIndex(const RatioCase& ratio_case) {
  if (ratio_case.kind == WindingKind::kRandomWound) {
    return DoesNotApply(
        "the absorption current of a small random-wound winding is gone within seconds, so the ten-minute ratio stays "
        "near 1 on good and bad insulation alike; judge the one-minute value and watch the 60 s / 30 s ratio",
        rules::ieee43_polarization_index_random_wound);
  }
  if (ratio_case.kind == WindingKind::kField) {
    return DoesNotApply("a field winding has bare or uncovered conductors and no absorption current to speak of",
                        rules::ieee43_polarization_index_field);
  }
  const double disregarded_above = Constant("index_disregarded_above");
  if (ratio_case.megohms_60s_at_40c && *ratio_case.megohms_60s_at_40c > disregarded_above) {
    return DoesNotApply(absl::StrCat("above ", disregarded_above,
                                     " megohms at 40 C the currents are too small for the index to mean anything"),
                        rules::ieee43_polarization_index_disregarded);
  }
  Ratio ratio;
  ratio.applies = true;
  ratio.value = Quotient(ratio_case.megohms_600s, ratio_case.megohms_60s);
  ratio.minimum = LeastIndex(ratio_case.thermal_class_celsius);
  ratio.rule = rules::ieee43_polarization_index_minimum;
  if (!ratio.value) {
    ratio.reason = "not measured: needs the readings after 60 s and after 600 s of one run at constant voltage";
  } else if (*ratio.value < *ratio.minimum) {
    ratio.reason =
        absl::StrCat("below the least of ", *ratio.minimum,
                     ": moisture, dirt or a warm winding cooling; up to 10 000 kVA a one-minute value at its "
                     "minimum suffices, dry it out and read again all the same");
  } else if (*ratio.value > Constant("index_brittle_above")) {
    ratio.reason = absl::StrCat("above ", Constant("index_brittle_above"), ": the insulation may be dry and brittle");
  }
  return ratio;
}

Ratio AbsorptionRatio(const RatioCase& ratio_case) {
  Ratio ratio;
  ratio.applies = true;
  ratio.value = Quotient(ratio_case.megohms_60s, ratio_case.megohms_30s);
  ratio.reason = ratio.value && *ratio.value < 1 ? "falls with time: moisture, surface leakage or a reading taken wrong"
                 : ratio.value                   ? "no standard sets a limit: compare with the same winding before"
                               : "not measured: needs the readings after 30 s and after 60 s of one run";
  ratio.rule = rules::practice_absorption_ratio;
  return ratio;
}

absl::StatusOr<double> DewPointCelsius(double air_celsius, double relative_humidity_percent) {
  standards::RangeCheck checks;
  checks.Within("air_celsius", air_celsius, -40, 60, "C");
  checks.Above("relative_humidity_percent", relative_humidity_percent, 0, 100, "%");
  if (!checks.ok()) return checks.status();
  const double a = Constant("dew_point_a"), b = Constant("dew_point_b");
  // Two logarithms: a humidity near the smallest double must not become 0 by the division.
  const double g = std::log(relative_humidity_percent) - std::log(100.0) + a * air_celsius / (b + air_celsius);
  return b * g / (a - g);
}

}  // namespace coilwright::insulation
