#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "electric/magnetics.h"
#include "electric/mean_turn.h"
#include "insulation/megohm.h"
#include "plan/check.h"
#include "plan/record.h"
#include "testing/programme.h"
#include "wire/strands.h"

namespace coilwright::plan {

// Which flux density stays where the number of poles changes.
enum class PolesHold { kAirGap, kBackIron };

// What shall differ from the original; absent stays as recorded.
struct Change {
  std::optional<double> rated_volts;   // line to line rms
  std::optional<double> frequency_hz;  // induction only
  std::optional<double> speed_rpm;     // permanent magnet only: speed that shall need the rated voltage
  // Permanent magnet only: another DC bus of the drive, and the one the original ran on where the plate does not say.
  // The rated volts go with it.
  std::optional<double> dc_bus_volts, dc_bus_volts_before;
  std::optional<electric::Connection> connection;
  std::optional<int> parallel_circuits;
  std::optional<int> coil_pitch;        // slots; of concentric groups their mean
  std::optional<int> poles;             // induction only; needs a pitch
  std::optional<PolesHold> poles_hold;  // else the air gap for more poles, the back iron for fewer
  std::optional<winding::CoilForm> form;
  std::optional<winding::Layers> layers;
  std::vector<CoilGroup> groups;   // concentric; turns are proportions
  std::optional<double> rated_kw;  // induction only, at the same frame: keeps the share of breakdown torque
  bool alternating_turns = false;  // take them where they land closer than whole turns
  bool pattern() const { return coil_pitch || poles || form || layers || !groups.empty(); }
  bool any() const {
    return rated_volts || dc_bus_volts || frequency_hz || speed_rpm || connection || parallel_circuits || rated_kw ||
           pattern() || alternating_turns;
  }
};

// Wires to choose from and how. `wires` empty: full AWG and metric series with the film given.
struct WireChoice {
  std::vector<wire::Available> wires;
  bool mix_systems = false;
  double least_area_ratio = 0.99, greatest_area_ratio = 1.05, area_tolerance_ratio = 0.01;
  int most_in_hand = 12, most_sizes = 3, best = 20;
  int way = 1;  // of the options, from 1: constants, loading, findings and programmes are those of this one
  double greatest_bare_mm = 1.32;        // common practice
  double greatest_diameter_ratio = 1.5;  // thickest over thinnest wire of a bundle, common practice
  double greatest_fullness = 0.80;       // common practice
  double opening_clearance_mm = 0.2;     // common practice
};

struct TestChoice {
  testing::Family family = testing::Family::kIec60034;
  testing::Condition condition = testing::Condition::kFullyRewound;
  insulation::MegohmEdition megohm_edition = insulation::MegohmEdition::kIeee43_2013;
  insulation::InsulationFamily insulation_family = insulation::InsulationFamily::kThermosetting;
  bool insulation_family_given = false;  // else the era of the machine may say otherwise
  testing::FormWoundSurge form_wound_surge = testing::FormWoundSurge::kIec60034_15_2009;
  double shop_expectation_megohms = 100;
  double resistance_unbalance_percent = 2.0;
  double before_treatment_share = 0.8;
  testing::ShopRun run;
  testing::BenchMeans bench;  // of the shop, where its settings name one
};

struct Settings {
  slot::FillLevels fill_levels;
  double lead_share = 0.04;   // common practice
  double waste_share = 0.08;  // common practice
  // Else the top of the range met in practice.
  std::optional<double> current_density_watch_a_per_mm2;
  std::optional<double> air_gap_watch_teslas, tooth_watch_teslas, back_iron_watch_teslas;
  standards::ConductorPreset preset = standards::ConductorPreset::kIec60034;
  std::optional<double> bench_celsius;  // else the workshop's air, else 20
};

enum class FindingLevel { kOk, kWatch, kAct, kNotChecked };

// One check of the record against physics.
struct Finding {
  FindingLevel level = FindingLevel::kOk;
  std::string what;
  std::optional<double> found;
  std::optional<standards::Band> expected;
  std::string unit;
  std::string text;
  absl::string_view rule;
};

// What follows from the pattern alone.
struct PatternSummary {
  winding::Pattern pattern;
  winding::Symmetry symmetry;
  double mean_pitch = 0;
  std::string throws;  // "1-6"; outer to inner "1-8, 2-7" where coils differ
  double mean_turns_per_coil = 0;
  int greatest_turns_per_coil = 0;
  int coils = 0;
  double winding_factor = 0;
  double series_turns_per_phase = 0;
  std::vector<absl::string_view> rules;
};

struct ExpectedResistance {
  double winding_celsius = 0;
  standards::Band phase_ohms, line_to_line_ohms;
  standards::Band at_terminals_ohms;  // line to line, as a new winding is accepted by: connections and leads at its top
};

struct Loading {
  std::optional<double> current_density_a_per_mm2;
  std::optional<standards::Band> flux_webers;
  std::optional<electric::FluxDensities> densities;
  std::vector<absl::string_view> rules;
};

struct MachineConstants {
  standards::Band ke_ll_rms_v_per_krpm, kt_nm_per_arms, km_nm_per_sqrt_watt;
  double no_load_rpm = 0;
  std::string ke_source;
  std::vector<absl::string_view> rules;
};

struct WireOrder {
  std::string designation;
  double length_m = 0, bare_kg = 0, order_kg = 0;
};

// How full the slot is. Where coils are wound on the tooth or a bobbin, what lay in the slot before is tight at most:
// the shop's levels are for wire put in through the opening.
struct FillSummary {
  slot::Area area;
  slot::Fill fill;
  slot::FillVerdict verdict = slot::FillVerdict::kOk;
};

// One way to wind it.
struct Option {
  std::vector<RecordedStrand> strands;
  double area_mm2 = 0;
  double area_error_ratio = 0;
  std::optional<FillSummary> fill;
  std::vector<ExpectedResistance> resistance;  // 20 C, 25 C, bench
  std::optional<double> current_density_a_per_mm2;
  standards::Band bare_copper_kg;
  std::vector<WireOrder> orders;
  std::vector<std::string> warnings;
  std::vector<absl::string_view> rules;
};

// Turns that differ by one within every group; see winding::Alternate.
struct AlternatingOffer {
  std::vector<CoilGroup> groups;
  double mean_turns_per_coil = 0;
  double winding_factor = 0;
  double rounding_ratio = 1;
  double axis_shift_electrical_degrees = 0;
  double turns_in_fullest_slot = 0;
};

struct TurnsPlan {
  double original_turns_per_coil = 0, exact_turns_per_coil = 0;
  int turns_per_coil = 0;          // 0 where groups differ coil by coil
  std::vector<CoilGroup> groups;   // with the new turns, where groups differ
  double mean_turns_per_coil = 0;  // after rounding
  double winding_factor = 0;       // after rounding: unequal turns move it
  double rounding_ratio = 1;       // rounded over exact, turns times winding factor
  double series_turns_per_phase = 0;
  double turns_in_fullest_slot = 0;
  std::optional<AlternatingOffer> alternating;  // where they land closer than whole turns
  double flux_ratio = 1;                        // flux per pole, new over original, after rounding; 1 for magnets
  std::optional<double> rated_kw;               // as changed, else at the torque of the plate
  std::optional<double> line_amps_rms;          // at that output; the plate's own where nothing changes
  electric::Connection connection = electric::Connection::kStar;
  int parallel_circuits = 1;
  int poles = 0;
  double rated_volts = 0;
  std::optional<double> frequency_hz, speed_rpm;
  bool changed = false;
  std::vector<std::string> notes;
  std::vector<absl::string_view> rules;
};

struct Material {
  std::string place, material;
  absl::string_view rule;
};

struct RewindPlan {
  RecordCheck check;
  std::vector<Finding> findings, findings_planned;
  PatternSummary pattern, pattern_planned;
  TurnsPlan turns;
  electric::MeanTurn mean_turn, mean_turn_planned;
  Option as_recorded;
  Loading loading_as_recorded, loading_planned;
  double target_area_mm2 = 0;
  std::vector<Option> options;  // best first; may be empty, then `left_out` says why
  std::vector<std::string> left_out;
  std::optional<MachineConstants> constants_as_recorded, constants_planned;
  std::vector<Material> materials;
  std::vector<testing::Programme> programmes;
  std::vector<std::string> cautions, notes;
  std::vector<absl::string_view> rules;  // every rule used, sorted, once each
};

// The join of all rooms: a record in, a plan out. INVALID_ARGUMENT with every contradiction of the record (paths below
// "record"), of the change (below "change") and of a `way` that the plan has not; FAILED_PRECONDITION where no balanced
// three-phase winding exists. Takes under a millisecond beside the strand search.
absl::StatusOr<RewindPlan> MakePlan(const Record& record, const Change& change, const WireChoice& wires,
                                    const TestChoice& tests, const Settings& settings);

}  // namespace coilwright::plan
