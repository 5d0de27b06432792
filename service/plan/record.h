#pragma once

#include <optional>
#include <string>
#include <vector>

#include "electric/machine_constants.h"
#include "electric/plausible.h"
#include "electric/resistance.h"
#include "slot/slot.h"
#include "standards/errors.h"
#include "standards/thermal_class.h"
#include "testing/fitted_devices.h"
#include "winding/winding.h"
#include "wire/wire.h"

namespace coilwright::plan {

enum class MachineKind { kPermanentMagnet, kInduction };
enum class Construction { kHandInserted, kPulledIn, kNeedleWound, kSegmented, kBobbin };

// The plate, in one unit each. Absent is unknown, never zero.
struct Plate {
  double rated_volts = 0;  // winding, line to line rms
  std::optional<double> drive_mains_volts, dc_bus_volts;
  std::optional<double> line_amps_rms, line_amps_peak;
  std::optional<double> rated_kw, frequency_hz, speed_rpm, rated_torque_nm;
  int poles = 0;
  std::optional<int> pole_pairs;
  std::optional<standards::ThermalClass> thermal_class;
  std::optional<bool> drive_fed;
  std::optional<int> built_year;
  std::optional<double> ke_ll_rms_v_per_krpm;
  std::optional<double> kt_nm_per_arms;
};

// Core and slot in mm. Depth of the slot includes the lip.
struct CoreAndSlot {
  int slots = 0;
  std::optional<double> bore_mm, outer_mm, stack_length_mm, tooth_width_mm, back_iron_mm, slot_depth_mm;
  double stacking_factor = 0.95;
  std::optional<slot::Shape> shape;
  std::optional<double> opening_mm;
  slot::Insulation insulation;
  std::optional<double> head_extension_mm;  // mean of both ends
};

// Wires of one size in a turn.
struct RecordedStrand {
  wire::Wire wire;
  int wires_in_hand = 1;
};

struct GroupCoil {
  int span_slots = 0;
  int turns = 0;
};

struct CoilGroup {
  std::vector<GroupCoil> coils;
  int count = 0;
};

// The winding. Either every coil is alike (coil_pitch, turns_per_coil) or `groups` says it coil by coil.
struct RecordedWinding {
  winding::CoilForm form = winding::CoilForm::kLap;
  winding::Layers layers = winding::Layers::kDouble;
  std::optional<int> coil_pitch, turns_per_coil;
  std::vector<CoilGroup> groups;
  int parallel_circuits = 0;
  electric::Connection connection = electric::Connection::kStar;
  std::vector<RecordedStrand> strands;
  standards::Metal metal = standards::Metal::kCopper;
  std::optional<double> mean_turn_m;
  bool star_open = false;
};

struct MeasuredResistance {
  std::vector<double> line_to_line_ohms;  // one to three readings, U-V, V-W, W-U
  double winding_celsius = 20;
  double celsius_uncertainty = 2;  // from how the temperature is known
  double uncertainty_ratio = 0.005;
  // What both leads together add to each reading, where that was measured; 0 where it was read at the coil ends.
  std::optional<double> leads_ohms{};
  bool as_the_air = false;  // its temperature was taken from the air: assumed, or after standing in it for hours
};

// Line to line, over one pole pitch of the rotor.
struct MeasuredInductance {
  std::optional<double> least_mh, greatest_mh, frequency_hz;
  std::optional<bool> rotor_in;
};

enum class MassBasis { kBare, kFilmCoated, kWithResin };

struct MeasuredMass {
  double kg = 0;
  MassBasis basis = MassBasis::kBare;
  bool leads_included = false;
  bool in_pounds = false;  // or ounces, as entered; else kilograms or grams
};

// How a recorded value came to be known, by its path below the record, and how often it was counted or read.
enum class Evidence { kCounted, kMeasured, kPlate, kEstimated };
struct FieldEvidence {
  std::string field;
  std::optional<Evidence> evidence;
  int repeats = 0;
};

// A recorded winding: the input of everything in this room.
struct Record {
  std::string title;
  MachineKind kind = MachineKind::kPermanentMagnet;
  Construction construction = Construction::kHandInserted;
  bool potted = false;
  Plate plate;
  CoreAndSlot core;
  RecordedWinding winding;
  testing::FittedDevices devices;
  std::optional<MeasuredResistance> resistance;
  std::optional<MeasuredMass> mass;
  std::optional<MeasuredInductance> inductance;
  std::optional<double> measured_ke_ll_rms_v_per_krpm;
  std::optional<double> magnet_celsius;
  std::optional<double> air_celsius;
  std::vector<FieldEvidence> evidence;
};

// The same kinds as the electric room numbers them.
electric::MachineKind ElectricKind(MachineKind kind);

// Rated power in kW: of the plate, else from its torque and speed; nothing where neither is known.
std::optional<double> RatedKw(const Plate& plate);

// What no plan can do without and a record may still lack: turns, pitch, and a way to the mean turn. True of the record
// even where other values of it are wrong. Paths as in the contract.
std::vector<standards::FieldError> Missing(const Record& record);

// What contradicts itself in the winding alone: form against layers, pitch against slots, groups against coils.
std::vector<standards::FieldError> WindingContradictions(const Record& record);

// What is missing, and everything that contradicts itself in a record whose single values are in range: plate against
// plate, pitch against slots, groups against coils, ... Paths as in the contract ("machine.nameplate.poles"). Empty
// when the record can be planned.
std::vector<standards::FieldError> Contradictions(const Record& record);

}  // namespace coilwright::plan
