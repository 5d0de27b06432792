#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "testing/judgement.h"
#include "testing/withstand.h"

namespace coilwright::testing {

// One withstand test as it went.
struct WithstandReading {
  bool dc = false;
  double test_volts = 0;  // ac rms or dc, the greatest reached
  double hold_seconds = 0;
  bool broke_down = false;                // tripped, flashed over or could not be raised
  std::vector<double> leakage_milliamps;  // through the hold, in order; may be empty
  std::optional<double> trip_milliamps;   // setting of the set
  double uncertainty_ratio = 0;           // of the current, k = 2
};

// What was asked for at the stage; absent where no withstand test is.
struct WithstandAsked {
  std::optional<double> test_volts, hold_seconds;  // AC rms or DC as in the reading
  std::optional<double> one_second_volts;          // in place of the full hold, where the family allows it
  std::optional<double> shop_leakage_milliamps;    // most leakage; no standard sets one
  absl::string_view rule;
  std::string left_out_because;  // where the programme of the stage leaves it out
  bool megohms_passed = true;    // before this test
};

// Fail: it broke down, or leaked more than the shop allows. Marginal: the current rose during the hold by more than
// programme_settings.csv allows, or lies within its uncertainty of the shop's limit. Not valid: more than 3 % below the
// level, or shorter than asked, or where the programme of the stage has no such test: it counts for nothing then.
// Marginal too where it held at more than 10 % above its level (over-stressed: what it weakened shows in no test at
// once), or where no megohms had passed before it. INVALID_ARGUMENT: volts outside 1..500000, hold outside 0..36000 s,
// more than 10000 currents or one outside 0..1e6 mA.
absl::StatusOr<JudgedTest> JudgeWithstand(const WithstandAsked& asked, const WithstandReading& reading);

}  // namespace coilwright::testing
