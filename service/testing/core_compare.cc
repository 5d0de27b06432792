#include <algorithm>
#include <cmath>
#include <utility>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "standards/units.h"
#include "testing/core_figures.h"
#include "testing/level_tables.h"
#include "testing/ring_flux.h"

namespace coilwright::testing {
namespace {

using insulation::Verdict;
using standards::WithUnit;

void CheckReading(const std::string& path, const CoreReading& reading, standards::RangeCheck* checks) {
  checks->Within(path + ".watts", reading.watts, 0.001, 1e7, "W");
  checks->Within(path + ".volts_per_turn", reading.volts_per_turn, 1e-4, 1000, "V");
  checks->Within(path + ".instrument.uncertainty_ratio", reading.uncertainty_ratio, 0, 0.5, "");
  const auto celsius = [&](const char* field, const std::optional<double>& value) {
    if (value) checks->Within(path + "." + field, *value, -40, 300, "C");
  };
  celsius("start_temperature", reading.start_celsius);
  celsius("hot_spot_temperature", reading.hot_spot_celsius);
  celsius("average_temperature", reading.average_celsius);
  const double coldest = std::max(reading.start_celsius.value_or(-40), reading.average_celsius.value_or(-40));
  if (reading.hot_spot_celsius && *reading.hot_spot_celsius < coldest) {
    checks->Refuse(path + ".hot_spot_temperature", WithUnit(*reading.hot_spot_celsius, "C"),
                   "no colder than the core at the start and than its mean");
  }
}

// At most `limit`, or less than it where `strict`, with a guard band of `uncertainty` on both sides.
Verdict NotAbove(double value, double uncertainty, double limit, bool strict = false) {
  const auto inside = [&](double v) { return strict ? v < limit : v <= limit; };
  if (inside(value + uncertainty)) return Verdict::kPass;
  return inside(value - uncertainty) ? Verdict::kMarginal : Verdict::kFail;
}

std::string AsLoss(Verdict verdict, absl::string_view limit) {
  switch (verdict) {
    case Verdict::kPass:
      return absl::StrCat("within ", limit);
    case Verdict::kMarginal:
      return absl::StrCat("within its uncertainty of ", limit, ": repeat with a better instrument");
    default:
      return absl::StrCat("over ", limit);
  }
}

// Watts before and after at one flux. What the loss exponent leaves open counts as uncertainty.
CoreCheck LossChange(const CoreComparisonCase& c, CoreComparison* out) {
  CoreCheck check;
  check.rule = rules::easa_core_test_loss_change;
  check.limit = c.loss_increase_most_percent.value_or(Setting("core_loss_increase_most"));
  const double flux_ratio = c.before.volts_per_turn / c.after.volts_per_turn;
  const double apart = std::abs(flux_ratio - 1);
  out->after_watts_at_same_flux = c.after.watts;
  // A hair of slack, so that 1 % and 5 % typed in decimals count as such.
  if (apart > CoreFigure("correctable_within") + 1e-9) {
    check.reason = absl::StrFormat(
        "the flux of the two runs is %.1f %% apart, too far to correct: repeat the run after stripping at %.4g V per "
        "turn",
        100 * apart, c.before.volts_per_turn);
    return check;
  }
  double open_percent = 0;
  const auto change = [&](double watts) { return 100 * (watts / c.before.watts - 1); };
  if (apart > CoreFigure("same_flux_within") + 1e-9) {
    const auto at = [&](const char* name) { return c.after.watts * std::pow(flux_ratio, CoreFigure(name)); };
    out->after_watts_at_same_flux = at("loss_exponent");
    open_percent = std::max(std::abs(change(at("loss_exponent_low")) - change(at("loss_exponent"))),
                            std::abs(change(at("loss_exponent_high")) - change(at("loss_exponent"))));
    out->notes.push_back(absl::StrFormat(
        "the flux of the two runs is %.1f %% apart: the watts after are corrected from %.4g W to %.4g W; repeat at "
        "%.4g V per turn for a comparison without correction",
        100 * apart, c.after.watts, out->after_watts_at_same_flux, c.before.volts_per_turn));
    out->rules.push_back(rules::core_test_flux_correction);
  }
  check.value = change(out->after_watts_at_same_flux);
  const double instrument_percent = 100 * out->after_watts_at_same_flux / c.before.watts *
                                    std::hypot(c.before.uncertainty_ratio, c.after.uncertainty_ratio);
  if (*check.value + instrument_percent + open_percent < -Setting("core_loss_drop_most")) {
    check.reason = absl::StrFormat(
        "%.1f %% less than before, which no stripping does: check range, turns and voltage and read both again",
        -*check.value);
    return check;
  }
  check.verdict = NotAbove(*check.value, instrument_percent + open_percent, *check.limit);
  check.reason = AsLoss(check.verdict, absl::StrCat(WithUnit(*check.limit, "%"), " more than before"));
  return check;
}

CoreCheck SpecificLoss(const CoreComparisonCase& c, const CoreComparison& out) {
  CoreCheck check;
  check.kind = CoreCheckKind::kSpecificLoss;
  check.rule = rules::easa_core_test_specific_loss;
  check.limit = c.specific_loss_most_watts_per_kg.value_or(CoreFigure("specific_loss_most") / standards::kKgPerPound);
  check.value = out.after_watts_per_kg;
  const double usual = Setting("core_test_teslas");
  if (c.make.build != CoreBuild::kRing) {
    check.reason = "segmented core: only the two runs compare";
  } else if (const std::string note = HighFrequencyNote(c.designed_for_hz, std::nullopt); !note.empty()) {
    check.reason = note;
  } else if (!check.value) {
    check.reason = "mass of the back iron unknown: give the dimensions of the core or its mass";
  } else if (out.after_teslas && std::abs(*out.after_teslas / usual - 1) > CoreFigure("flux_off_watch")) {
    check.reason = absl::StrFormat("read at %.3g T, and the limit is meant for about %.3g T", *out.after_teslas, usual);
  } else {
    check.verdict = NotAbove(*check.value, c.after.uncertainty_ratio * *check.value, *check.limit);
    check.reason =
        AsLoss(check.verdict, absl::StrFormat("%.3g W/kg (%.3g W/lb)", *check.limit, WattsPerPound(*check.limit)));
    if (!out.after_teslas) check.reason += "; the flux is taken as about 1.32 T and not shown";
  }
  return check;
}

// Flux at which nothing heats and damaged plates hardly show.
bool TooLittleFlux(const CoreComparison& out) {
  return out.after_teslas && *out.after_teslas < Setting("core_least_flux_share") * Setting("core_test_teslas");
}

CoreCheck HotSpot(const CoreComparisonCase& c, const CoreComparison& out) {
  CoreCheck check;
  check.kind = CoreCheckKind::kHotSpot;
  const bool ieee = c.hot_spot_rule == HotSpotRule::kIeee1068;
  const bool over_start = c.hot_spot_reference == HotSpotReference::kStart;
  check.rule = ieee ? rules::ieee1068_hot_spot : rules::core_test_hot_spot;
  check.limit = Setting(ieee ? "core_hot_spot_ieee1068" : "core_hot_spot_most");
  check.value = over_start ? out.hot_spot_over_start_kelvin : out.hot_spot_over_average_kelvin;
  if (!check.value) {
    check.reason =
        absl::StrCat("not read: the hottest spot and ", over_start ? "the core at the start" : "the mean of the core",
                     " by camera, at 0, 10 and 20 minutes");
  } else if (c.make.build != CoreBuild::kRing) {
    check.reason = "segmented core: its joints warm by themselves, so only the two runs compare";
  } else if (TooLittleFlux(out) && *check.value < *check.limit) {
    check.reason = absl::StrFormat("read at %.3g T, too little flux to heat a damaged spot", *out.after_teslas);
  } else {
    check.verdict = NotAbove(*check.value, 0, *check.limit, true);
    check.reason =
        absl::StrCat(check.verdict == Verdict::kPass ? "less than " : "not less than ", WithUnit(*check.limit, "K"),
                     over_start ? " above the core at the start" : " above the mean of the core");
  }
  return check;
}

// The worst of what was judged; watts alone clear no core.
void Conclude(const CoreComparisonCase& c, CoreComparison* out) {
  const auto of = [&](CoreCheckKind kind) -> const CoreCheck& { return out->checks[static_cast<size_t>(kind)]; };
  const auto any = [&](Verdict verdict) {
    return std::any_of(out->checks.begin(), out->checks.end(),
                       [&](const CoreCheck& k) { return k.verdict == verdict; });
  };
  const bool ring = c.make.build == CoreBuild::kRing;
  if (any(Verdict::kFail)) {
    out->verdict = Verdict::kFail;
    out->reason = "over a limit: find the spot and repair the core, or replace it, before it is wound";
  } else if (TooLittleFlux(*out)) {
    out->reason = absl::StrFormat("read at %.3g T where about %.3g T is meant: nothing heats, the core is not cleared",
                                  *out->after_teslas, Setting("core_test_teslas"));
  } else if (of(CoreCheckKind::kLossChange).verdict == Verdict::kNotValid) {
    out->reason = "the two runs do not compare: the core is not cleared";
  } else if (ring && of(CoreCheckKind::kHotSpot).verdict == Verdict::kNotValid) {
    out->reason = "the watts alone do not clear a core: no hot spot was judged";
  } else {
    out->verdict = any(Verdict::kMarginal) ? Verdict::kMarginal : Verdict::kPass;
    out->reason = out->verdict == Verdict::kMarginal ? "within the uncertainty of a limit: repeat before it is wound"
                  : ring && !out->after_teslas
                      ? "the loss has not risen; the flux is not shown, so only the two runs compare"
                  : ring ? "the stripping has not hurt the core"
                         : "the loss has not risen; more cannot be said of a segmented core";
  }
}

}  // namespace

double WattsPerPound(double watts_per_kg) { return watts_per_kg * standards::kKgPerPound; }

absl::StatusOr<CoreComparison> CompareCoreTests(const CoreComparisonCase& comparison) {
  const CoreComparisonCase& c = comparison;
  standards::RangeCheck checks;
  CheckReading("before", c.before, &checks);
  CheckReading("after", c.after, &checks);
  if (c.back_iron_kg) checks.Within("back_iron_mass", *c.back_iron_kg, 0.001, 1e6, "kg");
  if (c.frequency_hz) checks.Within("frequency_hz", *c.frequency_hz, 1, 1000, "Hz");
  if (c.designed_for_hz) checks.Above("designed_for_hz", *c.designed_for_hz, 0, 10000, "Hz");
  if (c.loss_increase_most_percent) {
    checks.Within("loss_increase_most_percent", *c.loss_increase_most_percent, 0, 1000, "%");
  }
  if (c.specific_loss_most_watts_per_kg) {
    checks.Within("specific_loss_most_watts_per_kg", *c.specific_loss_most_watts_per_kg, 0.01, 1000, "W/kg");
  }
  absl::StatusOr<BackIron> iron = BackIron{};
  if (c.core) iron = BackIronOf(*c.core);
  if (!iron.ok() || !checks.ok()) return Together(checks, standards::UnderField("core", iron.status()));
  if (c.make.magnets_fitted) return MagnetsFirst();

  CoreComparison out;
  out.rules = {rules::ar100_core_test, rules::shop_core_guard_band, rules::shop_core_plausible};
  if (c.core) out.rules.push_back(rules::core_test_back_iron);
  if (c.core && c.frequency_hz) {
    out.before_teslas = TeslasOf(c.before.volts_per_turn, *c.frequency_hz, iron->area_mm2);
    out.after_teslas = TeslasOf(c.after.volts_per_turn, *c.frequency_hz, iron->area_mm2);
    out.rules.push_back(rules::core_test_volts_per_turn);
  }
  if (c.back_iron_kg || c.core) {
    out.back_iron_kg = c.back_iron_kg.value_or(iron->kg);
    out.before_watts_per_kg = c.before.watts / *out.back_iron_kg;
    out.after_watts_per_kg = c.after.watts / *out.back_iron_kg;
    out.rules.push_back(rules::core_test_mass);
  }
  if (c.after.hot_spot_celsius && c.after.start_celsius) {
    out.hot_spot_over_start_kelvin = *c.after.hot_spot_celsius - *c.after.start_celsius;
  }
  if (c.after.hot_spot_celsius && c.after.average_celsius) {
    out.hot_spot_over_average_kelvin = *c.after.hot_spot_celsius - *c.after.average_celsius;
  }
  CoreCheck change = LossChange(c, &out);
  out.checks = {std::move(change), SpecificLoss(c, out), HotSpot(c, out)};
  for (const CoreCheck& check : out.checks) out.rules.push_back(check.rule);
  if (const std::string note = HighFrequencyNote(c.designed_for_hz, std::nullopt); !note.empty()) {
    out.notes.push_back(note);
    out.rules.push_back(rules::core_test_high_frequency_laminations);
  }
  const double limit = *out.checks.back().limit;
  if (out.hot_spot_over_start_kelvin && out.hot_spot_over_average_kelvin &&
      (*out.hot_spot_over_start_kelvin < limit) != (*out.hot_spot_over_average_kelvin < limit)) {
    out.notes.push_back("the two ways to measure a hot spot, above the start and above the mean, disagree here");
  }
  Conclude(c, &out);
  return out;
}

}  // namespace coilwright::testing
