#include "testing/ring_flux.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "absl/strings/str_cat.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "standards/units.h"
#include "testing/core_figures.h"
#include "testing/level_tables.h"
#include "testing/programme.h"

namespace coilwright::testing {
namespace {

using standards::kPi;
using standards::WithUnit;

void CheckTeeth(const CoreDimensions& core, standards::RangeCheck* checks) {
  if (core.slots) checks->Within("slots", *core.slots, 3, 720, "");
  if (core.tooth_width_mm) {
    const int slots = std::max(3, core.slots.value_or(3));
    checks->Above("tooth_width", *core.tooth_width_mm, 0, kPi * core.outer_diameter_mm / slots, "mm");
  }
  if (core.slots.has_value() != core.tooth_width_mm.has_value()) {
    checks->Refuse(core.slots ? "tooth_width" : "slots", "nothing", "both for the mass of the teeth, or neither");
  }
}

// Volts per turn at the target decide the turns; the whole number with the least error of flux, which near one turn is
// not the nearest.
int WholeTurns(double exact_turns) {
  const double down = std::max(1.0, std::floor(exact_turns));
  const double up = down + 1;
  return static_cast<int>(std::abs(exact_turns / up - 1) < std::abs(exact_turns / down - 1) ? up : down);
}

// H of the flux reached, rms A/m, where something is known of it.
std::optional<standards::Band> AmpsPerMetre(const CoreTestCase& c, const CoreTestOption& option) {
  if (c.make.build != CoreBuild::kRing) return std::nullopt;
  if (c.amps_per_metre) {
    if (std::abs(option.flux_off_ratio) > CoreFigure("flux_off_watch")) return std::nullopt;
    return standards::Band::Exactly(*c.amps_per_metre);
  }
  if (option.teslas < CoreFigure("h_from_teslas") || option.teslas > CoreFigure("h_to_teslas")) return std::nullopt;
  const double low = CoreFigure("h_low"), high = CoreFigure("h_high");
  return standards::Band{low, (low + high) / 2, high};
}

CoreTestOption FromSupply(const CoreTestCase& c, const CoreTestPlan& plan, double supply_volts) {
  CoreTestOption option;
  option.supply_volts = supply_volts;
  option.exact_turns = supply_volts / plan.volts_per_turn;
  option.turns = WholeTurns(option.exact_turns);
  option.volts_per_turn = supply_volts / option.turns;
  option.teslas = TeslasOf(option.volts_per_turn, c.frequency_hz, plan.back_iron.area_mm2);
  option.flux_off_ratio = option.exact_turns / option.turns - 1;
  if (const auto h = AmpsPerMetre(c, option)) {
    const double per_turn = plan.back_iron.mean_path_mm / 1000 / option.turns;
    option.amps = {h->low * per_turn, h->nominal * per_turn, h->high * per_turn};
    const double kilovolts = supply_volts / 1000;
    option.kva = {option.amps->low * kilovolts, option.amps->nominal * kilovolts, option.amps->high * kilovolts};
    option.cable_mm2 = option.amps->high / c.cable_amps_per_mm2.value_or(Setting("core_cable_density"));
  }
  if (std::abs(option.flux_off_ratio) > CoreFigure("flux_off_watch")) {
    option.note = option.flux_off_ratio < 0
                      ? "whole turns leave the flux short of the target: choose a higher or another voltage"
                      : "whole turns drive the flux past the target: choose another voltage";
  }
  return option;
}

void AddNotes(const CoreTestCase& c, CoreTestPlan* plan) {
  auto& notes = plan->notes;
  if (c.make.build != CoreBuild::kRing) {
    notes.push_back(
        "segmented core: its joints decide the current, so none is forecast; same cable, turns, volts and joints "
        "before "
        "and after, and only the two runs compare");
  } else if (c.amps_per_metre) {
    notes.push_back("amps by the magnetizing force given: the measured amps decide");
  } else {
    notes.push_back(absl::StrCat("amps for cable and supply only, from H ", WithUnit(CoreFigure("h_low"), ""), " to ",
                                 WithUnit(CoreFigure("h_high"), "A/m rms"), " for ordinary steel at ",
                                 WithUnit(CoreFigure("h_from_teslas"), ""), " to ",
                                 WithUnit(CoreFigure("h_to_teslas"), "T"), ": the measured amps decide"));
  }
  const bool cable = std::any_of(plan->options.begin(), plan->options.end(),
                                 [](const CoreTestOption& option) { return option.cable_mm2.has_value(); });
  if (cable && !c.cable_amps_per_mm2) {
    notes.push_back(
        absl::StrCat("cable section at ", WithUnit(Setting("core_cable_density"), "A/mm2"),
                     ", assumed since no density is given: one layer in free air for the time of the test"));
  }
  if (const std::string note = HighFrequencyNote(c.designed_for_hz, c.lamination_mm); !note.empty()) {
    notes.push_back(note);
    plan->rules.push_back(rules::core_test_high_frequency_laminations);
  }
  if (c.make.potted) notes.push_back("resin left in the slots or round the core hides hot spots from a camera");
  if (c.make.glued) notes.push_back("bonded laminations: stop below the temperature of the bond");
}

std::vector<std::string> Cautions() {
  return {std::string(QualifiedPersonCaution()),
          "magnets and rotor out and well away before the loop is energised",
          "the cable is live: through the bore clear of both end rings, where it could short the laminations it tests",
          "frame, end shields and bolts must not close a second loop round the core; earth it at one point",
          "no rings, tools or fingers in the bore; guarded area while the loop is energised",
          "hot spots burn: watch with a camera, not by hand; stop when a spot runs away or there is smoke"};
}

}  // namespace

absl::StatusOr<BackIron> BackIronOf(const CoreDimensions& core) {
  standards::RangeCheck checks;
  checks.Within("outer_diameter", core.outer_diameter_mm, 10, 5000, "mm");
  checks.Above("bore_diameter", core.bore_diameter_mm, 0, core.outer_diameter_mm, "mm");
  checks.Within("stack_length", core.stack_length_mm, 1, 5000, "mm");
  const double stacking_factor = core.stacking_factor.value_or(CoreFigure("stacking_factor"));
  checks.Within("stacking_factor", stacking_factor, 0.5, 1, "");
  checks.Within("vents", core.vents, 0, 200, "");
  checks.Within("vent_width", core.vent_width_mm, 0, 100, "mm");
  if (core.vents > 0 && core.vent_width_mm == 0) checks.Refuse("vent_width", "nothing", "the width of one vent");
  const double iron_mm = core.stack_length_mm - core.vents * core.vent_width_mm;
  if (checks.ok() && iron_mm <= 0) {
    checks.Refuse("vents", absl::StrCat(core.vents, " of ", WithUnit(core.vent_width_mm, "mm")),
                  absl::StrCat("together less than the stack length of ", WithUnit(core.stack_length_mm, "mm")));
  }
  const double ring_mm = (core.outer_diameter_mm - core.bore_diameter_mm) / 2;
  if (core.slot_depth_mm.has_value() == core.back_iron_depth_mm.has_value()) {
    checks.Refuse(core.slot_depth_mm ? "back_iron_depth" : "slot_depth", core.slot_depth_mm ? "both" : "nothing",
                  "one of slot depth and back-iron depth");
  } else if (checks.ok()) {
    const char* field = core.slot_depth_mm ? "slot_depth" : "back_iron_depth";
    const double depth = core.slot_depth_mm.value_or(core.back_iron_depth_mm.value_or(0));
    if (!(depth > 0 && depth < ring_mm)) {
      checks.Refuse(field, WithUnit(depth, "mm"),
                    absl::StrCat("more than 0 and less than ", WithUnit(ring_mm, "mm"), ", from bore to outside"));
    }
  }
  CheckTeeth(core, &checks);
  if (!checks.ok()) return checks.status();

  BackIron iron;
  iron.depth_mm = core.slot_depth_mm ? ring_mm - *core.slot_depth_mm : *core.back_iron_depth_mm;
  iron.net_length_mm = iron_mm * stacking_factor;
  iron.area_mm2 = iron.depth_mm * iron.net_length_mm;
  iron.mean_path_mm = kPi * (core.outer_diameter_mm - iron.depth_mm);
  const double kg_per_mm3 = CoreFigure("iron_kg_per_m3") * 1e-9;
  iron.kg = iron.area_mm2 * iron.mean_path_mm * kg_per_mm3;
  if (core.slots) {
    iron.teeth_kg = *core.slots * *core.tooth_width_mm * (ring_mm - iron.depth_mm) * iron.net_length_mm * kg_per_mm3;
  }
  return iron;
}

double VoltsPerTurn(double teslas, double hertz, double area_mm2) {
  return std::sqrt(2.0) * kPi * hertz * teslas * area_mm2 * 1e-6;
}

double TeslasOf(double volts_per_turn, double hertz, double area_mm2) {
  return volts_per_turn / (std::sqrt(2.0) * kPi * hertz * area_mm2 * 1e-6);
}

absl::StatusOr<CoreTestPlan> PlanCoreTest(const CoreTestCase& core_test) {
  standards::RangeCheck checks;
  checks.Within("frequency_hz", core_test.frequency_hz, 1, 1000, "Hz");
  if (core_test.target_teslas) checks.Within("target_flux", *core_test.target_teslas, 0.1, 2, "T");
  if (core_test.operating_teslas) checks.Within("operating_flux", *core_test.operating_teslas, 0.1, 1.9, "T");
  if (core_test.target_teslas && core_test.operating_teslas) {
    checks.Refuse("operating_flux", "both", "one of target and operating flux density");
  }
  if (core_test.amps_per_metre)
    checks.Above("magnetizing_amps_per_metre_rms", *core_test.amps_per_metre, 0, 1e5, "A/m");
  if (core_test.cable_amps_per_mm2) {
    checks.Within("cable_amps_per_mm2", *core_test.cable_amps_per_mm2, 0.1, 50, "A/mm2");
  }
  if (core_test.designed_for_hz) checks.Above("designed_for_hz", *core_test.designed_for_hz, 0, 10000, "Hz");
  if (core_test.lamination_mm) checks.Within("lamination_thickness", *core_test.lamination_mm, 0.01, 5, "mm");
  if (core_test.supply_volts.empty()) checks.Refuse("supply_volts", "nothing", "one voltage or several to choose from");
  for (size_t i = 0; i < core_test.supply_volts.size(); ++i) {
    checks.Within(absl::StrCat("supply_volts[", i, "]"), core_test.supply_volts[i], 0.1, 1000, "V");
  }
  const absl::StatusOr<BackIron> iron = BackIronOf(core_test.core);
  if (!iron.ok() || !checks.ok()) return Together(checks, standards::UnderField("core", iron.status()));
  if (core_test.make.magnets_fitted) return MagnetsFirst();

  CoreTestPlan plan;
  plan.back_iron = *iron;
  plan.flux_rule = rules::easa_core_test_flux_density;
  plan.target_teslas = core_test.target_teslas.value_or(Setting("core_test_teslas"));
  if (core_test.operating_teslas) {
    plan.target_teslas = CoreFigure("operating_flux_share") * *core_test.operating_teslas;
    plan.flux_rule = rules::ieee432_core_test_operating_flux;
  }
  plan.volts_per_turn = VoltsPerTurn(plan.target_teslas, core_test.frequency_hz, iron->area_mm2);
  const double most_volts = CoreFigure("most_turns") * plan.volts_per_turn;
  for (size_t i = 0; i < core_test.supply_volts.size(); ++i) {
    checks.Within(absl::StrCat("supply_volts[", i, "]"), core_test.supply_volts[i], 0.1, most_volts, "V");
  }
  if (!checks.ok()) return checks.status();

  plan.rules = {rules::core_test_back_iron,   rules::core_test_mass,    rules::core_test_volts_per_turn, plan.flux_rule,
                rules::core_test_whole_turns, rules::practice_core_test};
  for (const double volts : core_test.supply_volts) plan.options.push_back(FromSupply(core_test, plan, volts));
  const auto any = [&](auto has) { return std::any_of(plan.options.begin(), plan.options.end(), has); };
  if (any([](const CoreTestOption& o) { return o.amps.has_value(); })) {
    plan.rules.push_back(rules::core_test_magnetizing_current);
  }
  if (any([](const CoreTestOption& o) { return o.cable_mm2.has_value(); }))
    plan.rules.push_back(rules::core_test_cable);
  plan.search_coil_formula = absl::StrCat("B = E / (4.443 x ", WithUnit(core_test.frequency_hz, "Hz"), " x ",
                                          WithUnit(iron->area_mm2 * 1e-6, "m2"), " x search turns)");
  plan.minutes = Setting("core_test_minutes");
  plan.oven = OvenLimitFor(core_test.make);
  AddNotes(core_test, &plan);
  plan.cautions = Cautions();
  return plan;
}

}  // namespace coilwright::testing
