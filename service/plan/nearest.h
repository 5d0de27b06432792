#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "electric/resistance.h"
#include "plan/record.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {

// What a fire leaves to know a machine by: plate, core and slot. Absent is unknown.
struct NearMachine {
  std::optional<MachineKind> kind;
  int slots = 0;
  std::optional<int> poles;
  std::optional<double> bore_mm, outer_mm, stack_length_mm;
  std::optional<double> rated_volts, rated_kw, speed_rpm, frequency_hz, line_amps_rms;
  std::optional<double> ke_ll_rms_v_per_krpm;  // permanent magnet
  std::optional<double> tooth_width_mm, back_iron_mm, slot_area_mm2;
};

// Of a record, or of what was read of a machine into one: plate volts and poles of 0 are unknown. Slot area is net.
NearMachine NearMachineOf(const Record& record);

struct NearDifference {
  std::string field;             // as in the contract, below the machine: "core.bore_diameter"
  std::string wanted, recorded;  // with unit
  std::optional<double> ratio;   // recorded over wanted
  double units = 0;              // its part of the distance
};

struct Nearness {
  double distance = 0;
  std::vector<NearDifference> differences;  // greatest first
  absl::string_view rule = rules::nearest_distance;
};

// Root mean square, over every value known of the stator wanted, of how far the recorded machine lies from it in units
// of what is met between machines of one frame (nearest_units.csv, rule nearest.distance). What the record does not
// know counts one unit. 0.1 % is no difference. nullopt where the slots differ: no winding of one is a winding of the
// other.
std::optional<Nearness> Distance(const NearMachine& wanted, const NearMachine& recorded);

// Where to look for machines of at most so many units in every value of the core: the ratio either way. All others lie
// at least `least_outside` away, over every value there can be.
struct CoreWindow {
  double bore_ratio = 1, outer_ratio = 1, stack_ratio = 1;
  double least_outside = 0;
};
CoreWindow WindowOf(const NearMachine& wanted, double units);

// What a recorded winding becomes on the core and for the plate wanted.
struct ScaledWinding {
  double exact_turns_per_coil = 0;  // mean of unequal coils
  int turns_per_coil = 0;
  std::optional<double> conductor_area_ratio;  // of one turn, new over recorded, at the same current density
  double flux_ratio = 1;                       // per pole, for the exact turns
  electric::Connection connection = electric::Connection::kStar;
  int parallel_circuits = 1;
  double rated_volts = 0;
  std::vector<absl::string_view> rules;
};

struct ScaledToTheCore {
  std::optional<ScaledWinding> winding;
  std::vector<std::string> notes;  // why there is none; else what to check before anything is wound
};

// Turns by winding::RescaledTurns with the same coils, connection and circuits, for the flux that the same density in
// the gap gives on the other core: bore x stack length, as the poles are the same. None where the slots, poles or kinds
// differ, or where either side lacks bore, stack length, volts or, with magnets, speed (or both voltage constants);
// where the stator wanted does not know its kind, poles or frequency, those of the record hold and a note says so.
// Rules nearest.scaled and nearest.conductor. Exact turns there and back are the identity. Never fails: a record that
// has no winding pattern gives a note.
ScaledToTheCore ScaledToCore(const Record& recorded, const NearMachine& wanted);

}  // namespace coilwright::plan
