#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "sheet/canvas.h"
#include "slot/slot.h"

namespace coilwright::sheet {

// What a slot drawing shows.
struct SlotDrawing {
  std::string title;
  slot::Shape shape;
  slot::Insulation insulation;
  slot::Area area;  // NetArea of both
  // Turns of each layer, from the opening on; of tooth coils in two layers side by side.
  std::vector<int> turns;
  bool side_by_side = false;
  std::vector<slot::Bundle> bundle;  // one turn
  std::vector<std::string> wires;    // the same in words: "2 x 0.80 mm grade 2"
  std::optional<slot::Fill> fill;    // of all turns
  std::vector<std::string> notes;    // what was assumed
  std::string data_revision;
};

// Draws the slot to a scale of 100:1 to 1:10 on one page upright: iron, coating, liner, wedge, separator, and every
// wire with its film at its true size. Returns what was left out, in words: where the wires of a layer do not fit as
// drawn, or are too many or too thin to be seen, none of them is drawn and the drawing says so too. FAILED_PRECONDITION
// where the slot is too small or too large for every scale.
absl::StatusOr<std::vector<std::string>> DrawSlot(const SlotDrawing& drawing, Paper paper, Canvas& canvas);

}  // namespace coilwright::sheet
