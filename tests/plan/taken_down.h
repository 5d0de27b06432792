#pragma once

#include <numeric>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "plan/random_machine.h"

// Windings as they are, what a bench reads on them, and what a person writes down: drawn and worked out by formulas of
// its own, not by those of the check. Mean turn, resistivity, wire, temperature, leads and joins vary as they do in the
// trade, and the instruments err.
namespace coilwright::plan {

// A truth and the record a careful person makes of it.
struct TakenDown {
  Record record;             // sound: counts as they are, readings with their errors
  double turn_m = 0;         // true mean turn
  double terminal_ohms = 0;  // true, at the temperature written down
  double bare_kg = 0;        // true, weighed without error
};

class Shop {
 public:
  // Leads of the section their current asks for, tens of milliohms whatever the motor, or those kept out: half read at
  // the coil ends, half with what the leads add measured to 3 %.
  enum class Leads { kBySection, kTensOfMilliohms, kKnown };
  explicit Shop(unsigned seed, Leads leads = Leads::kBySection) : random_(seed), leads_(leads) {}

  double Within(double low, double high) { return std::uniform_real_distribution<double>(low, high)(random_); }
  double Normal(double sigma) { return std::normal_distribution<double>(0, sigma)(random_); }
  bool Chance(double p) { return Within(0, 1) < p; }
  template <typename List>
  auto Pick(const List& list) {
    return *(list.begin() + static_cast<long>(random_() % list.size()));
  }

  TakenDown TakeDown(bool aluminium = false, double warmer_kelvin = 0) {
    TakenDown down;
    Record& r = down.record;
    do {
      r = RandomMachine(random_);
    } while (!Wind(r));
    const double slot_pitch_mm = kPi * *r.core.bore_mm / r.core.slots;
    const double core = *r.core.stack_length_mm;
    if (r.winding.form == winding::CoilForm::kToothCoil) {
      // A taut coil with round corners, more or less slack.
      const double side = 0.5 * (slot_pitch_mm * 1.25 - *r.core.tooth_width_mm);
      down.turn_m =
          1e-3 * (2 * (core + 2 * Within(0.5, 3)) + 2 * *r.core.tooth_width_mm + kPi * side) * Within(0.98, 1.08);
    } else {
      // Straight out of the core, then over the span at one slope or another.
      const double span = *r.winding.coil_pitch * slot_pitch_mm * (1 + *r.core.slot_depth_mm / *r.core.bore_mm);
      down.turn_m = 1e-3 * 2 * (core + 2 * Within(4, 14) + span / std::cos(Within(0.35, 0.75)) + Within(8, 22));
    }
    r.winding.mean_turn_m.reset();
    if (Chance(0.5)) r.winding.mean_turn_m = down.turn_m * (1 + Normal(0.03));

    const double area = BareMm2(r) * std::pow(1 + Normal(0.003), 2);
    const double siemens = aluminium ? 35.4 * (1 + Normal(0.005)) : std::clamp(58.5 + Normal(0.25), 57.9, 59.1);
    const double kg_per_mm2_m = aluminium ? 2703e-6 : 8890e-6;
    const double turns = PhaseTurns(r), circuits = r.winding.parallel_circuits;
    const double celsius = Within(14, 32);
    const double phase = down.turn_m * turns / (siemens * circuits * circuits * area);
    const double coils = phase * (r.winding.connection == electric::Connection::kStar ? 2.0 : 2.0 / 3);
    // Two leads of the cross-section their current asks for.
    const double lead_mm2 = std::max(0.5, *r.plate.line_amps_rms / Within(4, 8));
    const double metres = Within(0.2, 1.5);
    double leads = leads_ == Leads::kBySection ? 2 * metres / (58 * lead_mm2) : Within(0.010, 0.050);
    std::optional<double> known;
    if (leads_ == Leads::kKnown) {
      if (Chance(0.5)) leads = 0;
      known = leads * (1 + Normal(0.03));
    }
    const double joins = Within(0, 0.03);
    const double true_celsius = celsius + Normal(1.5) + warmer_kelvin;
    down.terminal_ohms = (coils * (1 + joins) + leads) * (235 + celsius) / 255;
    r.resistance = MeasuredResistance{{}, celsius, 2, 0.005};
    r.resistance->leads_ohms = known;
    const double same_error = 1 + Normal(0.005);
    for (int i = 0; i < 3; ++i) {
      r.resistance->line_to_line_ohms.push_back((coils * (1 + joins) + leads) * (235 + true_celsius) / 255 *
                                                same_error * (1 + Normal(0.002)));
    }
    down.bare_kg = kg_per_mm2_m * 3 * turns * area * down.turn_m;
    const bool coated = Chance(0.4);
    film_ratio_ = CoatedRatio(r, kg_per_mm2_m) - 1;
    film_ratio_ *= Within(0.8, 1.1);
    r.mass = MeasuredMass{down.bare_kg * (1 + Normal(0.02)) * (coated ? 1 + film_ratio_ : 1),
                          coated ? MassBasis::kFilmCoated : MassBasis::kBare, false};
    if (r.measured_ke_ll_rms_v_per_krpm) *r.measured_ke_ll_rms_v_per_krpm *= 1 + Normal(0.02);
    if (r.kind == MachineKind::kInduction && Chance(0.5))
      r.plate.speed_rpm = std::round(6000.0 / r.plate.poles * (1 - Within(0.02, 0.06)));
    return down;
  }

