#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "insulation/judgement.h"
#include "testing/programme.h"

namespace coilwright::testing {

using insulation::Verdict;

// What a verdict points to. Several tests that point to one thing make the verdict of the winding.
enum class Suspect {
  kNothing,
  kReading,          // a contact, a pairing, a setting of the instrument: read again
  kShortedTurns,     // turn insulation
  kOpenJoint,        // an open circuit, or a joint with resistance
  kWrongConnection,  // star for delta, circuits, a phase reversed
  kWrongTurns,       // turns or wire other than expected
  kWeakMagnets,
  kMoisture,    // or dirt
  kEarthFault,  // to frame or between phases
  kBreakdown,   // insulation gave way under a test voltage
  kOverheating,
  kPart  // something fitted: sensor, brake, what was seen
};

// One test judged. A reading may answer several tests: three resistances give the unbalance and, where a band is
// expected, the value.
struct JudgedTest {
  TestKind kind = TestKind::kVisual;
  std::string title;
  Verdict verdict = Verdict::kNotValid;
  std::string reason;
  std::optional<double> as_read, corrected;  // in `unit`; corrected only where a correction was made
  bool at_least = false;                     // both are lower bounds
  std::string unit, corrected_to;
  Limit limit;
  std::optional<double> margin;       // from the nearest end of the limit, in `unit`; below zero outside it
  absl::string_view guard_band_rule;  // which decided between pass, marginal and fail
  Suspect suspect = Suspect::kNothing;
  std::vector<std::string> points_to;  // what to look for, likeliest first
  std::vector<absl::string_view> rules;
};

// How close to a limit a value may come.
struct GuardBand {
  double expanded_uncertainty = 0;  // k = 2, in the unit of the value
  double shop_margin_ratio = 0;     // of the limit, on its better side
};

// Holds `value` against `test.limit` (at least, at most, within; ends included) and sets verdict, margin and guard
// band. Pass where it lies inside by its uncertainty and by the shop's margin, fail where it lies outside by more than
// its uncertainty, marginal between. A limit without figures is left alone.
void Decide(double value, const GuardBand& guard, JudgedTest& test);

Limit AtMost(double high, std::string unit, std::string text, absl::string_view rule);
Limit Within(double low, double high, std::string unit, std::string text, absl::string_view rule);

}  // namespace coilwright::testing
