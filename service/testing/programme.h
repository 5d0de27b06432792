#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "insulation/megohm.h"
#include "testing/fitted_devices.h"
#include "testing/withstand.h"

namespace coilwright::testing {

enum class Stage {
  kAsReceived,
  kStrippedCore,
  kWoundStarOpen,
  kWoundBeforeTreatment,
  kTreated,
  kAssembled,
  kInService
};

enum class TestKind {
  kVisual,             // look, smell, turn the shaft: before any instrument
  kWindingResistance,  // line to line, four-wire
  kMegohms,            // insulation to frame, one minute
  kPhaseMegohms,       // phase to phase, star open
  kPolarizationIndex,
  kAbsorptionRatio,
  kPolarity,  // low-voltage balance or compass with poles counted
  kSurge,     // turn insulation
  kWithstandAc,
  kWithstandDc,
  kInductance,  // line to line, least and greatest over a pole pitch
  kBackEmf,     // voltage constant and its balance
  kCoreLoss,    // ring flux
  kSensor,      // thermistor or RTD: resistance only
  kBrake,
  kTemperatureRise,  // heat run; at no stage of the programme
  kHeater,
  kFeedback,    // resolver, tachometer; electronics are left out
  kSurgeParts,  // varistors and capacitors, off the machine
  kRectifier,   // of the brake
};

enum class Potential { kEnergised, kEarthed, kGuarded, kFloating, kDisconnected };
struct Terminal {
  std::string name;
  Potential potential;
};  // "U V W tied together", "frame", "thermistor leads"

enum class LimitKind { kNone, kNotApplicable, kNoLimitInStandard, kAtLeast, kAtMost, kWithin };
struct Limit {
  LimitKind kind = LimitKind::kNone;
  std::optional<double> low, high;  // in `unit`
  std::string unit;                 // "megohms", "percent", "volts", "ohms"; empty for a comparison
  bool corrected = false;           // compare the corrected value (40 C, 20 C), not the raw one
  std::string corrected_to;         // "40 C"
  std::string text;                 // the limit in words
  absl::string_view rule;
};

// One step at the bench, or one left out and why. A step that energises anything names what must have passed before,
// how long to discharge and what to beware of; feedback is disconnected in every step but its own.
struct Step {
  TestKind kind = TestKind::kVisual;
  std::string title;
  bool left_out = false;
  std::string reason;                // why left out, or why done
  std::vector<std::string> prepare;  // what to disconnect, short or release first
  std::vector<Terminal> terminals;
  std::vector<TestKind> after;  // steps that must have passed before
  std::optional<double> volts;  // level; its shape is `volts_shape`
  std::string volts_shape;      // "dc", "ac rms", "peak"; empty without voltage
  std::string level_note;       // formula, cap, assumption
  // Ramp from half to full for the withstand test, to full else; discharge is the least time to stay earthed.
  std::optional<double> ramp_seconds, hold_seconds, discharge_seconds, trip_milliamps;
  Limit limit;
  std::optional<double> shop_expectation;  // beside the limit, in its unit
  std::vector<std::string> abort_when;
  std::vector<std::string> cautions;
  std::vector<std::string> notes;  // contradictions between families in figures, scope left, drive and era
  std::vector<absl::string_view> rules;
};

// What a bench can do; absent does not limit, 0 is none.
struct BenchMeans {
  std::optional<double> greatest_withstand_volts_ac, greatest_withstand_volts_dc, greatest_surge_volts_peak;
  std::vector<double> megohm_test_volts_dc;  // empty: any
  std::optional<double> least_ohms;          // that it reads well enough to compare phases
  std::optional<bool> polarization_run;      // holds the voltage for ten minutes
  std::optional<bool> ring_flux_supply;
};

// How a shop runs its tests; what is absent is the usual value of programme_settings.csv.
struct ShopRun {
  std::optional<double> trip_ac_milliamps, trip_medium_voltage_ac_milliamps, trip_megohms_milliamps,
      trip_surge_milliamps;
  std::optional<double> megohm_ramp_seconds, surge_ramp_seconds, surge_hold_seconds, least_discharge_seconds;
  std::optional<double> surge_watch_ratio, surge_act_ratio;
};

// What decides the programme. Everything fitted that must not see a test voltage is named.
struct ProgrammeCase {
  Stage stage = Stage::kAsReceived;
  Family family = Family::kIec60034;
  Condition condition = Condition::kFullyRewound;  // of the winding at release; the stage lowers it where it must
  double rated_volts = 0;
  std::optional<double> rated_kw;
  bool permanent_magnet = false;
  // The only rotor whose position does not move the inductance and the surge waves: any other is compared locked.
  bool induction = false;
  // An armature or field for direct current and a single-phase winding have no three pairs to hold against each other.
  bool three_phase = true;
  bool rotor_fitted = false;  // refused where the stage has the rotor out
  bool star_open = false;     // both ends of each phase are accessible
  bool three_leads = true;
  bool delta = false;  // three leads on a closed delta instead of a star
  bool form_wound = false;
  FormWoundSurge form_wound_surge = FormWoundSurge::kIec60034_15_2009;  // IEEE 522 where it does not reach
  bool segmented_core = false;
  bool potted = false;
  std::optional<int> thermal_class_celsius;  // absent: no heat run is judged, and the index as of class 155
  insulation::MegohmEdition megohm_edition = insulation::MegohmEdition::kIeee43_2013;
  std::optional<insulation::InsulationFamily> insulation_family;  // absent: by era
  std::optional<int> built_year;                                  // of the machine
  double shop_expectation_megohms = 100;
  double resistance_unbalance_percent = 2.0;  // largest, by deviation from the mean (AR100 2020, random wound)
  double before_treatment_share = 0.8;        // of the withstand level, at most
  FittedDevices fitted;
  std::optional<bool> drive_fed;  // absent: a machine with magnets is
  std::optional<double> drive_mains_volts, dc_bus_volts;
  BenchMeans bench;
  ShopRun shop;
  std::optional<double> expected_line_to_line_ohms_low, expected_line_to_line_ohms_high;  // at 20 C
  std::optional<double> expected_ke_low, expected_ke_high;  // line-to-line rms V per 1000 rpm
};

struct Programme {
  Stage stage = Stage::kAsReceived;
  std::vector<Step> steps;            // in the order to do them; left-out ones last
  std::vector<std::string> cautions;  // for every step: discharge, guards, magnets, who may do it
  std::vector<std::string> notes;     // scope left, contradictions between families, assumptions
};

// Year and family of the insulation that is tested at this stage. A winding that the shop has made new is of today,
// whatever the plate says; an older one without a family is thermoplastic where it was built before 1970 (shop rule).
struct InsulationEra {
  std::optional<int> built_year;
  insulation::InsulationFamily family = insulation::InsulationFamily::kThermosetting;
  std::string note;  // why, where it was not given
};
InsulationEra EraOf(const ProgrammeCase& programme_case);

// The ordered steps of one stage; every kind of test appears, done or left out with its reason. The
// full withstand value is due once, at kAssembled; wound and treated stages take `before_treatment_share` of it; as
// received and in service take none. From the stripped core to the treated winding the rotor is out. Trip currents,
// ramps and pauses are shop settings (common practice, no source). INVALID_ARGUMENT with every wrong field:
// rated_volts 1..50000, share above 0 and at most 0.8, and so on. A step that the bench cannot do is left out, never
// reduced; where it cannot measure the megohms nothing higher is put on the winding. A level that does not exist for
// the family and condition leaves its step out; the programme still comes.
absl::StatusOr<Programme> TestProgramme(const ProgrammeCase& programme_case);

// The line every answer with a voltage carries: local codes and a qualified person decide.
absl::string_view QualifiedPersonCaution();

}  // namespace coilwright::testing
