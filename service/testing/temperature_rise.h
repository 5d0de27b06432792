#pragma once

#include <optional>
#include <string>

#include "absl/status/statusor.h"
#include "standards/conductors.h"
#include "testing/judgement.h"

namespace coilwright::testing {

// Resistance of one winding path, cold and at the end of a heat run.
struct TemperatureRiseReading {
  double cold_ohms = 0, cold_celsius = 20;
  double hot_ohms = 0, coolant_celsius = 20;       // coolant at the end of the test
  std::optional<double> seconds_after_switch_off;  // of the hot reading
  double uncertainty_ratio = 0;                    // of each resistance, k = 2
};

struct TemperatureRiseCase {
  standards::Metal metal = standards::Metal::kCopper;
  standards::ConductorPreset preset = standards::ConductorPreset::kIec60034;
  std::optional<int> thermal_class_celsius;  // none is assumed: B and F lie 25 K apart
  std::optional<double> rated_kw;
  bool fanless_or_potted = false;  // the higher limits of small machines, which those under 600 W get too
  double shop_margin_ratio = 0;
};

struct TemperatureRise {
  double winding_celsius = 0;  // theta2 = R2 / R1 (k + theta1) - k
  double rise_kelvin = 0;      // theta2 - coolant
  std::optional<double> limit_kelvin;
  JudgedTest test;
};

// The limit of a class at 40 C coolant in kelvin, and whether it is the higher one of small machines; nothing where the
// class has none.
struct RiseLimit {
  std::optional<double> kelvin;
  bool small = false;
  std::string text;  // "class F (155) by resistance at 40 C coolant"
  absl::string_view rule;
};
absl::StatusOr<RiseLimit> RiseLimitOf(int thermal_class_celsius, std::optional<double> rated_kw,
                                      bool fanless_or_potted);

// Rise by resistance against the limit of the thermal class at 40 C coolant (IEC 60034-1, from memory; the figures are
// used for every family). k = 235 for copper by IEC, 234.5 by IEEE 112. Not valid: hot reading later after switch-off
// than the standard allows without going back along the cooling curve, unless the rise is over the limit already; no
// thermal class, or one without a limit; a hot resistance not above the cold one by more than the uncertainty.
// INVALID_ARGUMENT: ohms outside 1e-6..1e6, temperatures outside -60..100 C (coolant -40..80), hot winding above 300 C.
absl::StatusOr<TemperatureRise> JudgeTemperatureRise(const TemperatureRiseCase& rise_case,
                                                     const TemperatureRiseReading& reading);

}  // namespace coilwright::testing
