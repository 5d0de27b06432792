#pragma once

#include <optional>
#include <string>

#include "winding/winding.h"

namespace coilwright::winding {

// Which slots start a coil. Slots are counted from 0 in here.
enum class Starts {
  kEverySlot,        // double layer
  kEverySecondSlot,  // single layer, equal coils of odd pitch
  kWholeBelts,       // single layer, every second belt of q slots goes, the next returns: pole-pair groups of q coils
  kCrossedChain,  // single layer, odd q: (q+1)/2 long coils go from each belt to the next, (q-1)/2 short ones on from
                  // there
  kBlocks,        // single layer, each belt cut in blocks that return and go in turn: groups of q/2 coils
};

struct Arrangement {
  Starts starts = Starts::kEverySlot;
  int block_slots = 0;           // kBlocks: slots of one block
  bool goes_first = false;       // kBlocks: coils longer than a pole pitch start in the first block of a belt
  int slots_per_pole_phase = 0;  // whole q where the arrangement needs one
};

// The 60-degree belt, 0..5 for +A -C +B -A +C -B, of a coil that starts in `slot`.
int BeltOf(const Pattern& pattern, int slot);

// INVALID_ARGUMENT for fields outside the ranges Pattern names and for forms that contradict layers or pitch.
absl::Status CheckPattern(const Pattern& pattern);

// Whether three phases can be laid 120 degrees apart in this many slots, whatever the coil pitch.
bool SlotsBalance(int slots, const Pattern& pattern);

// How the coils lie, or nothing with the winder's reason in `why_not`.
std::optional<Arrangement> ArrangementOf(const Pattern& pattern, std::string* why_not);

}  // namespace coilwright::winding
