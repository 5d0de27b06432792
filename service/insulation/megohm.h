#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"

namespace coilwright::insulation {

enum class WindingKind { kRandomWound, kFormWound, kField, kDcArmature };
enum class MegohmEdition { kIeee43_2013, kIeee43_2000, kIeee43_1974, kOneMegohmPerKilovolt };
enum class InsulationFamily { kThermosetting, kThermoplastic };

// What the megohm rules need to know of a machine.
struct MegohmCase {
  double rated_volts = 0;  // winding, line-to-line rms
  WindingKind kind = WindingKind::kRandomWound;
  std::optional<int> built_year;  // of the winding; before 1970 the older minimum applies, absent: newer
  MegohmEdition edition = MegohmEdition::kIeee43_2013;
  std::optional<double> rated_kw;         // below 0.75 kW the standard's scope is left and the answer says so
  double shop_expectation_megohms = 100;  // what the shop expects of a new low-voltage winding (common practice)
};

struct MegohmLimits {
  double test_volts_dc_low = 0;  // permitted range; equal where one value is set
  double test_volts_dc_high = 0;
  double test_volts_dc = 0;             // the one to use by default: the lower end of the range
  double minimum_megohms = 0;           // whole winding, one minute, at 40 C
  double shop_expectation_megohms = 0;  // never below the minimum
  bool outside_scope = false;           // under 750 W (1 hp): shop convention, not the standard
  absl::string_view test_voltage_rule;
  absl::string_view minimum_rule;
  std::vector<absl::string_view> rules;
};

// Test voltage by IEEE 43-2000 Table 1, minimum by the edition asked for (2013 and 2000 Table 3; 1974 kV + 1). Without
// a built year the winding counts as built after 1970. INVALID_ARGUMENT (field "rated_volts") outside 1..50000 V; other
// fields likewise, all at once.
absl::StatusOr<MegohmLimits> Limits(const MegohmCase& megohm_case);

struct Corrected {
  double factor = 0;  // K_T
  double megohms_40c = 0;
  absl::string_view rule;
};

// The most that a winding warmer by so many kelvin multiplies its current by: the halving of megohms of thermoplastic
// insulation, the steepest of the corrections.
double MostCurrentRatio(double kelvin);

// Reading at `winding_celsius` to 40 C. Thermosetting: two ranges over 10..85 C. Thermoplastic: halving per 10 K,
// offered over 10..85 C as a shop rule. FAILED_PRECONDITION outside: nothing is extrapolated. INVALID_ARGUMENT for a
// reading not above 0 or over 1e9 megohms. A reading known only as "more than" stays so after correction.
// At 20 C the two families differ by a factor of 3, so the family used belongs on the paper.
absl::StatusOr<Corrected> To40Celsius(double megohms, double winding_celsius, InsulationFamily family);

// Older public rules with another base than 40 C: MIL-M-17413A doubles per 15 K down to 25 C, US Army TR0656 halves per
// 22 F (12.2 K) to 77 F. Same range and errors as above.
enum class HandbookCorrection { kMilM17413A, kArmyTr0656 };
struct CorrectedToBase {
  double factor = 0;
  double megohms = 0;
  double base_celsius = 0;
  absl::string_view rule;
};
absl::StatusOr<CorrectedToBase> ToHandbookBase(double megohms, double winding_celsius, HandbookCorrection correction);

// How a phase reading stands for the whole winding: other phases earthed /2, guarded /3 (IEEE 43, from memory).
enum class OtherPhases { kTogether, kEarthed, kGuarded };
double WholeWindingMegohms(double megohms, OtherPhases others);

// Outcome of a ratio that may not apply.
struct Ratio {
  std::optional<double> value;    // absent when it does not apply or was not measured
  std::optional<double> minimum;  // absent where no standard sets one
  bool applies = false;
  std::string reason;  // why it does not apply, or what to watch
  absl::string_view rule;
};

// Readings that are not finite and above 0 count as not taken.
struct RatioCase {
  WindingKind kind = WindingKind::kRandomWound;
  int thermal_class_celsius = 155;
  std::optional<double> rated_kw;
  std::optional<double> megohms_30s, megohms_60s, megohms_600s;
  std::optional<double> megohms_60s_at_40c;  // above 5000 the index is disregarded
};

// 10 min / 1 min. Does not apply to random-wound windings (the standard says "small" without a size, so none is
// judged), to field windings, and above 5000 megohms at 40 C. Minimum 1.5 for class 105, else 2.0.
Ratio PolarizationIndex(const RatioCase& ratio_case);
Ratio AbsorptionRatio(const RatioCase& ratio_case);  // 60 s / 30 s, no standard limit

// Magnus form with a = 17.625, b = 243.04 C (Alduchov and Eskridge 1996). -40..60 C, humidity over 0..100 %.
absl::StatusOr<double> DewPointCelsius(double air_celsius, double relative_humidity_percent);

// Least time to earth the winding after a DC test: 4 x the time the voltage was applied. 0 for a time that is not
// finite and above 0.
double DischargeSeconds(double applied_seconds);

}  // namespace coilwright::insulation
