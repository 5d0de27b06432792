#include "winding/connection.h"

#include <algorithm>
#include <array>
#include <numeric>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "standards/errors.h"
#include "standards/rule_ids.h"
#include "standards/units.h"

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

// Cuts the coils of a phase, taken group by group, into equal runs, or into other than `circuits` runs where groups are
// not whole in them. Of a pattern they are: the coils of a phase repeat with the section that the permitted circuits
// are counted by, and so do the bounds of its groups.
std::vector<CircuitPath> PathsOf(const std::vector<Group>& groups, int phase, int circuits) {
  const std::vector<int> own = GroupsOfPhase(groups, phase);
  size_t coils = 0;
  for (const int group : own) coils += groups[static_cast<size_t>(group)].coils.size();
  const size_t run = coils / static_cast<size_t>(circuits);
  std::vector<CircuitPath> paths;
  size_t in_run = run;
  for (const int index : own) {
    const Group& group = groups[static_cast<size_t>(index)];
    if (in_run >= run) {
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
  std::vector<Joint> joints;
  for (int lead = 0; lead < kPhases; ++lead) joints.push_back({JointKind::kLead, lead, {}});
  if (list.ends == PhaseEnds::kStar) joints.push_back({JointKind::kStarPoint, -1, {}});
  if (list.ends == PhaseEnds::kOpen) {
    for (int lead = 0; lead < kPhases; ++lead) joints.push_back({JointKind::kEndLead, lead, {}});
  }
  const auto end_of = [&](int phase) {
    return list.ends == PhaseEnds::kStar    ? kPhases
           : list.ends == PhaseEnds::kDelta ? (phase + 1) % kPhases
                                            : kPhases + phase;
  };
  for (const CircuitPath& path : list.paths) {
    const auto group = [&](const GroupPass& pass) -> const Group& {
      return list.groups[static_cast<size_t>(pass.group)];
    };
    const GroupPass& first = path.passes.front();
    const GroupPass& last = path.passes.back();
    joints[static_cast<size_t>(path.phase)].ends.push_back(Entry(group(first), first.reversed));
    joints[static_cast<size_t>(end_of(path.phase))].ends.push_back(Exit(group(last), last.reversed));
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

ConnectionList ListOf(const Layout& layout, PhaseEnds ends, int circuits) {
  ConnectionList list = {ends, circuits, Groups(layout), {}, {}, {}};
  for (int phase = 0; phase < kPhases; ++phase) {
    for (CircuitPath& path : PathsOf(list.groups, phase, circuits)) list.paths.push_back(std::move(path));
  }
  list.joints = JointsOf(list);
  list.rules = {rules::winding_connection_list, rules::winding_parallel_circuits};
  return list;
}

absl::Status Permit(const std::vector<int>& permitted, int circuits) {
  if (std::find(permitted.begin(), permitted.end(), circuits) == permitted.end()) {
    return standards::InvalidField(
        "circuits", absl::StrCat(circuits, " parallel circuits"),
        absl::StrCat("a number of equal circuits this layout permits: ", absl::StrJoin(permitted, ", ")));
  }
  return absl::OkStatus();
}

// Spans of the coils of a circuit, in order of size: they make its resistance.
std::vector<int> SpansOf(const TracedCircuit& circuit, int slots) {
  std::vector<int> spans;
  for (const Coil& coil : circuit.coils) spans.push_back((coil.return_slot - coil.go_slot + slots) % slots);
  std::sort(spans.begin(), spans.end());
  return spans;
}

bool MakesEqualCircuits(const Layout& layout, int circuits) {
  const ConnectionList list = ListOf(layout, PhaseEnds::kOpen, circuits);
  if (list.paths.size() != kPhases * static_cast<size_t>(circuits)) return false;
  const auto traced = TraceJoints(layout, list.joints);
  if (!traced.ok() || !EqualCircuits(*traced)) return false;
  const std::vector<int> spans = SpansOf(traced->front(), layout.slots);
  return std::all_of(traced->begin(), traced->end(),
                     [&](const TracedCircuit& circuit) { return SpansOf(circuit, layout.slots) == spans; });
}

// The phases with coils, factor and axis of each.
std::string PhasesInWords(const Layout& layout, const Field& field) {
  std::array<int, kPhases> coils{};
  for (const Coil& coil : layout.coils) ++coils[static_cast<size_t>(coil.phase)];
  std::vector<std::string> phases;
  for (size_t phase = 0; phase < kPhases; ++phase) {
    phases.push_back(absl::StrFormat("%c has %d %s, factor %.4f, axis at %.1f", "UVW"[phase], coils[phase],
                                     coils[phase] == 1 ? "coil" : "coils", field.winding_factors[phase],
                                     field.axis_electrical_degrees[phase]));
  }
  return absl::StrJoin(phases, "; ");
}

using Emfs = std::array<std::complex<double>, kPhases>;

bool Balanced(const Emfs& emfs) {
  const double slack = kSameEmf * std::abs(emfs[0]);
  for (const int way : {1, -1}) {
    const auto off = [&](size_t phase) {
      return std::abs(emfs[phase] -
                      emfs[0] * std::polar(1.0, way * static_cast<double>(phase) * 2 * standards::kPi / kPhases));
    };
    if (slack > 0 && off(1) <= slack && off(2) <= slack) return true;
  }
  return false;
}

}  // namespace

std::string WhyUneven(const Layout& layout, const Field& field) {
  Emfs emfs{};
  for (const Coil& coil : layout.coils) {
    const size_t phase = static_cast<size_t>(coil.phase);
    emfs[phase] +=
        std::polar(field.winding_factors[phase], field.axis_electrical_degrees[phase] * standards::kPi / 180);
  }
  if (Balanced(emfs)) return "";
  std::string hint;
  for (size_t phase = 0; phase < kPhases; ++phase) {
    Emfs turned = emfs;
    turned[phase] = -turned[phase];
    if (!Balanced(turned)) continue;
    hint = absl::StrFormat("; with %c reversed, each of its coils traced the other way round, they would be",
                           "UVW"[phase]);
  }
  return absl::StrCat("the phases are not alike and 120 electrical degrees apart: ", PhasesInWords(layout, field),
                      hint);
}

absl::StatusOr<ConnectionList> Connect(const Placement& placement, const Layout& layout, PhaseEnds ends, int circuits) {
  const absl::StatusOr<Symmetry> symmetry = CheckSymmetry(placement.pattern);
  if (!symmetry.ok()) return symmetry.status();
  if (absl::Status permit = Permit(symmetry->permitted_circuits, circuits); !permit.ok()) return permit;
  return ListOf(layout, ends, circuits);
}

absl::StatusOr<ConnectionList> ConnectTraced(const Layout& layout, PhaseEnds ends, int circuits) {
  if (absl::Status permit = Permit(CheckTraced(layout).permitted_circuits, circuits); !permit.ok()) return permit;
  return ListOf(layout, ends, circuits);
}

Symmetry CheckTraced(const Layout& layout) {
  Symmetry symmetry;
  const int divisor = std::gcd(layout.slots, 3 * layout.poles);
  symmetry.slots_per_pole_phase_num = layout.slots / divisor;
  symmetry.slots_per_pole_phase_den = 3 * layout.poles / divisor;
  symmetry.cogging_periods_per_rev = std::lcm(layout.slots, layout.poles);
  symmetry.rules = {rules::winding_star_of_slots, rules::winding_parallel_circuits, rules::winding_cogging_periods};
  const int coils = static_cast<int>(layout.coils.size()) / kPhases;
  for (int circuits = 1; circuits <= coils; ++circuits) {
    if (coils % circuits == 0 && MakesEqualCircuits(layout, circuits)) symmetry.permitted_circuits.push_back(circuits);
  }
  symmetry.balanced = !symmetry.permitted_circuits.empty() && symmetry.permitted_circuits.front() == 1;
  if (symmetry.balanced) {
    symmetry.greatest_circuits = symmetry.permitted_circuits.back();
  } else {
    symmetry.permitted_circuits.clear();
    const Field field = FieldOf(layout);
    const std::string uneven = WhyUneven(layout, field);
    symmetry.reason =
        absl::StrCat("as traced, ", uneven.empty() ? "the phases do not hold coils of the same spans: " : uneven,
                     uneven.empty() ? PhasesInWords(layout, field) : "");
  }
  return symmetry;
}

}  // namespace coilwright::winding
