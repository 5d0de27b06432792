#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "plan/plan.h"

namespace coilwright::plan {

// One way to join the coils that are in the machine.
struct Reconnection {
  electric::Connection connection = electric::Connection::kStar;
  int circuits = 1;
  double rated_volts = 0;               // line to line rms, for the flux of the original
  std::optional<double> frequency_hz;   // that the voltage is for
  std::optional<double> line_amps_rms;  // the same current in every wire
  standards::Band line_to_line_ohms;    // 20 C
  bool as_recorded = false;
  std::optional<double> wanted_ratio;         // wanted over rated volts: flux (induction) or speed (magnets) at it
  std::optional<double> wanted_frequency_hz;  // induction: where the wanted voltage gives the flux of the original
  int coil_ends = 0;                          // to be brought out: two per circuit and phase
  std::vector<std::string> notes;
};

struct Reconnections {
  RecordCheck check;
  std::vector<Reconnection> ways;
  std::vector<std::string> cautions;
  std::vector<absl::string_view> rules;
};

// Star and delta with every number of circuits the pattern permits: V2 = V1 (a1/a2) c2/c1 (f2/f1), c = sqrt(3) for star
// and 1 for delta. By rising voltage, or nearest to `wanted_volts` first. `frequency_hz` (induction only) the supply
// they are for. Errors as MakePlan, for the record; INVALID_ARGUMENT for "wanted_volts" outside 1..50000 V and for a
// frequency where the record has none.
absl::StatusOr<Reconnections> ListReconnections(const Record& record, std::optional<double> wanted_volts,
                                                std::optional<double> frequency_hz, const Settings& settings);

}  // namespace coilwright::plan
