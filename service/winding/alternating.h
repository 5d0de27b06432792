#pragma once

#include <optional>
#include <vector>

#include "absl/status/statusor.h"
#include "winding/winding.h"

namespace coilwright::winding {

// Indices into `coils`, gathered in pole-phase groups: coils of one phase that follow each other round the bore.
std::vector<std::vector<int>> CoilGroups(const std::vector<Coil>& coils);

// Turns that differ by one within every group and are the same in every group.
struct AlternatingTurns {
  std::vector<int> turns_by_place;  // in the order the coils of a group lie
  std::vector<int> span_by_place;   // slots
  int groups = 0;                   // of all phases
  double mean_turns = 0;
  double winding_factor = 0;
  double axis_shift_electrical_degrees = 0;  // of every phase, against equal turns, towards rising slot numbers
  int turns_in_fullest_slot = 0;
};

// The alternation whose turns times winding factor come nearest to `exact_turns` times the factor of equal turns, or
// nothing where none comes nearer than whole turns or the symmetry does not allow any: every group must have the same
// number of coils, at least two; every phase and every circuit the same emf. The places with one turn more lie
// outermost first, in pairs; a single place makes the group lopsided and moves the axis, which `keep_axis` refuses.
// Exact turns 1 to 10000. Errors as Coils. Rule plan.alternating_turns.
absl::StatusOr<std::optional<AlternatingTurns>> Alternate(const Pattern& pattern, int circuits, double exact_turns,
                                                          bool keep_axis);

}  // namespace coilwright::winding
