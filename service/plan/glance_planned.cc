#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "electric/plausible.h"
#include "plan/steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

using standards::Band;

// Beyond this much above the level nobody should wind it.
constexpr double kFarAbove = 1.3;

// The level of the shop, or the top of the range met in practice.
double TopOf(electric::Loading which, electric::MachineKind kind, std::optional<double> shop) {
  return shop.value_or(electric::Plausible(which, kind).high);
}

struct IronPart {
  electric::Loading which;
  const char* what;
  double electric::FluxDensities::*teslas;
  std::optional<double> Settings::*shop;
};
constexpr IronPart kIronParts[] = {{electric::Loading::kAirGapPeakTeslas, "air-gap flux density, peak",
                                    &electric::FluxDensities::air_gap_peak_teslas, &Settings::air_gap_watch_teslas},
                                   {electric::Loading::kToothTeslas, "tooth flux density",
                                    &electric::FluxDensities::tooth_teslas, &Settings::tooth_watch_teslas},
                                   {electric::Loading::kBackIronTeslas, "back-iron flux density",
                                    &electric::FluxDensities::back_iron_teslas, &Settings::back_iron_watch_teslas}};

// A loading that rises towards harm. Only its top is a warning: what lies low is safe, and known from the original.
Finding AgainstTop(electric::Loading which, electric::MachineKind kind, absl::string_view what, absl::string_view unit,
                   double before, double after, std::optional<double> shop_high, absl::string_view harm) {
  const double high = TopOf(which, kind, shop_high);
  Finding finding{FindingLevel::kOk,
                  std::string(what),
                  after,
                  Band{0, high, high},
                  std::string(unit),
                  "within the range met in practice or set by the shop",
                  electric::Plausible(which, kind).rule};
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

// How far the teeth of an original within the range met in practice may lie below its top.
double RoomOfTheTeeth() {
  const electric::PlausibleRange teeth =
      electric::Plausible(electric::Loading::kToothTeslas, electric::MachineKind::kInduction);
  return teeth.high / teeth.low;
}

// Where the core was not measured, the rise of the density in the iron is known all the same. Nothing where it leaves
// an original room.
std::optional<Finding> AgainstUnmeasuredIron(const Record& record, const TurnsPlan& turns, int poles_before) {
  if (record.kind != MachineKind::kInduction) return std::nullopt;
  const double rise = turns.flux_ratio * std::max(1.0, static_cast<double>(turns.poles) / poles_before);
  const double room = RoomOfTheTeeth();
  if (rise <= room) return std::nullopt;
  return Finding{rise > kFarAbove * room ? FindingLevel::kAct : FindingLevel::kWatch,
                 "flux density against the original",
                 rise,
                 Band{0, 1, room},
                 "ratio",
                 "teeth of an original within the range met in practice have no room for this; bore and stack length "
                 "tell the flux density itself",
                 rules::electric_plausible_ranges};
}

// Output at which the first part of the iron comes to its top: the flux density goes with the root of the output. Where
// the core was not measured, for teeth at the low end of what is met in practice.
struct FramePower {
  double kw = 0;
  std::string where;
};
FramePower FramePowerOf(const Settings& settings, const std::optional<electric::FluxDensities>& densities, double kw) {
  if (!densities) {
    return {kw * RoomOfTheTeeth() * RoomOfTheTeeth(),
            "for teeth that lie at the low end of what is met in practice: the core was not measured"};
  }
  FramePower least;
  for (const IronPart& part : kIronParts) {
    const double teslas = (*densities).*part.teslas;
    const double top = TopOf(part.which, electric::MachineKind::kInduction, settings.*part.shop);
    if (!(teslas > 0)) continue;
    const double most = kw * (top / teslas) * (top / teslas);
    if (least.kw == 0 || most < least.kw) {
      least = {most, absl::StrFormat("where the %s comes to %.3g T", part.what, top)};
    }
  }
  return least;
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

absl::Status RefusePower(const Record& record, const Original& original, const Redesign& redesign, const Change& change,
                         const Settings& settings) {
  // At four times the output the density is twice its top: no iron carries that, and no figure means anything.
  constexpr double kBeyondAnyIron = 4;
  if (!change.rated_kw || !record.plate.rated_kw) return absl::OkStatus();
  Change same_torque = change;
  same_torque.rated_kw.reset();
  const absl::StatusOr<TurnsPlan> turns = PlanTurns(record, original.pattern, redesign, same_torque);
  if (!turns.ok() || !turns->rated_kw) return absl::OkStatus();  // said of the whole change
  const absl::StatusOr<Loading> loading = LoadingOf(record, original.turns, *turns, std::nullopt);
  if (!loading.ok()) return absl::OkStatus();
  const FramePower frame = FramePowerOf(settings, loading->densities, *turns->rated_kw);
  if (*change.rated_kw <= kBeyondAnyIron * std::max(frame.kw, *turns->rated_kw)) return absl::OkStatus();
  return standards::InvalidField("change.rated_power", absl::StrFormat("%g kW", *change.rated_kw),
                                 absl::StrFormat("what this frame can give: about %.2g kW, %s", frame.kw, frame.where));
}

std::vector<Finding> GlancePlanned(const Frame& frame, const RewindPlan& plan, const Option* wound,
                                   const Change& change) {
  const Settings& s = *frame.settings;
  const electric::MachineKind kind = ElectricKind(frame.record->kind);
  std::vector<Finding> findings;
  if (auto weak = AgainstOriginalFactor(plan.pattern.winding_factor, plan.turns.winding_factor)) {
    findings.push_back(*std::move(weak));
  }
  if (plan.loading_planned.densities && plan.loading_as_recorded.densities) {
    for (const IronPart& part : kIronParts) {
      const double before = (*plan.loading_as_recorded.densities).*part.teslas;
      const double after = (*plan.loading_planned.densities).*part.teslas;
      if (!(after > 0)) continue;
      findings.push_back(AgainstTop(part.which, kind, part.what, "teslas", before, after, s.*part.shop, kMoreTurns));
    }
  } else if (auto iron = AgainstUnmeasuredIron(*frame.record, plan.turns, plan.pattern.pattern.poles)) {
    findings.push_back(*std::move(iron));
  }
  if (change.rated_kw && plan.turns.flux_ratio > 1) {
    // Whole turns move the flux by chance, not the frame.
    const double kw = *change.rated_kw / (plan.turns.rounding_ratio * plan.turns.rounding_ratio);
    const FramePower power = FramePowerOf(s, plan.loading_planned.densities, kw);
    const auto stops = std::find_if(findings.begin(), findings.end(), [](const Finding& finding) {
      return finding.level == FindingLevel::kAct && finding.rule == rules::electric_plausible_ranges;
    });
    if (stops != findings.end()) {
      absl::StrAppend(&stops->text, absl::StrFormat(". This frame gives about %.2g kW, %s", power.kw, power.where));
    }
  }
  if (wound == nullptr) return findings;
  if (wound->current_density_a_per_mm2 && plan.as_recorded.current_density_a_per_mm2) {
    findings.push_back(AgainstTop(electric::Loading::kCurrentDensityAPerMm2, kind, "current density", "A/mm2",
                                  *plan.as_recorded.current_density_a_per_mm2, *wound->current_density_a_per_mm2,
                                  s.current_density_watch_a_per_mm2, "more heat in the slot than the shop allows"));
  }
  if (wound->fill) {
    const bool ok = wound->fill->verdict == slot::FillVerdict::kOk;
    findings.push_back({ok                                                  ? FindingLevel::kOk
                        : wound->fill->verdict == slot::FillVerdict::kWatch ? FindingLevel::kWatch
                                                                            : FindingLevel::kAct,
                        "slot fullness", wound->fill->fill.fullness_ratio, std::nullopt, "ratio",
                        ok ? "the new wire goes into this slot" : "tight for the new wire: try it on a sample slot",
                        rules::slot_fullness_levels});
  }
  return findings;
}

}  // namespace coilwright::plan
