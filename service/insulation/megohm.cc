#include "insulation/megohm.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "absl/strings/str_cat.h"
#include "insulation/constants.h"
#include "insulation/input_ranges.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "standards/tables.h"

namespace coilwright::insulation {
namespace {

using standards::EmbeddedTable;
using standards::Table;

absl::string_view EditionName(MegohmEdition edition) {
  switch (edition) {
    case MegohmEdition::kIeee43_2013:
      return "2013";
    case MegohmEdition::kIeee43_2000:
      return "2000";
    case MegohmEdition::kIeee43_1974:
      return "1974";
    case MegohmEdition::kOneMegohmPerKilovolt:
      break;
  }
  return "one_per_kilovolt";
}

absl::string_view KindName(WindingKind kind) {
  switch (kind) {
    case WindingKind::kRandomWound:
      return "random_wound";
    case WindingKind::kFormWound:
      return "form_wound";
    case WindingKind::kField:
      return "field";
    case WindingKind::kDcArmature:
      break;
  }
  return "dc_armature";
}

bool Fits(absl::string_view cell, absl::string_view wanted) { return cell.empty() || cell == wanted; }

void SetTestVoltage(double rated_volts, MegohmLimits& limits) {
  static const Table& table = *new Table(EmbeddedTable("megohm_test_voltage"));
  for (int row = 0; row < table.rows(); ++row) {
    const auto below = table.Number(row, "below_volts");
    const auto up_to = table.Number(row, "up_to_volts");
    if ((below && rated_volts >= *below) || (up_to && rated_volts > *up_to)) continue;
    limits.test_volts_dc_low = *table.Number(row, "low_volts_dc");
    limits.test_volts_dc_high = *table.Number(row, "high_volts_dc");
    limits.test_volts_dc = limits.test_volts_dc_low;
    limits.test_voltage_rule = table.Text(row, "rule");
    return;
  }
}

void SetMinimum(const MegohmCase& megohm_case, MegohmLimits& limits) {
  static const Table& table = *new Table(EmbeddedTable("megohm_minimum"));
  for (int row = 0; row < table.rows(); ++row) {
    const auto built_before = table.Number(row, "built_before");
    const auto below = table.Number(row, "below_volts");
    const bool older = megohm_case.built_year && built_before && *megohm_case.built_year < *built_before;
    if (table.Text(row, "edition") != EditionName(megohm_case.edition) ||
        !Fits(table.Text(row, "kind"), KindName(megohm_case.kind)) || (built_before && !older) ||
        (below && megohm_case.rated_volts >= *below)) {
      continue;
    }
    const double megohms =
        *table.Number(row, "plus_megohms") + *table.Number(row, "megohms_per_kv") * megohm_case.rated_volts / 1000;
    limits.minimum_megohms = std::max(megohms, table.Number(row, "least_megohms").value_or(0));
    limits.minimum_rule = table.Text(row, "rule");
    return;
  }
}

struct Factor {
  double factor = 0;
  double base_celsius = 0;
  absl::string_view rule;
};

absl::StatusOr<Factor> CorrectionFactor(absl::string_view family, double megohms, double winding_celsius) {
  standards::RangeCheck checks;
  checks.Above("megohms", megohms, 0, kMostMegohms, "megohms");
  checks.Within("winding_celsius", winding_celsius, -273.15, 1000, "C");
  if (!checks.ok()) return checks.status();

  static const Table& table = *new Table(EmbeddedTable("megohm_correction"));
  double least = 1000, most = -273.15;
  for (int row = 0; row < table.rows(); ++row) {
    if (table.Text(row, "family") != family) continue;
    const double from = *table.Number(row, "from_celsius"), to = *table.Number(row, "to_celsius");
    least = std::min(least, from);
    most = std::max(most, to);
    if (winding_celsius < from || winding_celsius > to) continue;
    const double constant = *table.Number(row, "constant"), base = *table.Number(row, "base_celsius");
    const double zero = table.Number(row, "zero").value_or(0);
    const double factor = table.Text(row, "form") == "halving"
                              ? std::exp2((winding_celsius - base) / constant)
                              : std::exp(-constant * (1 / (winding_celsius + zero) - 1 / (base + zero)));
    return Factor{factor, base, table.Text(row, "rule")};
  }
  return absl::FailedPreconditionError(absl::StrCat("the megohm correction holds from ", least, " to ", most,
                                                    " C and nothing is extrapolated: the winding is at ",
                                                    winding_celsius, " C; bring it into that range and read again"));
}

}  // namespace

double MostCurrentRatio(double kelvin) {
  static const double halving = [] {
    const Table table(EmbeddedTable("megohm_correction"));
    for (int row = 0; row < table.rows(); ++row) {
      if (table.Text(row, "family") == "thermoplastic") return *table.Number(row, "constant");
    }
    std::abort();
  }();
  return std::exp2(kelvin / halving);
}

absl::StatusOr<MegohmLimits> Limits(const MegohmCase& megohm_case) {
  standards::RangeCheck checks;
  checks.Within("rated_volts", megohm_case.rated_volts, kLeastRatedVolts, kMostRatedVolts, "V");
  if (megohm_case.rated_kw) checks.Above("rated_kw", *megohm_case.rated_kw, 0, kMostRatedKw, "kW");
  checks.Above("shop_expectation_megohms", megohm_case.shop_expectation_megohms, 0, kMostMegohms, "megohms");
  if (megohm_case.built_year) {
    checks.Within("built_year", *megohm_case.built_year, kFirstBuiltYear, kLastBuiltYear, "");
  }
  if (!checks.ok()) return checks.status();

  MegohmLimits limits;
  SetTestVoltage(megohm_case.rated_volts, limits);
  SetMinimum(megohm_case, limits);
  limits.shop_expectation_megohms = std::max(megohm_case.shop_expectation_megohms, limits.minimum_megohms);
  limits.outside_scope = megohm_case.rated_kw && *megohm_case.rated_kw < Constant("scope_from");
  limits.rules = {limits.test_voltage_rule, limits.minimum_rule, rules::shop_megohm_expectation};
  if (limits.outside_scope) limits.rules.push_back(rules::ieee43_scope);
  return limits;
}

absl::StatusOr<Corrected> To40Celsius(double megohms, double winding_celsius, InsulationFamily family) {
  const auto factor = CorrectionFactor(family == InsulationFamily::kThermosetting ? "thermosetting" : "thermoplastic",
                                       megohms, winding_celsius);
  if (!factor.ok()) return factor.status();
  return Corrected{factor->factor, megohms * factor->factor, factor->rule};
}

absl::StatusOr<CorrectedToBase> ToHandbookBase(double megohms, double winding_celsius, HandbookCorrection correction) {
  const auto factor = CorrectionFactor(correction == HandbookCorrection::kMilM17413A ? "mil_m_17413a" : "army_tr0656",
                                       megohms, winding_celsius);
  if (!factor.ok()) return factor.status();
  return CorrectedToBase{factor->factor, megohms * factor->factor, factor->base_celsius, factor->rule};
}

double WholeWindingMegohms(double megohms, OtherPhases others) {
  switch (others) {
    case OtherPhases::kEarthed:
      return megohms / Constant("others_earthed_divisor");
    case OtherPhases::kGuarded:
      return megohms / Constant("others_guarded_divisor");
    case OtherPhases::kTogether:
      break;
  }
  return megohms;
}

double DischargeSeconds(double applied_seconds) {
  if (!std::isfinite(applied_seconds) || applied_seconds <= 0) return 0;
  return std::min(Constant("discharge_factor") * applied_seconds, 1e300);
}

}  // namespace coilwright::insulation
