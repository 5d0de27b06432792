#pragma once

#include <array>
#include <optional>
#include <vector>

#include "testing/phase_resistance.h"

// The faults that three readings between the leads point to; internal to this room.
namespace coilwright::testing {

struct FaultModel {
  std::vector<ResistanceFault> faults;  // likeliest first
  double least_share_seen = 0;          // of a phase's turns
  std::optional<double> least_turns_seen;
};

// Of a triple that a winding can give; `uncertainty_ratio` (k = 2) above 0.
FaultModel ExplainTriple(const ResistanceCase& c, const std::array<double, 3>& ohms, double uncertainty_ratio);

// The phase that stands farthest from the mean of the other two, and what would explain it; nothing where the three are
// equal. No claim that it is a fault.
std::optional<ResistanceFault> FarthestPhase(const ResistanceCase& c, const std::array<double, 3>& ohms,
                                             double uncertainty_ratio);

// With `closed` pairs that conduct and the open ones marked.
std::vector<ResistanceFault> OpenFaults(electric::Connection connection, const std::array<bool, 3>& open, int closed);

// Where pair `pair` reads as much as the other two together.
std::vector<ResistanceFault> EdgeFaults(electric::Connection connection, int pair);

}  // namespace coilwright::testing
