#pragma once

#include <vector>

#include "absl/status/statusor.h"
#include "electric/resistance.h"
#include "standards/band.h"

namespace coilwright::electric {

// INVALID_ARGUMENT (fields "coils", "turns_per_coil", "circuits", "mean_turn_m", "strand_area_mm2") for a winding that
// cannot be: coils 3..720 in thirds, turns above 0 to 10000, circuits 1..120, mean turn 5 mm to 50 m, wire 1e-5 to
// 1e4 mm2 with low <= nominal <= high and low above half the nominal.
absl::Status CheckCopper(const WindingCopper& copper);

// One size of wire in hand.
struct WireSize {
  double bare_mm = 0;     // 0.01..10
  double overall_mm = 0;  // over the film, at least bare, at most 2 bare
  int wires = 1;          // in hand, of this size
};

// What a shop adds to the wire in the slots. Common practice, no source: leads and connections 2..5 %, spool ends and
// waste 5..10 %.
struct OrderAllowance {
  double lead_ratio = 0.04;
  double waste_ratio = 0.08;
};

struct WireOrder {
  standards::Band metres;
  standards::Band bare_kg;
  standards::Band coated_kg;  // metal and film: what the spool scale shows
};

// Wire to order for one whole winding, one entry per size in the order given: C T MLT times the wires in hand, times
// 1 + leads, times 1 + waste. The band is that of the mean turn. Of `copper` the coils, turns, mean turn and metal
// count; its strand area is not used. Film density from memory: it moves the coated mass of heavy builds by about 0.5
// %.
absl::StatusOr<std::vector<WireOrder>> WireToOrder(const WindingCopper& copper, const std::vector<WireSize>& sizes,
                                                   const OrderAllowance& allowance = {});

}  // namespace coilwright::electric
