#pragma once

#include <optional>
#include <variant>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "standards/rule_ids.h"

namespace coilwright::slot {

// Slot shapes, all in mm, measured on the lamination. Depth counts from the bore to the bottom of the slot and includes
// the opening (lip); the winding space begins below the lip.
struct ParallelSided {
  double width_mm, depth_mm, opening_mm, opening_depth_mm;
};
// Tooth of constant width: the slot widens outwards. Needs the bore and the number of slots.
struct ParallelTooth {
  double bore_mm;
  int slots;
  double tooth_width_mm, depth_mm, opening_mm, opening_depth_mm;
};
// Trapezoid closed by a half circle at the bottom: width at the top (bore side), diameter of the round bottom, depth
// overall.
struct RoundBottomed {
  double top_width_mm, bottom_diameter_mm, depth_mm, opening_mm, opening_depth_mm;
};
struct Round {
  double diameter_mm, opening_mm;
};
struct MeasuredArea {
  double gross_mm2;
};
using Shape = std::variant<ParallelSided, ParallelTooth, RoundBottomed, Round, MeasuredArea>;

// What lies in the slot beside wire. Absent parts are zero.
struct Insulation {
  double liner_mm = 0;             // thickness of one liner wall
  double separator_mm = 0;         // between layers
  double wedge_mm = 0;             // height of wedge or top stick
  double coating_mm = 0;           // powder coat or moulded cell instead of a liner, one wall
  bool separator_present = false;  // double layer
};

struct Area {
  double gross_mm2 = 0;
  double liner_mm2 = 0;
  double separator_mm2 = 0;
  double wedge_mm2 = 0;
  double net_mm2 = 0;                   // gross less liner, separator and wedge: room for wire
  std::optional<double> mean_width_mm;  // gross area over depth, where the shape gives one
  bool insulation_estimated = false;    // measured gross area without shape: perimeter taken from an equivalent square
  std::vector<absl::string_view> rules;
};

// Gross is the winding space below the lip, by the exact geometry of the shape (a parallel tooth between two circles
// about the shaft). The liner is the wall without the opening times its thickness, so each square corner counts one
// thickness squared twice, on the safe side: 0.25 mm2 for a 0.25 mm liner. The wedge lies across the top inside the
// liner, the separator across the mean width. INVALID_ARGUMENT with the path below "slot" for every dimension that
// cannot be (opening wider than the slot, liner that leaves no room, ...).
absl::StatusOr<Area> NetArea(const Shape& shape, const Insulation& insulation);

// The widest single wire that passes the opening: opening - 2 liner - clearance; not below zero.
// Common practice under kOpeningRule; not for segmented cores, and needle winding goes by its nozzle.
double GreatestWireThroughOpeningMm(double opening_mm, double liner_mm, double clearance_mm);
inline constexpr absl::string_view kOpeningRule = rules::slot_opening;

// One size of wire in the bundle.
struct Bundle {
  double bare_mm;
  double overall_mm;
  int wires;
};

// How full the slot is, three ways that must never be mixed.
struct Fill {
  double bare_copper_gross_ratio = 0;  // bare copper over gross slot area ("copper fill", "space factor")
  double bare_copper_net_ratio = 0;    // bare copper over net area
  double insulated_wire_ratio = 0;     // circles over the film over net area
  double fullness_ratio = 0;           // sum of overall diameters squared over net area
  double hexagonal_limit_ratio = 0;    // greatest fullness of one size, 2/sqrt(3)
  bool one_size = true;
  std::vector<absl::string_view> rules;
};

enum class FillVerdict {
  kOk,
  kWatch,
  kAct,
  kImpossible
};  // set by the shop's levels; impossible: one size above the hexagonal limit

// Shop settings for fullness; no standard fixes them (common practice).
struct FillLevels {
  double watch_ratio = 0.75;
  double act_ratio = 0.82;
};

// `turns_in_slot` bundles of `bundle` in `area`. "One size" goes by the overall diameter. INVALID_ARGUMENT (fields
// "bundle", "bundle[i].bare_mm", ..., "turns_in_slot", "net_mm2").
absl::StatusOr<Fill> SlotFill(const Area& area, const std::vector<Bundle>& bundle, double turns_in_slot);
// A fullness that reaches a level is at that level.
FillVerdict Judge(const Fill& fill, const FillLevels& levels);

}  // namespace coilwright::slot
