#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "insulation/judgement.h"
#include "standards/band.h"

// The ring-flux (loop) test of a stator core: a cable through the bore magnetizes the back iron, and shorted
// laminations show as watts and as hot spots. It compares a core with itself, before burn-out and after winding
// removal.
namespace coilwright::testing {

enum class CoreBuild { kRing, kSegmented, kBobbin };  // one ring of laminations; joints between the teeth
enum class CorePlate { kOrganic, kInorganic };        // the varnish of the laminations

// What a core is made of, as far as heat and current depend on it.
struct CoreMake {
  CoreBuild build = CoreBuild::kRing;
  std::optional<CorePlate> core_plate;  // absent: organic, the lower limit, is taken
  bool glued = false;                   // laminations bonded to each other
  bool potted = false;                  // resin of the old winding still in the slots or round the core
  bool magnets_fitted = false;          // in the stator, or the rotor still in the bore
  bool aluminium_frame = false;
};

// Slots towards the bore. One of slot depth and back-iron depth; teeth by slots and tooth width, both or neither.
struct CoreDimensions {
  double outer_diameter_mm = 0;  // of the laminations, 10..5000
  double bore_diameter_mm = 0;
  std::optional<double> slot_depth_mm;
  std::optional<double> back_iron_depth_mm;
  double stack_length_mm = 0;  // vents included, 1..5000
  int vents = 0;
  double vent_width_mm = 0;               // of each
  std::optional<double> stacking_factor;  // 0.5..1; absent: 0.95
  std::optional<int> slots;
  std::optional<double> tooth_width_mm;
};

struct BackIron {
  double depth_mm = 0;
  double net_length_mm = 0;  // iron alone
  double area_mm2 = 0;
  double mean_path_mm = 0;
  double kg = 0;                   // back iron alone: watts per mass are per this
  std::optional<double> teeth_kg;  // parallel teeth without their tips
};

// Depth (D - bore)/2 - slot depth, net length (L - vents b) k, area, mean path pi (D - depth), mass at 7650 kg/m3.
// INVALID_ARGUMENT naming every wrong field in the words of the contract; a core without back iron is one.
absl::StatusOr<BackIron> BackIronOf(const CoreDimensions& core);

// Rms volts of one turn at a peak flux density: sqrt(2) pi f B A, and back.
double VoltsPerTurn(double teslas, double hertz, double area_mm2);
double TeslasOf(double volts_per_turn, double hertz, double area_mm2);

struct CoreTestCase {
  CoreDimensions core;
  CoreMake make;
  double frequency_hz = 0;
  std::vector<double> supply_volts;        // one or more to choose from
  std::optional<double> target_teslas;     // absent: 1.32 T
  std::optional<double> operating_teslas;  // instead: 1.05 times this
  std::optional<double> amps_per_metre;    // rms, of this steel at the target flux; absent: the band of ordinary steel
  std::optional<double> cable_amps_per_mm2;  // the shop's; absent: of programme_settings.csv, and said
  std::optional<double> designed_for_hz;     // electrical frequency of the machine
  std::optional<double> lamination_mm;
};

// The test from one supply.
struct CoreTestOption {
  double supply_volts = 0;
  double exact_turns = 0;
  int turns = 0;
  double volts_per_turn = 0;  // with whole turns: what a search coil of one turn has to read
  double teslas = 0;
  double flux_off_ratio = 0;  // teslas over the target, less 1
  // Absent where nothing is known of the current: segmented cores, flux outside the range of the figure.
  std::optional<standards::Band> amps, kva;
  std::optional<double> cable_mm2;  // for the greatest amps
  std::string note;
};

// Whether a burn-out oven may be used and how hot the part may get.
struct OvenLimit {
  std::optional<double> part_celsius;  // absent: no oven
  std::string reason;                  // why not, or what was taken
  absl::string_view rule;
};

struct CoreTestPlan {
  BackIron back_iron;
  double target_teslas = 0;
  double volts_per_turn = 0;  // at the target
  absl::string_view flux_rule;
  std::vector<CoreTestOption> options;  // in the order of the supplies
  double minutes = 0;                   // at least
  std::string search_coil_formula;
  OvenLimit oven;
  std::vector<std::string> notes, cautions;
  std::vector<absl::string_view> rules;
};

// Turns are the whole number with the least error of flux. Current H x mean path / turns, H 200..500 A/m rms (from
// memory) where the flux is 1.2..1.4 T, or the steel's own within 5 % of the target: for cable and supply only, the
// measured amps decide. INVALID_ARGUMENT for wrong fields, all at once, and for a supply that would need more than 1000
// turns; FAILED_PRECONDITION while magnets are in the core.
absl::StatusOr<CoreTestPlan> PlanCoreTest(const CoreTestCase& core_test);

// Part temperature by core plate (AR100-2015 3.3); none for magnets, glued, potted or segmented cores and aluminium
// frames, each named.
OvenLimit OvenLimitFor(const CoreMake& make);

// What goes with any oven.
// Under a ban: how the winding comes out without one.
std::vector<std::string> OvenCautions(const OvenLimit& oven);

// One run of the test.
struct CoreReading {
  double watts = 0;
  double volts_per_turn = 0;     // search coil, or supply volts over turns
  double uncertainty_ratio = 0;  // of the watts, k = 2
  std::optional<double> start_celsius, hot_spot_celsius, average_celsius;
};

enum class HotSpotRule { kServicePractice, kIeee1068 };  // less than 15 K, 10 K
enum class HotSpotReference { kStart, kAverage };        // above the core at the start, above the core's mean
enum class CoreCheckKind { kLossChange, kSpecificLoss, kHotSpot };

struct CoreComparisonCase {
  std::optional<CoreDimensions> core;
  std::optional<double> back_iron_kg;  // instead of the mass by dimensions
  CoreMake make;
  std::optional<double> frequency_hz;  // of both runs; with the dimensions it gives the flux
  std::optional<double> designed_for_hz;
  CoreReading before, after;
  std::optional<double> loss_increase_most_percent;       // absent: 20
  std::optional<double> specific_loss_most_watts_per_kg;  // absent: 4 W/lb
  HotSpotRule hot_spot_rule = HotSpotRule::kServicePractice;
  HotSpotReference hot_spot_reference = HotSpotReference::kStart;
};

struct CoreCheck {
  CoreCheckKind kind = CoreCheckKind::kLossChange;
  insulation::Verdict verdict = insulation::Verdict::kNotValid;
  std::optional<double> value;  // percent, W/kg or K
  std::optional<double> limit;
  std::string reason;
  absl::string_view rule;
};

struct CoreComparison {
  std::optional<double> back_iron_kg;
  std::optional<double> before_watts_per_kg, after_watts_per_kg;  // of the back iron
  std::optional<double> before_teslas, after_teslas;
  double after_watts_at_same_flux = 0;  // as read where the flux was the same
  std::optional<double> hot_spot_over_start_kelvin, hot_spot_over_average_kelvin;  // both conventions, after
  std::vector<CoreCheck> checks;
  insulation::Verdict verdict = insulation::Verdict::kNotValid;
  std::string reason;
  std::vector<std::string> notes;
  std::vector<absl::string_view> rules;
};

// Both runs are of one core at one frequency. Flux within 1 %: compared as read; within 5 %: corrected with the square
// of the flux, what the exponent leaves open added to the uncertainty; beyond: the change is not valid. Watts alone
// never clear a core: without a hot spot reading the whole is not valid unless it fails; nor does a run at
// less than 0.75 of 1.32 T, or a loss that fell by more than 30 %. A segmented core is judged by
// its change alone. INVALID_ARGUMENT for wrong fields, all at once; FAILED_PRECONDITION while magnets are in the core.
absl::StatusOr<CoreComparison> CompareCoreTests(const CoreComparisonCase& comparison);

// W/lb of W/kg.
double WattsPerPound(double watts_per_kg);

}  // namespace coilwright::testing