  double film_ratio() const { return film_ratio_; }

 private:
  // Coils of one to four circuits and of the wire that this core has room for; false where it cannot be wound by hand.
  bool Wind(Record& r) {
    std::vector<int> circuits = {1, 1};
    const int groups = r.winding.form == winding::CoilForm::kToothCoil ? std::gcd(r.core.slots, r.plate.poles / 2)
                       : r.winding.layers == winding::Layers::kSingle  ? r.plate.poles / 2
                                                                       : r.plate.poles;
    for (const int a : {2, 4}) {
      if (groups % a == 0) circuits.push_back(a);
    }
    const int a = Pick(circuits);
    r.winding.parallel_circuits = a;
    *r.winding.turns_per_coil *= a;
    const double depth = Within(0.12, 0.2) * *r.core.bore_mm + 5;
    const double pitch = kPi * (*r.core.bore_mm + depth) / r.core.slots;
    const double net = 0.82 * (pitch - *r.core.tooth_width_mm) * depth;
    r.core.slot_depth_mm = depth;
    r.core.shape = slot::MeasuredArea{net};
    const double turns_in_slot = *r.winding.turns_per_coil * (r.winding.layers == winding::Layers::kDouble ? 2 : 1);
    const double squares = Within(0.5, 0.73) * net / turns_in_slot;  // of the overall diameters of one turn
    const bool awg = Chance(0.5);
    std::vector<RecordedStrand> fitting;
    for (const wire::Wire& w : wire::Catalogue(awg ? standards::WireSystem::kAwg : standards::WireSystem::kIecR20,
                                               awg ? standards::Film::kHeavy : standards::Film::kGrade2)) {
      const double wires = squares / std::pow(w.overall_mm.nominal, 2);
      const int whole = static_cast<int>(std::lround(wires));
      if (w.bare_mm.nominal < 0.2 || w.bare_mm.nominal > 1.4 || whole < 1 || whole > 8) continue;
      if (std::abs(wires / whole - 1) < 0.08) fitting.push_back({w, whole});
    }
    if (fitting.empty()) return false;
    r.winding.strands = {Pick(fitting)};
    const double phase_amps = Within(3.5, r.kind == MachineKind::kInduction ? 7.5 : 9.0) * a * BareMm2(r);
    r.plate.line_amps_rms = phase_amps * (r.winding.connection == electric::Connection::kStar ? 1 : std::sqrt(3.0));
    if (r.plate.rated_kw) {
      r.plate.rated_kw = Within(0.6, 0.85) * std::sqrt(3.0) * r.plate.rated_volts * *r.plate.line_amps_rms / 1000;
    }
    return true;
  }

  static double CoatedRatio(const Record& r, double metal) {
    double film = 0;
    for (const RecordedStrand& s : r.winding.strands) {
      film += s.wires_in_hand * kPi / 4 *
              (std::pow(s.wire.overall_mm.nominal, 2) - std::pow(s.wire.bare_mm.nominal, 2)) * 1350e-6;
    }
    return 1 + film / (BareMm2(r) * metal);
  }

  std::mt19937 random_;
  Leads leads_;
  double film_ratio_ = 0;
};

}  // namespace coilwright::plan
