#pragma once

#include <array>
#include <vector>

#include "absl/status/statusor.h"
#include "winding/winding.h"

namespace coilwright::winding {

// Which end of the machine the connections are at. Slots count clockwise seen from that end.
enum class MachineEnd { kNonDrive, kDrive };

// Whether V lies 120 electrical degrees from U in the direction of rising slot numbers, or against it.
enum class PhaseOrder { kWithSlots, kAgainstSlots };

// A pattern set into a core. Slot 1 is the slot marked against the lead exit; phase U's first coil starts in
// `first_slot`, 1..slots.
struct Placement {
  Pattern pattern;
  int first_slot = 1;
  PhaseOrder phase_order = PhaseOrder::kWithSlots;
  MachineEnd connection_end = MachineEnd::kNonDrive;
};

// Coils in a core, by start slot. Phases 0, 1, 2 are U, V, W. Positive phase current goes away from the connection end
// in the go slot of a coil of sign +1 and comes back in its return slot; sign -1 is the other way round.
struct Layout {
  int slots = 0;
  int poles = 0;
  MachineEnd connection_end = MachineEnd::kNonDrive;
  std::vector<Coil> coils;
};

// INVALID_ARGUMENT (fields of Pattern and "first_slot"), FAILED_PRECONDITION when no balanced winding exists.
absl::StatusOr<Layout> LaidOut(const Placement& placement);

// A layout traced coil by coil: as `coils` says, checked and sorted by start slot. INVALID_ARGUMENT (fields "slots",
// "poles", "coils" and "coils[i].go_slot" and so on) outside the ranges of Pattern, for more coils than slots, more
// than two coil sides in a slot, or a phase without a coil.
absl::StatusOr<Layout> Traced(int slots, int poles, MachineEnd connection_end, std::vector<Coil> coils);

// The same winding with every coil started in the slot from which it spans the shorter way towards rising slot numbers,
// so that coils traced in the direction of their current fall into groups as coils of a pattern do. Of two coils that
// span half the bore from the same slot the second starts in its other slot.
Layout TurnedShortWay(Layout layout);

// A pole-phase group: neighbouring coils of one phase and sense. A group of sign -1 is connected reversed.
struct Group {
  int phase;
  int sign;
  std::vector<int> coils;  // indices into Layout::coils, in order round the bore
};

// The groups in order round the bore; the first holds the coil with the lowest start slot.
std::vector<Group> Groups(const Layout& layout);

// Where a coil side lies. In two layers the go side of a coil lies over the return side of another ("top"); of tooth
// coils the two sides of a slot lie side by side, each against the tooth it goes round.
struct SlotSide {
  int coil;   // index into Layout::coils
  bool go;    // else the return side
  int phase;  // of the coil
  int sense;  // +1: positive phase current goes away from the connection end here
};

// One entry per slot; go sides before return sides.
std::vector<std::vector<SlotSide>> SlotSides(const Layout& layout);

// Net coil sides of positive phase current away from the connection end, by slot and phase: all that emf and field
// depend on.
using SlotCurrents = std::vector<std::array<int, 3>>;
SlotCurrents CurrentsOf(const Layout& layout);

// What balances near a pattern that does not: at most one below and one above in each list. `slots` at the same poles,
// `poles` at the same slots, both whatever the pitch; `pitches` at the same slots and poles, empty where no pitch does.
struct Neighbours {
  std::vector<int> slots;
  std::vector<int> poles;
  std::vector<int> pitches;
};
// `pattern` lies in the ranges of Pattern.
Neighbours BalancedNeighbours(const Pattern& pattern);

}  // namespace coilwright::winding
