#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "sheet/canvas.h"
#include "winding/connection.h"
#include "winding/field.h"
#include "winding/layout.h"

namespace coilwright::sheet {

// What a winding drawing shows: a balanced layout, connected.
struct WindingDrawing {
  std::string title;
  winding::Layout layout;
  winding::ConnectionList connections;  // of the layout
  winding::Field field;                 // FieldOf(layout)
  // How the coils lie in their slots; absent for coils that were traced over more than one tooth, which does not tell.
  std::optional<winding::CoilForm> form;
  int slots_per_pole_phase_num = 0, slots_per_pole_phase_den = 1;
  std::string data_revision;
};

// More slots do not stay legible on a page.
inline constexpr int kMostSlotsDrawn = 144;

// Draws on pages across: first the stator seen from the connection end and the star of slots, then the developed view
// and the connection diagram, each on a page of its own where they need it. Returns what was left out because it would
// not be legible, in words. FAILED_PRECONDITION above kMostSlotsDrawn.
absl::StatusOr<std::vector<std::string>> DrawWinding(const WindingDrawing& drawing, Paper paper, Canvas& canvas);

}  // namespace coilwright::sheet
