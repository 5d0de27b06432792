#include <cmath>

#include "absl/strings/str_cat.h"
#include "standards/errors.h"
#include "standards/rule_ids.h"
#include "standards/units.h"
#include "wire/sizes.h"
#include "wire/wire.h"

namespace coilwright::wire {
namespace {

using standards::Band;
using standards::Metal;

standards::Resistivity ResistivityOf(const Wire& wire) {
  return wire.system == standards::WireSystem::kAwg ? standards::Resistivity::kNemaWire
                                                    : standards::Resistivity::kIecWindingWire;
}

// The row whose printed resistance limits apply, or null.
const standards::RoundSize* PrintedResistance(const Wire& wire, Metal metal) {
  const standards::RoundSize* row = metal == Metal::kCopper ? RowOf(wire) : nullptr;
  return row != nullptr && row->resistance_ohms_per_km ? row : nullptr;
}

}  // namespace

absl::StatusOr<Band> ResistanceOhmsPerKm(const Wire& wire, Metal metal, standards::ConductorPreset preset,
                                         double celsius) {
  if (!(wire.bare_mm.low > 0 && std::isfinite(wire.bare_mm.high))) {
    return standards::InvalidField("wire", absl::StrCat("a bare diameter of ", wire.bare_mm.low, " mm"),
                                   "more than 0 mm");
  }
  const absl::StatusOr<double> ratio = standards::ResistanceRatio(preset, metal, 20, celsius);
  if (!ratio.ok()) return ratio.status();
  Band at_20;
  if (const standards::RoundSize* row = PrintedResistance(wire, metal)) {
    at_20 = *row->resistance_ohms_per_km;
  } else {
    const Band rho = standards::ResistivityOhmMm2PerM(ResistivityOf(wire), metal);
    at_20 = {1000 * rho.low / standards::CircleAreaMm2(wire.bare_mm.high),
             1000 * rho.nominal / standards::CircleAreaMm2(wire.bare_mm.nominal),
             1000 * rho.high / standards::CircleAreaMm2(wire.bare_mm.low)};
  }
  return Band{at_20.low * *ratio, at_20.nominal * *ratio, at_20.high * *ratio};
}

std::vector<absl::string_view> ResistanceRules(const Wire& wire, Metal metal, standards::ConductorPreset preset) {
  const standards::RoundSize* row = PrintedResistance(wire, metal);
  return {rules::wire_resistance,
          row != nullptr ? row->resistance_rule : standards::ResistivityRule(ResistivityOf(wire), metal),
          standards::Constants(preset, metal).rule};
}

double BareKgPerKm(const Wire& wire, Metal metal) { return wire.area_mm2 * standards::DensityKgPerM3(metal) / 1000; }

double CoatedKgPerKm(const Wire& wire, Metal metal) {
  const double film_mm2 = standards::CircleAreaMm2(wire.overall_mm.nominal) - wire.area_mm2;
  return BareKgPerKm(wire, metal) + film_mm2 * standards::FilmDensityKgPerM3() / 1000;
}

}  // namespace coilwright::wire
