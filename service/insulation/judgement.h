#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "insulation/megohm.h"

namespace coilwright::insulation {

// One reading after a minute, and what was read before and after it in the same run.
struct MegohmReading {
  double megohms_60s = 0;   // 0 (an earth fault) to 1e9
  bool over_range = false;  // the instrument showed "more than": a lower bound
  std::optional<double> megohms_30s, megohms_600s;
  double winding_celsius = 40;
  OtherPhases others = OtherPhases::kTogether;
  double uncertainty_ratio = 0;  // expanded (k = 2), 0..0.5
  std::optional<double> test_volts_dc;
};

struct JudgementCase {
  MegohmCase megohm;
  InsulationFamily family = InsulationFamily::kThermosetting;
  int thermal_class_celsius = 155;
  std::optional<double> air_celsius, relative_humidity_percent;  // both, for the dew point
};

// Marginal: the corrected value lies within its expanded uncertainty of the minimum (guard band).
enum class Verdict { kPass, kMarginal, kFail, kNotValid };

struct JudgedReading {
  Verdict verdict = Verdict::kNotValid;
  std::string reason;
  std::optional<double> factor;        // to 40 C; absent where the rule does not reach
  std::optional<double> megohms_40c;   // whole winding
  bool at_least = false;               // megohms_40c is a lower bound
  std::optional<double> margin_ratio;  // over the minimum
  bool meets_shop_expectation = false;
  Ratio polarization_index, absorption_ratio;
  double discharge_seconds = 0;
  std::vector<absl::string_view> rules;
};

struct Judgement {
  MegohmLimits limits;
  std::optional<double> dew_point_celsius;
  std::vector<JudgedReading> readings;  // in the order given
  std::vector<std::string> notes;
};

// Corrects each reading to 40 C for the whole winding and holds it against the minimum. Not valid: a temperature
// outside the correction's range, a winding at or below the dew point, a test voltage outside the permitted range by
// more than 10 %, an over-range reading below the minimum. A lower bound above the minimum passes; it is no term of a
// ratio. Pass from the corrected value less its uncertainty, fail where it lies below the minimum with its uncertainty
// added, marginal between; a value at a limit is on its better side. INVALID_ARGUMENT for wrong values of the case or
// of a reading ("readings[i].insulation_megohms", ...).
absl::StatusOr<Judgement> Judge(const JudgementCase& judgement_case, const std::vector<MegohmReading>& readings);

}  // namespace coilwright::insulation
