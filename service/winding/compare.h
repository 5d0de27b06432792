#pragma once

#include <array>
#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "winding/connection.h"
#include "winding/layout.h"

namespace coilwright::winding {

// What turns the first layout into the second, in this order: mirrored (slot k to slot 2 - k, so that a coil still
// magnetises towards the rotor at its centre), turned by whole slots, phases renamed, phases reversed.
struct Transform {
  bool mirrored = false;
  int slots = 0;                            // turned clockwise seen from the first layout's connection end, 0..slots-1
  std::array<int, 3> phase_of = {0, 1, 2};  // phase of the second that the first's U, V, W become
  std::array<int, 3> signs = {1, 1, 1};     // of the first's U, V, W: -1 reversed
};

struct Comparison {
  // Every slot carries the same currents up to the transform and the number of turns: same emf, field and torque.
  bool electrically_equivalent = false;
  // The drive sees no difference: neither mirrored nor renamed, the axis of every phase and so the order and sense
  // where they were.
  bool drop_in = false;
  // The coils themselves fall on each other: same spans, so same mean turn, resistance and reach of the ends. Chain and
  // concentric windings of one layer are equivalent without it.
  bool same_coils = false;
  // Turns per coil of the second that equal one turn of the first; between star and delta with their square root of 3.
  double turns_ratio = 0;
  Transform transform;  // of those that hold the one nearest to no change; meaningful where equivalent
  // Axis of each lead of the second less that of the first, both as they are connected, electrical degrees in
  // -180..180, clockwise seen from the first layout's connection end.
  std::array<double, 3> axis_shift_electrical_degrees{};
  bool axes_known = false;               // false where slots or poles differ or a layout carries no net current
  bool same_sense = false;               // of rotation for U-V-W, seen from the shaft end
  std::vector<std::string> differences;  // why not equivalent or not drop-in, in words
  std::vector<absl::string_view> rules;
};

// Compares as the machine stands: where the connection ends differ, the second is looked at from the first's. Rule
// winding.same_layout. Time grows with the square of slots only where layouts nearly match. Different slots or poles
// are not equivalent. The axes are those of the leads: in delta they lie 30 electrical degrees from those of the
// phases, so that a star and a delta of the same coils are no drop-in. Open ends count as star. A layout whose phases
// do not balance is named in `differences`.
Comparison CompareLayouts(const Layout& first, const Layout& second, PhaseEnds first_ends = PhaseEnds::kStar,
                          PhaseEnds second_ends = PhaseEnds::kStar);

// The layout as it is numbered from the other end of the machine.
Layout FromOtherEnd(const Layout& layout);

}  // namespace coilwright::winding
