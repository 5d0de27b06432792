#pragma once

#include <vector>

#include "absl/status/statusor.h"
#include "wire/wire.h"

namespace coilwright::wire {

// Micrometer readings of one wire, over bare metal or over the film.
struct MicrometerReadings {
  std::vector<double> diameters_mm;  // one or more, each > 0
  bool over_film = false;
  double uncertainty_mm = 0.005;  // expanded (k = 2) uncertainty of one reading, > 0
};

struct Candidate {
  Wire wire;
  double expected_mm = 0;      // what the micrometer should have read
  double deviation_mm = 0;     // mean reading minus expected
  double probability = 0;      // over all candidates listed, 0..1
  bool within_limits = false;  // the mean lies within the table's limits widened by the uncertainty
  int group = 0;               // candidates with the same number cannot be told apart by these readings
};

struct Identification {
  double mean_mm = 0;
  double spread_mm = 0;               // greatest minus least reading
  std::vector<Candidate> candidates;  // most probable first, at most `most`
  bool decided = false;               // exactly one candidate in the first group
  std::vector<absl::string_view> rules;
};

// Ranks every tabulated wire (all systems; over film: all films) by how well it explains the readings: normal
// likelihood of their mean, with the uncertainty of the mean (U/2 over the root of the count) and the table's limits as
// two standard deviations each way. Each group has a leader, the most probable wire not yet in one; in it are those
// whose expected diameter is less than two standard deviations from the leader's or whose likelihood is within a factor
// e^2 of it. INVALID_ARGUMENT for no readings or one that is not positive and finite; an empty list when nothing lies
// near.
absl::StatusOr<Identification> Identify(const MicrometerReadings& readings, int most = 10);

}  // namespace coilwright::wire
