#pragma once

#include "absl/status/statusor.h"
#include "plan/plan.h"
#include "rpc/read_layout.h"
#include "sheet/winding_drawing.h"
#include "winding/connection.h"
#include "winding/layout.h"

// Windings laid out and connected: their drawings, and the connection lists of rewind sheets, show the same.
namespace coilwright::rpc {

// A layout to draw, and how it is connected.
struct Connected {
  AskedLayout asked;
  winding::PhaseEnds ends = winding::PhaseEnds::kStar;
  int circuits = 1;
};

// Without a title. FAILED_PRECONDITION where it does not balance.
absl::StatusOr<sheet::WindingDrawing> DrawingOf(const Connected& winding);

// The winding of a record with a change, in the place that `place` says beside its pattern; `open`: all six ends are
// brought out. FAILED_PRECONDITION also where the groups of the record are not what its pattern lays.
absl::StatusOr<sheet::WindingDrawing> DrawingOf(const plan::Record& record, const plan::Change& change,
                                                const winding::Placement& place, bool open);

}  // namespace coilwright::rpc
