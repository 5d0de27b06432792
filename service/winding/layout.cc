#include "winding/layout.h"

#include <algorithm>
#include <set>
#include <string>

#include "absl/strings/str_cat.h"
#include "standards/range_check.h"
#include "winding/arrangement.h"

namespace coilwright::winding {
namespace {

void SortByStart(std::vector<Coil>* coils) {
  std::stable_sort(coils->begin(), coils->end(), [](const Coil& a, const Coil& b) { return a.go_slot < b.go_slot; });
}

// The nearest value below and above `from` in low..high, by `step`, that `balances`.
template <typename Predicate>
std::vector<int> Nearest(int from, int low, int high, int step, Predicate balances) {
  std::vector<int> found;
  for (const int way : {-step, step}) {
    int value = from + way;
    while (value >= low && value <= high && !balances(value)) value += way;
    if (value >= low && value <= high) found.push_back(value);
  }
  return found;
}

}  // namespace

absl::StatusOr<Layout> LaidOut(const Placement& placement) {
  const int slots = placement.pattern.slots;
  absl::StatusOr<std::vector<Coil>> coils = Coils(placement.pattern);
  standards::RangeCheck check;
  const bool pattern_known = coils.ok() || coils.status().code() == absl::StatusCode::kFailedPrecondition;
  if (pattern_known && !check.Within("first_slot", placement.first_slot, 1, slots, "")) return check.status();
  if (!coils.ok()) return coils.status();
  Layout layout = {slots, placement.pattern.poles, placement.connection_end, *std::move(coils)};
  const auto moved = [&](int slot) { return (slot + placement.first_slot - 2) % slots + 1; };
  for (Coil& coil : layout.coils) {
    coil.go_slot = moved(coil.go_slot);
    coil.return_slot = moved(coil.return_slot);
    if (placement.phase_order == PhaseOrder::kAgainstSlots && coil.phase != 0) coil.phase = 3 - coil.phase;
  }
  SortByStart(&layout.coils);
  return layout;
}

absl::StatusOr<Layout> Traced(int slots, int poles, MachineEnd connection_end, std::vector<Coil> coils) {
  if (absl::Status ranges = CheckPattern({slots, poles, 1, Layers::kDouble, CoilForm::kLap}); !ranges.ok())
    return ranges;
  standards::RangeCheck check;
  if (static_cast<int>(coils.size()) > slots) {
    check.Refuse("coils", absl::StrCat(coils.size(), " coils"), absl::StrCat("at most ", slots, ", one for each slot"));
    return check.status();
  }
  std::vector<int> sides(static_cast<size_t>(slots) + 1);
  std::array<bool, 3> has_coil{};
  for (size_t i = 0; i < coils.size(); ++i) {
    const std::string field = absl::StrCat("coils[", i, "]");
    const Coil& coil = coils[i];
    const bool goes_inside = check.Within(absl::StrCat(field, ".go_slot"), coil.go_slot, 1, slots, "");
    const bool returns_inside = check.Within(absl::StrCat(field, ".return_slot"), coil.return_slot, 1, slots, "");
    if (check.Within(absl::StrCat(field, ".phase"), coil.phase, 0, 2, ""))
      has_coil[static_cast<size_t>(coil.phase)] = true;
    if (!goes_inside || !returns_inside) continue;
    if (coil.go_slot == coil.return_slot) {
      check.Refuse(absl::StrCat(field, ".return_slot"), absl::StrCat("slot ", coil.return_slot),
                   "another slot than the one the coil goes out in");
    }
    for (const int slot : {coil.go_slot, coil.return_slot}) {
      if (++sides[static_cast<size_t>(slot)] == 3) {
        check.Refuse(field, absl::StrCat("a third coil side in slot ", slot), "at most two coil sides in a slot");
      }
    }
  }
  if (check.ok() && (!has_coil[0] || !has_coil[1] || !has_coil[2])) {
    check.Refuse("coils", "a phase without a coil", "coils of U, V and W");
  }
  if (!check.ok()) return check.status();
  SortByStart(&coils);
  return Layout{slots, poles, connection_end, std::move(coils)};
}

Layout TurnedShortWay(Layout layout) {
  std::vector<bool> starts_half_turn(static_cast<size_t>(layout.slots) + 1);
  for (Coil& coil : layout.coils) {
    const int twice_span = 2 * ((coil.return_slot - coil.go_slot + layout.slots) % layout.slots);
    const bool half = twice_span == layout.slots;
    if (twice_span > layout.slots || (half && starts_half_turn[static_cast<size_t>(coil.go_slot)])) {
      std::swap(coil.go_slot, coil.return_slot);
      coil.sign = -coil.sign;
    }
    if (half) starts_half_turn[static_cast<size_t>(coil.go_slot)] = true;
  }
  SortByStart(&layout.coils);
  return layout;
}

std::vector<Group> Groups(const Layout& layout) {
  const int count = static_cast<int>(layout.coils.size());
  const auto alike = [&](int a, int b) {
    const Coil& one = layout.coils[static_cast<size_t>(a)];
    const Coil& other = layout.coils[static_cast<size_t>(b)];
    return one.phase == other.phase && one.sign == other.sign;
  };
  // A group may lie across slot 1: it begins at the coil that differs from the one before.
  int first = 0;
  while (first > 1 - count && alike((first + count) % count, (first + count - 1) % count)) --first;
  std::vector<Group> groups;
  for (int i = first; i < first + count; ++i) {
    const int index = (i + count) % count;
    const Coil& coil = layout.coils[static_cast<size_t>(index)];
    if (i == first || !alike(index, (index + count - 1) % count)) groups.push_back({coil.phase, coil.sign, {}});
    groups.back().coils.push_back(index);
  }
  return groups;
}

std::vector<std::vector<SlotSide>> SlotSides(const Layout& layout) {
  std::vector<std::vector<SlotSide>> slots(static_cast<size_t>(layout.slots));
  for (const bool go : {true, false}) {
    for (size_t i = 0; i < layout.coils.size(); ++i) {
      const Coil& coil = layout.coils[i];
      slots[static_cast<size_t>((go ? coil.go_slot : coil.return_slot) - 1)].push_back(
          {static_cast<int>(i), go, coil.phase, go ? coil.sign : -coil.sign});
    }
  }
  return slots;
}

SlotCurrents CurrentsOf(const Layout& layout) {
  SlotCurrents currents(static_cast<size_t>(layout.slots), {0, 0, 0});
  for (const Coil& coil : layout.coils) {
    currents[static_cast<size_t>(coil.go_slot - 1)][static_cast<size_t>(coil.phase)] += coil.sign;
    currents[static_cast<size_t>(coil.return_slot - 1)][static_cast<size_t>(coil.phase)] -= coil.sign;
  }
  return currents;
}

Neighbours BalancedNeighbours(const Pattern& pattern) {
  Neighbours near;
  const auto with_poles = [&](int poles) {
    Pattern other = pattern;
    other.poles = poles;
    return SlotsBalance(pattern.slots, other);
  };
  std::string why_not;
  const auto with_pitch = [&](int pitch) {
    Pattern other = pattern;
    other.coil_pitch = pitch;
    return ArrangementOf(other, &why_not).has_value();
  };
  near.slots = Nearest(pattern.slots, 3, 720, 1, [&](int slots) { return SlotsBalance(slots, pattern); });
  near.poles = Nearest(pattern.poles, 2, 120, 2, with_poles);
  if (pattern.form != CoilForm::kToothCoil) {
    near.pitches = Nearest(pattern.coil_pitch, 1, pattern.slots - 1, 1, with_pitch);
  }
  return near;
}

}  // namespace coilwright::winding
