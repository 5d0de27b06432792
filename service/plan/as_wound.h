#pragma once

#include <optional>
#include <vector>

#include "absl/status/statusor.h"
#include "plan/plan.h"

namespace coilwright::plan {

// A winding as it is recorded, or as a change makes it, without the wires: what is drawn of it.
struct AsWound {
  Record record;  // its core, slot and coils; turns are those of `turns`
  PatternSummary pattern;
  TurnsPlan turns;
};
// Errors as MakePlan, but that the power of a change is not held against the iron.
absl::StatusOr<AsWound> WindingAsWound(const Record& record, const Change& change);

// What lies in the slot that holds most.
struct SlotContent {
  slot::Area area;
  std::vector<int> turns;  // of one or two layers, from the opening on; half each where coils differ
  std::vector<RecordedStrand> strands;
  std::vector<slot::Bundle> bundle;  // the same
  slot::Fill fill;
};
// `strands` in the slot of `wound`. INVALID_ARGUMENT (field "record.machine.slot.shape") where its shape was not
// recorded, and for dimensions that cannot be.
absl::StatusOr<SlotContent> ContentOfSlot(const AsWound& wound, const std::vector<RecordedStrand>& strands);

}  // namespace coilwright::plan
