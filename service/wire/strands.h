#pragma once

#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "wire/wire.h"

namespace coilwright::wire {

// Greatest fullness of wires of one size, 2/sqrt(3): circles touching on a hexagonal lattice.
inline constexpr double kHexagonalFullness = 1.1547005383792515;

// A wire that may be used, and how much of it is left.
struct Available {
  Wire wire;
  std::optional<double> length_left_m;  // absent: as much as needed
};

// Which wires in hand replace the original conductor.
struct StrandSearch {
  std::vector<Available> wires;
  bool mix_systems = false;        // allow AWG, metric and SWG in one turn (a stock that holds both)
  double target_area_mm2 = 0;      // bare conductor of the original, all strands together
  double least_area_ratio = 0.99;  // window around the target
  double greatest_area_ratio = 1.05;
  double area_tolerance_ratio = 0.01;  // area errors within one such step count as equal when ranking
  int most_in_hand = 12;
  int most_sizes = 3;
  // Limits of the slot; infinity where not known.
  double greatest_overall_mm = std::numeric_limits<double>::infinity();  // one wire through the slot opening
  double greatest_bare_mm = std::numeric_limits<double>::infinity();     // thickest wire that can be handled
  // Thickest over thinnest wire of one bundle, by bare diameter: a hair beside a thick wire breaks when it is wound.
  double greatest_diameter_ratio = std::numeric_limits<double>::infinity();
  double turns_in_slot = 0;         // bundles that share one slot (all layers); 0 leaves fill out
  double slot_net_area_mm2 = 0;     // inside liner, separator and wedge; 0 leaves fill out
  double greatest_fullness = 0.80;  // sum of overall diameters squared over the net area
  // Ascending: a combination that reaches one of these ranks after all that do not, however well its area fits.
  std::vector<double> fullness_levels;
  double length_per_strand_m = 0;  // wire needed for one strand of the whole winding, all circuits; 0: not checked
  int best = 20;
};

struct Strand {
  int index = 0;  // into StrandSearch::wires
  int count = 0;  // wires of this size in hand
};

struct StrandChoice {
  std::vector<Strand> strands;  // thickest first
  int in_hand = 0;
  double area_mm2 = 0;
  double area_error_ratio = 0;   // (area - target) / target
  double fullness_ratio = 0;     // sum of squares over net area, 0 where not known
  bool above_hexagonal = false;  // mixed sizes above the one-size hexagonal limit: a warning, not a refusal
};

struct StrandAnswer {
  std::vector<StrandChoice> choices;  // best first
  // Why wires fell out, for the caller to say: counts of catalogue wires.
  int too_thick_for_opening = 0;
  int too_thick_to_handle = 0;
  // All that passed, of which `choices` are the best; -1 when not counted, as the search stops once its list is
  // certain.
  long long combinations_in_window = 0;
  std::vector<absl::string_view> rules;
};

// Exactly the best combinations in this order: fullness levels reached, then area error by steps of the tolerance, then
// fewer sizes, fewer wires, smaller |error|, smaller fullness, then earlier in `wires` (the indices in ascending order,
// each as often as it is in hand, compared as a word). An error of exactly one tolerance is still in the first step;
// errors and fullness are compared to 1e-12. Agrees with brute force over every combination. One size is refused above
// the hexagonal limit 2/sqrt(3) of fullness, mixed sizes are marked. INVALID_ARGUMENT for a target that is not
// positive, a window that is empty, most_in_hand outside 1..30, most_sizes outside 1..3, a tolerance outside 1e-6..1,
// more than 500 wires, or a wire without diameters.
absl::StatusOr<StrandAnswer> ChooseStrands(const StrandSearch& search);

}  // namespace coilwright::wire
