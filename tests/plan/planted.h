#pragma once

#include <optional>
#include <string>
#include <vector>

#include "plan/taken_down.h"

// Slips planted in sound records, each written out by hand: what a person would have written instead.
namespace coilwright::plan {

// What the check must find: the slip and, where several values are possible, how the correction begins.
struct Planted {
  std::string slip;
  std::string reads;
  double ln_resistance = 0;  // what it truly does to the resistance, where it can be anything
};

inline const std::vector<std::string>& PlantedSlips() {
  static const auto& names = *new std::vector<std::string>{
      "turns_doubled",     "turns_halved",        "coils_doubled",        "coils_halved",
      "circuits_as_wires", "wires_as_circuits",   "circuits_missed",      "circuits_invented",
      "wires_missed",      "wires_extra",         "delta_as_star",        "star_as_delta",
      "gauge_over_film",   "gauge_thick",         "gauge_thin",           "pitch_long",
      "pitch_short",       "poles_halved",        "poles_doubled",        "fifty_as_sixty",
      "sixty_as_fifty",    "plate_high_volts",    "plate_low_volts",      "plate_star_volts",
      "plate_delta_volts", "peak_amps",           "phase_ohms",           "two_leads_tied",
      "hot_as_cold",       "aluminium_as_copper", "phase_volts_constant", "peak_volts_constant",
      "film_on_the_scale", "resin_on_the_scale",  "wires_as_turns",       "turns_by_wires",
      "phase_amps",        "pounds_as_kg",        "half_on_the_scale"};
  return names;
}

// Needs a winding that is so from the start, not only a record.
struct Making {
  bool aluminium = false;
  double warmer_kelvin = 0;
};
// A winding read `warmer_kelvin` too warm gives that much more than written down.
inline Making MakingFor(const std::string& slip, Shop& shop) {
  if (slip == "aluminium_as_copper") return {true, 0};
  if (slip == "hot_as_cold") return {false, shop.Within(15, 60)};
  return {};
}

// The slip made in `r`; nothing where this winding cannot carry it.
inline std::optional<Planted> Plant(const std::string& slip, const Making& making, Shop& shop, Record& r) {
  RecordedWinding& w = r.winding;
  RecordedStrand& strand = w.strands[0];
  const bool star = w.connection == electric::Connection::kStar;
  const bool induction = r.kind == MachineKind::kInduction;
  const auto reading = [&](double factor) {
    for (double& ohms : r.resistance->line_to_line_ohms) ohms *= factor;
  };
  const auto volts = [&](double factor) {
    r.plate.rated_volts *= factor;
    *r.plate.line_amps_rms /= factor;
  };
  const auto wires = [](int n) { return std::to_string(n) + " x"; };
  if (slip == "turns_doubled") {
    *w.turns_per_coil *= 2;
  } else if (slip == "turns_halved") {
    if (*w.turns_per_coil % 2 != 0) return {};
    *w.turns_per_coil /= 2;
  } else if (slip == "coils_doubled") {
    if (w.layers == winding::Layers::kDouble) return {};
    w.layers = winding::Layers::kDouble;
  } else if (slip == "coils_halved") {
    if (w.layers == winding::Layers::kSingle) return {};
    w.layers = winding::Layers::kSingle;
  } else if (slip == "circuits_as_wires") {
    if (w.parallel_circuits % 2 != 0) return {};
    w.parallel_circuits /= 2;
    strand.wires_in_hand *= 2;
    return Planted{slip, std::to_string(2 * w.parallel_circuits)};
  } else if (slip == "wires_as_circuits") {
    if (strand.wires_in_hand % 2 != 0) return {};
    strand.wires_in_hand /= 2;
    w.parallel_circuits *= 2;
    return Planted{slip, std::to_string(w.parallel_circuits / 2)};
  } else if (slip == "circuits_missed") {
    if (w.parallel_circuits % 2 != 0) return {};
    w.parallel_circuits /= 2;
    return Planted{slip, std::to_string(2 * w.parallel_circuits)};
  } else if (slip == "circuits_invented") {
    w.parallel_circuits *= 2;
    return Planted{slip, std::to_string(w.parallel_circuits / 2)};
  } else if (slip == "wires_missed") {
    if (strand.wires_in_hand < 2) return {};
    return Planted{slip, wires(strand.wires_in_hand--)};
  } else if (slip == "wires_extra") {
    return Planted{slip, wires(strand.wires_in_hand++)};
  } else if (slip == "wires_as_turns") {
    if (strand.wires_in_hand < 3) return {};
    *w.turns_per_coil *= strand.wires_in_hand;
  } else if (slip == "turns_by_wires") {
    if (strand.wires_in_hand < 3 || *w.turns_per_coil % strand.wires_in_hand != 0) return {};
    *w.turns_per_coil /= strand.wires_in_hand;
  } else if (slip == "phase_amps") {
    if (star) return {};
    *r.plate.line_amps_rms /= std::sqrt(3.0);
  } else if (slip == "delta_as_star") {
    if (star) return {};
    w.connection = electric::Connection::kStar;
  } else if (slip == "star_as_delta") {
    if (!star) return {};
    w.connection = electric::Connection::kDelta;
  } else if (slip == "gauge_over_film") {
    // The size of the series nearest to what the micrometer read over the film.
    const std::vector<wire::Wire> sizes = wire::Catalogue(strand.wire.system, strand.wire.film);
    const double over = strand.wire.overall_mm.nominal;
    const wire::Wire* nearest = &sizes[0];
    for (const wire::Wire& size : sizes) {
      if (std::abs(size.bare_mm.nominal - over) < std::abs(nearest->bare_mm.nominal - over)) nearest = &size;
    }
    if (nearest->size == strand.wire.size) return {};
    strand.wire = *nearest;
  } else if (slip == "gauge_thick" || slip == "gauge_thin") {
    const absl::StatusOr<wire::Wire> next = wire::Neighbour(strand.wire, slip == "gauge_thick" ? -1 : 1);
    if (!next.ok()) return {};
    strand.wire = *next;
  } else if (slip == "pitch_long" || slip == "pitch_short") {
    if (w.form == winding::CoilForm::kToothCoil) return {};
    *w.coil_pitch += slip == "pitch_long" ? 1 : -1;
  } else if (slip == "poles_halved") {
    if (r.plate.poles % 4 != 0) return {};
    r.plate.poles /= 2;
  } else if (slip == "poles_doubled") {
    r.plate.poles *= 2;
  } else if (slip == "fifty_as_sixty") {
    if (!induction) return {};
    r.plate.frequency_hz = 60;
  } else if (slip == "sixty_as_fifty") {
    if (!induction) return {};
    r.plate.rated_volts *= 1.2;  // the same winding at 60 Hz
    if (r.plate.rated_kw) *r.plate.rated_kw *= 1.2;
    if (r.plate.speed_rpm) *r.plate.speed_rpm *= 1.2;
  } else if (slip == "plate_high_volts") {
    volts(2);
  } else if (slip == "plate_low_volts") {
    volts(0.5);
  } else if (slip == "plate_star_volts") {
    if (star) return {};
    volts(std::sqrt(3.0));
  } else if (slip == "plate_delta_volts") {
    if (!star) return {};
    volts(1 / std::sqrt(3.0));
  } else if (slip == "peak_amps") {
    *r.plate.line_amps_rms *= std::sqrt(2.0);
  } else if (slip == "phase_ohms") {
    reading(star ? 0.5 : 1.5);
  } else if (slip == "two_leads_tied") {
    reading(0.75);
  } else if (slip == "phase_volts_constant" || slip == "peak_volts_constant") {
    if (!r.measured_ke_ll_rms_v_per_krpm) return {};
    *r.measured_ke_ll_rms_v_per_krpm *= slip == "phase_volts_constant" ? 1 / std::sqrt(3.0) : std::sqrt(2.0);
  } else if (slip == "film_on_the_scale" || slip == "resin_on_the_scale") {
    if (r.mass->basis != MassBasis::kBare) return {};
    r.mass->kg *= (1 + shop.film_ratio()) * (slip == "film_on_the_scale" ? 1 : shop.Within(1.03, 1.10));
  } else if (slip == "pounds_as_kg") {
    r.mass->kg /= 0.45359237;
  } else if (slip == "half_on_the_scale") {
    r.mass->kg /= 2;
  }
  if (slip == "hot_as_cold") {
    return Planted{slip, "", std::log1p(making.warmer_kelvin / (235 + r.resistance->winding_celsius))};
  }
  return Planted{slip, ""};
}

// What no row of the table says, and no pair of rows should explain.
inline void PlantOutsideTheList(Shop& shop, Record& r) {
  switch (static_cast<int>(shop.Within(0, 4))) {
    case 0:  // the resistance of a much longer cable, or of another motor
      for (double& ohms : r.resistance->line_to_line_ohms) ohms *= shop.Within(7, 12);
      break;
    case 1:  // the mass of a single group, or of the machine
      r.mass->kg *= shop.Chance(0.5) ? shop.Within(0.08, 0.14) : shop.Within(9, 20);
      break;
    case 2:  // turns of another machine
      *r.winding.turns_per_coil = static_cast<int>(std::lround(*r.winding.turns_per_coil * shop.Within(5.5, 8)));
      break;
    default:  // resistance of a wire the scale was not fed with
      for (double& ohms : r.resistance->line_to_line_ohms) ohms *= shop.Within(0.09, 0.16);
      r.mass->kg *= shop.Within(4.5, 7);
  }
}

// One value off by a factor that no row of the table has: 1.3 to 1.8, or 2.2 to 3, up or down. In the words of the
// value.
inline std::string PlantNearTheList(Shop& shop, Record& r) {
  double factor = shop.Chance(0.5) ? shop.Within(1.3, 1.8) : shop.Within(2.2, 3);
  if (shop.Chance(0.5)) factor = 1 / factor;
  switch (static_cast<int>(shop.Within(0, 3))) {
    case 0:
      *r.winding.turns_per_coil = std::max(1, static_cast<int>(std::lround(*r.winding.turns_per_coil * factor)));
      return "turns";
    case 1:
      // The coil truly longer or shorter than written, whether it was measured or estimated from the core.
      for (double& ohms : r.resistance->line_to_line_ohms) ohms *= factor;
      r.mass->kg *= factor;
      return "length";
    default:
      for (RecordedStrand& s : r.winding.strands) {
        const double bare = s.wire.bare_mm.nominal * std::sqrt(factor);
        s.wire = wire::FromDiameters(bare, bare + s.wire.overall_mm.nominal - s.wire.bare_mm.nominal);
      }
      return "section";
  }
}

}  // namespace coilwright::plan
