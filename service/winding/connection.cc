#include "winding/connection.h"

#include <algorithm>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "standards/errors.h"
#include "standards/rule_ids.h"

namespace coilwright::winding {
namespace {

constexpr int kPhases = 3;

// Groups of a phase in turn round the bore, from the first in the list.
std::vector<int> GroupsOfPhase(const std::vector<Group>& groups, int phase) {
  std::vector<int> found;
  for (size_t i = 0; i < groups.size(); ++i) {
    if (groups[i].phase == phase) found.push_back(static_cast<int>(i));
  }
  return found;
}

// Cuts the coils of a phase, taken group by group, into equal runs. Groups are whole in every run: the coils of a phase
// repeat with the section that the permitted circuits are counted by, and so do the bounds of its groups.
std::vector<CircuitPath> PathsOf(const std::vector<Group>& groups, int phase, int circuits) {
  const std::vector<int> own = GroupsOfPhase(groups, phase);
  size_t coils = 0;
  for (const int group : own) coils += groups[static_cast<size_t>(group)].coils.size();
  const size_t run = coils / static_cast<size_t>(circuits);
  std::vector<CircuitPath> paths;
  size_t in_run = run;
  for (const int index : own) {
    const Group& group = groups[static_cast<size_t>(index)];
    if (in_run == run) {
      paths.push_back({phase, static_cast<int>(paths.size()), {}});
      in_run = 0;
    }
    paths.back().passes.push_back({index, group.sign < 0});
    in_run += group.coils.size();
  }
  return paths;
}

CoilEnd Entry(const Group& group, bool reversed) {
  return reversed ? CoilEnd{group.coils.back(), true} : CoilEnd{group.coils.front(), false};
}
CoilEnd Exit(const Group& group, bool reversed) { return Entry(group, !reversed); }

std::vector<Joint> JointsOf(const ConnectionList& list) {
  const bool star = list.connection == electric::Connection::kStar;
  std::vector<Joint> joints;
  for (int lead = 0; lead < kPhases; ++lead) joints.push_back({JointKind::kLead, lead, {}});
  if (star) joints.push_back({JointKind::kStarPoint, -1, {}});
  for (const CircuitPath& path : list.paths) {
    const auto group = [&](const GroupPass& pass) -> const Group& {
      return list.groups[static_cast<size_t>(pass.group)];
    };
    const GroupPass& first = path.passes.front();
    const GroupPass& last = path.passes.back();
    joints[static_cast<size_t>(path.phase)].ends.push_back(Entry(group(first), first.reversed));
    const int end = star ? kPhases : (path.phase + 1) % kPhases;
    joints[static_cast<size_t>(end)].ends.push_back(Exit(group(last), last.reversed));
    for (size_t i = 0; i < path.passes.size(); ++i) {
      const GroupPass& pass = path.passes[i];
      const std::vector<int>& coils = group(pass).coils;
      for (size_t c = 1; c < coils.size(); ++c) {
        joints.push_back({JointKind::kWithinGroup, -1, {{coils[c - 1], true}, {coils[c], false}}});
      }
      if (i + 1 == path.passes.size()) break;
      const GroupPass& next = path.passes[i + 1];
      joints.push_back(
          {JointKind::kBetweenGroups, -1, {Exit(group(pass), pass.reversed), Entry(group(next), next.reversed)}});
    }
  }
  return joints;
}

}  // namespace

absl::StatusOr<ConnectionList> Connect(const Placement& placement, const Layout& layout,
                                       electric::Connection connection, int circuits) {
  const absl::StatusOr<Symmetry> symmetry = CheckSymmetry(placement.pattern);
  if (!symmetry.ok()) return symmetry.status();
  const std::vector<int>& permitted = symmetry->permitted_circuits;
  if (std::find(permitted.begin(), permitted.end(), circuits) == permitted.end()) {
    return standards::InvalidField(
        "circuits", absl::StrCat(circuits, " parallel circuits"),
        absl::StrCat("a number of equal circuits this layout permits: ", absl::StrJoin(permitted, ", ")));
  }
  ConnectionList list = {connection, circuits, Groups(layout), {}, {}, {}};
  for (int phase = 0; phase < kPhases; ++phase) {
    for (CircuitPath& path : PathsOf(list.groups, phase, circuits)) list.paths.push_back(std::move(path));
  }
  list.joints = JointsOf(list);
  list.rules = {rules::winding_connection_list, rules::winding_parallel_circuits};
  return list;
}

}  // namespace coilwright::winding
