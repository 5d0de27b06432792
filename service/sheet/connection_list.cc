#include "sheet/connection_list.h"

#include <algorithm>
#include <array>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "sheet/winding_views.h"

namespace coilwright::sheet {
namespace {

using Cells = std::vector<std::string>;
constexpr const char* kToTick = "\u2610 ";

// "4 finish (10)"
std::string EndInWords(const WindingDrawing& drawing, const winding::CoilEnd& end) {
  const std::vector<winding::Group>& groups = drawing.connections.groups;
  const auto of = std::find_if(groups.begin(), groups.end(), [&](const winding::Group& group) {
    return std::count(group.coils.begin(), group.coils.end(), end.coil) > 0;
  });
  return absl::StrCat(of - groups.begin() + 1, end.finish ? " finish (" : " start (", SlotOf(drawing.layout, end), ")");
}

size_t PhaseOf(const WindingDrawing& drawing, const winding::CoilEnd& end) {
  return static_cast<size_t>(drawing.layout.coils[static_cast<size_t>(end.coil)].phase);
}

}  // namespace

Table ConnectionTable(const WindingDrawing& drawing) {
  const winding::ConnectionList& list = drawing.connections;
  std::array<Cells, 3> lead, star, jumpers;
  for (const winding::Joint& joint : list.joints) {
    if (joint.kind == winding::JointKind::kWithinGroup) continue;
    if (joint.kind == winding::JointKind::kBetweenGroups) {
      std::vector<std::string> ends;
      for (const winding::CoilEnd& end : joint.ends) ends.push_back(EndInWords(drawing, end));
      jumpers[PhaseOf(drawing, joint.ends.front())].push_back(absl::StrCat(kToTick, absl::StrJoin(ends, " to ")));
      continue;
    }
    // The star point has ends of every phase; a lead has its own, in delta those of two phases.
    const bool at_star = joint.kind == winding::JointKind::kStarPoint;
    const bool second = joint.kind == winding::JointKind::kEndLead;
    for (const winding::CoilEnd& end : joint.ends) {
      const size_t column = at_star ? PhaseOf(drawing, end) : static_cast<size_t>(joint.lead);
      (at_star || second ? star : lead)[column].push_back(absl::StrCat(
          kToTick, at_star ? "" : absl::StrCat(LeadName(list, joint.lead, second), ": "), EndInWords(drawing, end)));
    }
  }
  Table table;
  table.columns = {{"", false, false}, {"phase U", false, true}, {"phase V", false, true}, {"phase W", false, true}};
  const auto add = [&](const char* what, const std::array<Cells, 3>& cells) {
    const size_t rows = std::max({cells[0].size(), cells[1].size(), cells[2].size()});
    for (size_t row = 0; row < rows; ++row) {
      table.rows.push_back({row == 0 ? what : ""});
      for (const Cells& phase : cells) table.rows.back().push_back(row < phase.size() ? phase[row] : "");
    }
  };
  add("on the lead", lead);
  add("jumpers", jumpers);
  add(list.ends == winding::PhaseEnds::kStar ? "star point" : "second lead", star);
  return table;
}

std::string ConnectionLegend(const WindingDrawing& drawing) {
  const std::vector<winding::Group>& groups = drawing.connections.groups;
  const bool one_coil =
      std::all_of(groups.begin(), groups.end(), [](const winding::Group& group) { return group.coils.size() == 1; });
  return absl::StrCat(
      one_coil ? "Coils" : "Groups of coils", " are numbered round the bore from slot 1, the slot marked against the ",
      "lead exit, clockwise seen from the connection end (",
      drawing.layout.connection_end == winding::MachineEnd::kDrive ? "the shaft end" : "opposite the shaft",
      "); in brackets the slot an end comes out of.",
      one_coil ? ""
               : " Start is that of the first coil of a group, finish that of its last; within it the finish of each "
                 "coil goes to the start of the next.");
}

}  // namespace coilwright::sheet
