#include "slot/slot.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "slot/shapes.h"
#include "standards/range_check.h"
#include "standards/rule_ids.h"
#include "standards/units.h"

namespace coilwright::slot {
namespace {

using standards::RangeCheck;
using standards::WithUnit;

constexpr double kThickestMm = 50;

void CheckInsulation(const Insulation& insulation, RangeCheck* check) {
  check->Within("liner_mm", insulation.liner_mm, 0, kThickestMm, "mm");
  check->Within("separator_mm", insulation.separator_mm, 0, kThickestMm, "mm");
  check->Within("wedge_mm", insulation.wedge_mm, 0, kThickestMm, "mm");
  check->Within("coating_mm", insulation.coating_mm, 0, kThickestMm, "mm");
}

}  // namespace

absl::StatusOr<Area> NetArea(const Shape& shape, const Insulation& insulation) {
  RangeCheck check;
  CheckInsulation(insulation, &check);
  const std::optional<Outline> outline = OutlineOf(shape, &check);
  if (!check.ok()) return check.status();

  const double wall = insulation.liner_mm + insulation.coating_mm;
  const double inner_width = outline->mean_width_mm - 2 * wall;
  const double inner_depth = outline->depth_mm - 2 * wall - insulation.wedge_mm;
  Area area;
  area.gross_mm2 = outline->area_mm2;
  area.liner_mm2 = outline->wall_mm * wall;
  area.wedge_mm2 = std::max(outline->top_width_mm - 2 * wall, 0.0) * insulation.wedge_mm;
  if (insulation.separator_present) area.separator_mm2 = inner_width * insulation.separator_mm;
  area.net_mm2 = area.gross_mm2 - area.liner_mm2 - area.wedge_mm2 - area.separator_mm2;
  if (inner_width <= 0 || inner_depth <= 0 || area.net_mm2 <= 0) {
    const std::string accepted =
        absl::StrCat("thinner: the slot of ", WithUnit(area.gross_mm2, "mm2"), " would have no room left for wire");
    if (insulation.liner_mm > 0) check.Refuse("liner_mm", WithUnit(insulation.liner_mm, "mm"), accepted);
    if (insulation.coating_mm > 0) check.Refuse("coating_mm", WithUnit(insulation.coating_mm, "mm"), accepted);
    if (insulation.wedge_mm > 0) check.Refuse("wedge_mm", WithUnit(insulation.wedge_mm, "mm"), accepted);
    if (area.separator_mm2 > 0) check.Refuse("separator_mm", WithUnit(insulation.separator_mm, "mm"), accepted);
    return check.status();
  }
  if (outline->shape_known) {
    area.mean_width_mm = outline->mean_width_mm;
    area.rules = {rules::slot_net_area};
  } else {
    area.insulation_estimated = area.net_mm2 < area.gross_mm2;
    area.rules = {rules::slot_measured_area};
  }
  return area;
}

double GreatestWireThroughOpeningMm(double opening_mm, double liner_mm, double clearance_mm) {
  return std::max(0.0, opening_mm - 2 * liner_mm - clearance_mm);
}

absl::StatusOr<Fill> SlotFill(const Area& area, const std::vector<Bundle>& bundle, double turns_in_slot) {
  RangeCheck check;
  check.Above("net_mm2", area.net_mm2, 0, 1e6, "mm2");
  check.Within("gross_mm2", area.gross_mm2, area.net_mm2, 1e6, "mm2");
  check.Above("turns_in_slot", turns_in_slot, 0, 1e5, "turns");
  if (bundle.empty()) check.Refuse("bundle", "nothing", "at least one size of wire");
  for (size_t i = 0; i < bundle.size(); ++i) {
    const std::string path = absl::StrCat("bundle[", i, "].");
    const Bundle& size = bundle[i];
    if (check.Above(path + "bare_mm", size.bare_mm, 0, 50, "mm")) {
      check.Within(path + "overall_mm", size.overall_mm, size.bare_mm, 60, "mm");
    }
    check.Within(path + "wires", size.wires, 1, 1000, "wires in hand");
  }
  if (!check.ok()) return check.status();

  double bare_mm2 = 0, overall_mm2 = 0, squares_mm2 = 0;
  Fill fill;
  for (const Bundle& size : bundle) {
    const double wires = turns_in_slot * size.wires;
    bare_mm2 += wires * standards::CircleAreaMm2(size.bare_mm);
    overall_mm2 += wires * standards::CircleAreaMm2(size.overall_mm);
    squares_mm2 += wires * size.overall_mm * size.overall_mm;
    if (size.overall_mm != bundle.front().overall_mm) fill.one_size = false;
  }
  fill.bare_copper_gross_ratio = bare_mm2 / area.gross_mm2;
  fill.bare_copper_net_ratio = bare_mm2 / area.net_mm2;
  fill.insulated_wire_ratio = overall_mm2 / area.net_mm2;
  fill.fullness_ratio = squares_mm2 / area.net_mm2;
  fill.hexagonal_limit_ratio = 2 / std::sqrt(3.0);
  fill.rules = {rules::slot_fill, rules::slot_hexagonal_limit};
  return fill;
}

FillVerdict Judge(const Fill& fill, const FillLevels& levels) {
  if (fill.one_size && fill.fullness_ratio > fill.hexagonal_limit_ratio) return FillVerdict::kImpossible;
  if (fill.fullness_ratio >= levels.act_ratio) return FillVerdict::kAct;
  if (fill.fullness_ratio >= levels.watch_ratio) return FillVerdict::kWatch;
  return FillVerdict::kOk;
}

}  // namespace coilwright::slot
