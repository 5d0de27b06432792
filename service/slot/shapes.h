#pragma once

#include <optional>

#include "slot/slot.h"
#include "standards/range_check.h"

namespace coilwright::slot {

// The winding space below the lip, reduced to what insulation needs to know. mm and mm2.
struct Outline {
  double area_mm2 = 0;
  double wall_mm = 0;       // perimeter without the opening
  double top_width_mm = 0;  // on the side of the opening, where the wedge lies
  double mean_width_mm = 0;
  double depth_mm = 0;
  bool shape_known = true;
};

// The outline of `shape`, or nothing after naming every wrong dimension in `check`.
std::optional<Outline> OutlineOf(const Shape& shape, standards::RangeCheck* check);

}  // namespace coilwright::slot
