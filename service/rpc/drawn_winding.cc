#include "rpc/drawn_winding.h"

#include <set>
#include <string>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "plan/as_wound.h"
#include "rpc/write.h"
#include "standards/tables.h"

namespace coilwright::rpc {
namespace {

// The pattern of a record lays its coils by their mean pitch. Groups of other spans would be drawn as what they are
// not.
absl::Status CheckSpans(const plan::AsWound& wound, const winding::Layout& layout) {
  std::set<int> recorded, laid;
  for (const plan::CoilGroup& group : wound.record.winding.groups) {
    for (const plan::GroupCoil& coil : group.coils) recorded.insert(coil.span_slots);
  }
  for (const winding::Coil& coil : layout.coils) {
    laid.insert((coil.return_slot - coil.go_slot + layout.slots) % layout.slots);
  }
  if (recorded.empty() || recorded == laid) return absl::OkStatus();
  return absl::FailedPreconditionError(absl::StrCat(
      "the groups of the record span ", absl::StrJoin(recorded, ", "), " slots, the pattern of these slots and poles ",
      absl::StrJoin(laid, ", "), "; give the coils as they were traced, in coils"));
}

}  // namespace

absl::StatusOr<sheet::WindingDrawing> DrawingOf(const Connected& winding) {
  const absl::StatusOr<winding::Symmetry> symmetry = SymmetryOf(winding.asked);
  if (!symmetry.ok()) return symmetry.status();
  if (!symmetry->balanced) {
    return absl::FailedPreconditionError(absl::StrCat("no balanced three-phase winding: ", symmetry->reason));
  }
  absl::StatusOr<winding::Layout> layout = LayoutOf(winding.asked);
  if (!layout.ok()) return layout.status();
  absl::StatusOr<winding::ConnectionList> list = ConnectionsOf(winding.asked, *layout, winding.ends, winding.circuits);
  if (!list.ok()) return list.status();
  sheet::WindingDrawing drawing;
  drawing.field = winding::FieldOf(*layout);
  drawing.layout = *std::move(layout);
  drawing.connections = *std::move(list);
  drawing.form = FormOf(winding.asked);
  drawing.slots_per_pole_phase_num = symmetry->slots_per_pole_phase_num;
  drawing.slots_per_pole_phase_den = symmetry->slots_per_pole_phase_den;
  drawing.data_revision = Str(standards::DataRevision());
  return drawing;
}

absl::StatusOr<sheet::WindingDrawing> DrawingOf(const plan::Record& record, const plan::Change& change,
                                                const winding::Placement& place, bool open) {
  const absl::StatusOr<plan::AsWound> wound = plan::WindingAsWound(record, change);
  if (!wound.ok()) return wound.status();
  Connected winding;
  winding.asked.placement = place;
  winding.asked.placement.pattern = wound->pattern.pattern;
  winding.circuits = wound->turns.parallel_circuits;
  winding.ends = open                                                      ? winding::PhaseEnds::kOpen
                 : wound->turns.connection == electric::Connection::kDelta ? winding::PhaseEnds::kDelta
                                                                           : winding::PhaseEnds::kStar;
  absl::StatusOr<sheet::WindingDrawing> drawing = DrawingOf(winding);
  if (!drawing.ok()) return drawing.status();
  if (absl::Status same = CheckSpans(*wound, drawing->layout); !same.ok()) return same;
  return drawing;
}

}  // namespace coilwright::rpc
