#pragma once

#include <vector>

#include "sheet/canvas.h"
#include "slot/slot.h"

// The cross-section of a slot: millimetres on the lamination, x across with 0 in the middle of the slot, y from the
// bore to the bottom of the slot.
namespace coilwright::sheet {

using Outline = std::vector<Point>;  // closed, the last point joined to the first, unless said otherwise

struct SlotContour {
  double half_opening_mm = 0;
  double top_mm = 0;  // where the winding space begins, below the lip
  double depth_mm = 0;
  double greatest_width_mm = 0;
  // The wall of the winding space from one edge of the opening round the bottom to the other; open.
  Outline wall;
  bool shape_known = true;  // else a square of the measured area
};

// Of a shape that slot::NetArea takes.
SlotContour ContourOf(const slot::Shape& shape);

// An open line moved inwards, to the side of the slot, by `distance_mm`.
Outline Inset(const Outline& wall, double distance_mm);

double AreaOf(const Outline& outline);
// What of an outline lies at y of at least or at most `y_mm`, or on one side of x.
Outline Below(const Outline& outline, double y_mm);
Outline Above(const Outline& outline, double y_mm);
Outline LeftOf(const Outline& outline, double x_mm);
Outline RightOf(const Outline& outline, double x_mm);

// Where everything in a slot lies. Layers from the opening on; of tooth coils side by side.
struct SlotParts {
  SlotContour contour;
  Outline coating, liner, wedge, separator;  // empty where there is none
  std::vector<Outline> rooms;                // for the wires of each layer
};
// `turns` of each layer, one or two: the separator lies where each gets its share of the room.
SlotParts PartsOf(const slot::Shape& shape, const slot::Insulation& insulation, const std::vector<int>& turns,
                  bool side_by_side);

}  // namespace coilwright::sheet
