#include "absl/strings/str_format.h"
#include "electric/plausible.h"
#include "plan/steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

using standards::Band;

// Beyond this much above the level nobody should wind it.
constexpr double kFarAbove = 1.3;

// A loading that rises towards harm. Only its top is a warning: what lies low is safe, and known from the original.
Finding AgainstTop(electric::Loading which, electric::MachineKind kind, absl::string_view what, absl::string_view unit,
                   double before, double after, std::optional<double> shop_high, absl::string_view harm) {
  const electric::PlausibleRange range = electric::Plausible(which, kind);
  const double high = shop_high.value_or(range.high);
  Finding finding{FindingLevel::kOk,   std::string(what), after,
                  Band{0, high, high}, std::string(unit), "within the range met in practice or set by the shop",
                  range.rule};
  // A level that the original passes too is no news of the change, but a word is owed all the same.
  if (after > high && after > 1.005 * before) {
    finding.level = after > kFarAbove * high ? FindingLevel::kAct : FindingLevel::kWatch;
    finding.text = absl::StrFormat("%.0f %% more than the original; %s", 100 * (after / before - 1), harm);
  } else if (after > high) {
    finding.level = FindingLevel::kWatch;
    finding.text = "above the range, as the original is";
  }
  return finding;
}

// A factor this far below that of the original is not what a winder would choose.
constexpr double kWeakFactor = 0.85;
constexpr double kUselessFactor = 0.7;

// Nothing where the new coils link the flux about as well as the old ones.
std::optional<Finding> AgainstOriginalFactor(double before, double after) {
  if (after >= kWeakFactor * before) return std::nullopt;
  return Finding{after < kUselessFactor * before ? FindingLevel::kAct : FindingLevel::kWatch,
                 "winding factor",
                 after,
                 Band{kWeakFactor * before, before, 1},
                 "ratio",
                 "the new coils link the working wave far worse than the original's: turns and resistance grow for "
                 "nothing; another pitch or form serves these slots and poles",
                 rules::winding_factor};
}

constexpr absl::string_view kMoreTurns = "expect more current and iron loss, or take more turns";

}  // namespace

std::vector<Finding> GlancePlanned(const Frame& frame, const RewindPlan& plan) {
  const Settings& s = *frame.settings;
  const electric::MachineKind kind = frame.record->kind == MachineKind::kInduction
                                         ? electric::MachineKind::kInduction
                                         : electric::MachineKind::kPermanentMagnet;
  std::vector<Finding> findings;
  if (auto weak = AgainstOriginalFactor(plan.pattern.winding_factor, plan.turns.winding_factor)) {
    findings.push_back(*std::move(weak));
  }
  if (plan.loading_planned.densities && plan.loading_as_recorded.densities) {
    const electric::FluxDensities& was = *plan.loading_as_recorded.densities;
    const electric::FluxDensities& is = *plan.loading_planned.densities;
    const auto density = [&](electric::Loading which, absl::string_view what, double before, double after,
                             std::optional<double> shop_high) {
      if (after > 0) findings.push_back(AgainstTop(which, kind, what, "teslas", before, after, shop_high, kMoreTurns));
    };
    density(electric::Loading::kAirGapPeakTeslas, "air-gap flux density, peak", was.air_gap_peak_teslas,
            is.air_gap_peak_teslas, s.air_gap_watch_teslas);
    density(electric::Loading::kToothTeslas, "tooth flux density", was.tooth_teslas, is.tooth_teslas,
            s.tooth_watch_teslas);
    density(electric::Loading::kBackIronTeslas, "back-iron flux density", was.back_iron_teslas, is.back_iron_teslas,
            s.back_iron_watch_teslas);
  }
  if (plan.options.empty()) return findings;
  const Option& first = plan.options.front();
  if (first.current_density_a_per_mm2 && plan.as_recorded.current_density_a_per_mm2) {
    findings.push_back(AgainstTop(electric::Loading::kCurrentDensityAPerMm2, kind, "current density", "A/mm2",
                                  *plan.as_recorded.current_density_a_per_mm2, *first.current_density_a_per_mm2,
                                  s.current_density_watch_a_per_mm2, "more heat in the slot than the shop allows"));
  }
  if (first.fill) {
    const bool ok = first.fill->verdict == slot::FillVerdict::kOk;
    findings.push_back({ok                                                 ? FindingLevel::kOk
                        : first.fill->verdict == slot::FillVerdict::kWatch ? FindingLevel::kWatch
                                                                           : FindingLevel::kAct,
                        "slot fullness", first.fill->fill.fullness_ratio, std::nullopt, "ratio",
                        ok ? "the new wire goes into this slot" : "tight for the new wire: try it on a sample slot",
                        rules::slot_fullness_levels});
  }
  return findings;
}

}  // namespace coilwright::plan
