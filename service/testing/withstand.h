#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"

namespace coilwright::testing {

// Which family of rules the caller follows. The contradictions between them are shown, not hidden.
enum class Family { kIec60034, kNemaMg1, kAr100 };

// What has been done to the winding before this test.
enum class Condition {
  kNew,
  kFullyRewound,
  kPartlyRewound,
  kReconditioned,
  kRepeat,
  kProductionTest,
  kAfterInstallation,
  kBeforeTreatment
};

struct WithstandCase {
  double rated_volts = 0;          // winding, line-to-line rms, never the DC bus
  std::optional<double> rated_kw;  // decides the small-machine rows; absent: the higher level is taken and said
  Condition condition = Condition::kFullyRewound;
  Family family = Family::kIec60034;
};

struct Level {
  double volts = 0;  // 0 when not applicable
  bool applicable = false;
  double seconds = 0;   // hold
  std::string formula;  // "2 x 230 V + 1000 V = 1460 V, raised to 1500 V"
  absl::string_view rule;
  std::string reason;  // why not applicable, or what was assumed
};

struct Withstand {
  Level ac;                        // rms
  Level dc;                        // 1.7 x AC where the family allows it at this voltage
  Level ac_one_second;             // the shorter production test, where allowed
  std::vector<std::string> notes;  // assumptions; what another family would ask, in figures
  std::vector<absl::string_view> rules;
};

// INVALID_ARGUMENT (field "rated_volts") outside 1..50000 V; FAILED_PRECONDITION where the family has no level for the
// condition (e.g. a partly rewound winding under NEMA MG 1).
absl::StatusOr<Withstand> WithstandLevels(const WithstandCase& withstand_case);

// Turn-insulation (surge) test level, peak volts.
struct SurgeLevel {
  double volts_peak = 0;
  double rise_time_us = 0;  // 0 where none is set
  bool capped = false;      // held down to the peak of the AC withstand test
  bool standard = false;    // false: practice, no standard sets it
  std::string formula;
  absl::string_view rule;
};

struct SurgeCase {
  double rated_volts = 0;
  bool form_wound = false;
  double ac_withstand_volts_rms = 0;  // of the same stage: the cap for low voltage
  bool in_service = false;            // 75 % of new (form wound), shop convention else
};

absl::StatusOr<SurgeLevel> SurgeLevelFor(const SurgeCase& surge_case);

}  // namespace coilwright::testing
