#pragma once

#include <optional>
#include <vector>

#include "sheet/slot_contour.h"

namespace coilwright::sheet {

// A wire in the cross-section of a slot.
struct PackedWire {
  Point centre;
  double overall_mm = 0;
  double bare_mm = 0;
};

// Lays `turns` of `bundle` into a room, each wire at the deepest place that is free from above, turn by turn, or the
// thickest first where they fit only so. All of them lie in the room and none over another, to 1e-6 mm; nothing where
// they cannot be laid so, which does not say that a winder could not. Fullness of 0.8 (squares over film over net area)
// is reached in slots at least eight wires wide.
std::optional<std::vector<PackedWire>> Pack(const Outline& room, const std::vector<slot::Bundle>& bundle, int turns);

}  // namespace coilwright::sheet
