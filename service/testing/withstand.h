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
  kBeforeTreatment,
  kNotReconditioned  // as it came: every family refuses, megohms instead
};

absl::string_view FamilyName(Family family);  // "IEC 60034-1", "NEMA MG 1", "ANSI/EASA AR100"

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

// Withstand voltage of a stator winding to frame, one minute. IEC 60034-1:2004 9.2 items 1 to 3, NEMA MG 1 12.3 and
// ANSI/EASA AR100-2020 tables 4-4 and 4-5, each times the share of the condition. Where the power is unknown and
// decides, the higher level is taken and `ac.reason` says so. DC: IEC from 6 kV only and by agreement, the others at
// any rating. One second: IEC quantity production up to 200 kW and 1 kV, NEMA where the level is 2500 V or less, AR100
// never. INVALID_ARGUMENT (field "rated_volts") outside 1..50000 V; FAILED_PRECONDITION where the family has no level
// for the condition (e.g. a partly rewound winding under NEMA MG 1) or leaves it to agreement.
absl::StatusOr<Withstand> WithstandLevels(const WithstandCase& withstand_case);

// Passive parts in contact with the winding. Resistance only is the rule of the programme; a level is offered on
// request.
enum class Accessory { kPassive, kElectronics };  // heater, thermostat, thermistor, RTD; encoder, Hall board, rectifier

struct AccessoryWithstand {
  double volts_ac = 0, volts_dc = 0;  // to frame, parts at a new winding
  absl::string_view rule;
};

// NEMA MG 1 and ANSI/EASA AR100: 1500 V AC. FAILED_PRECONDITION for electronics always, and for IEC 60034-1, whose
// value (500 V or 1500 V) is unverified.
absl::StatusOr<AccessoryWithstand> AccessoryLevels(Accessory accessory, Family family);

// What a maintenance test of a winding in service may ask, AC rms: 1.25 to 1.5 U. Never without the shop's decision.
struct MaintenanceLevel {
  double low_volts = 0, high_volts = 0;
  absl::string_view rule;
};
absl::StatusOr<MaintenanceLevel> MaintenanceLevels(double rated_volts);

// Turn-insulation (surge) test level, peak volts.
struct SurgeLevel {
  double volts_peak = 0;
  double rise_time_us = 0;  // 0 where none is set
  bool capped = false;      // held down to the peak of the AC withstand test
  bool standard = false;    // false: practice, no standard sets it
  std::string formula;
  absl::string_view rule;
  std::vector<std::string> notes;  // what another edition or standard would ask; what the level is meant for
};

// What there is to doubt of a random winding of these rated volts, line to line; nothing up to 1000 V. Rule
// practice.random_wound.
std::optional<std::string> RandomWoundDoubt(double rated_volts);

// Whose level a form-wound winding gets; a random winding has practice only.
enum class FormWoundSurge { kIec60034_15_2009, kIec60034_15_2025Draft, kIeee522 };

struct SurgeCase {
  double rated_volts = 0;
  bool form_wound = false;
  double ac_withstand_volts_rms = 0;  // of the same stage: the cap for low voltage
  bool in_service = false;            // 75 % of new (form wound), shop convention else
  FormWoundSurge form_wound_rule = FormWoundSurge::kIec60034_15_2009;
  double new_ac_withstand_volts_rms =
      0;  // of the winding when new: a used random winding gets 75 % of what that allows
};

// The surge case of a winding whose AC withstand level is known: anything but a new or fully rewound winding counts as
// used.
SurgeCase SurgeCaseFor(const WithstandCase& withstand_case, double ac_withstand_volts_rms, bool form_wound,
                       FormWoundSurge form_wound_rule);

// Random wound: 2E + 1000 V peak, never above the peak of the AC withstand test. Form wound: IEC 60034-15:2009
// 0.65 (4U + 5 kV), its 2024 draft or IEEE 522 3.5 pu, by choice, without cap; in service always 75 % of IEEE 522,
// never above the peak of the AC test of a used winding where that is given. INVALID_ARGUMENT for rated volts
// outside 1..50000 V, and for a random winding without its AC withstand level (0 is unknown, not a level);
// FAILED_PRECONDITION outside the 3..15 kV of IEC 60034-15:2009.
absl::StatusOr<SurgeLevel> SurgeLevelFor(const SurgeCase& surge_case);

}  // namespace coilwright::testing
