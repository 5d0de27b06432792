#include "winding/alternating.h"

#include <algorithm>
#include <cmath>
#include <complex>

#include "standards/units.h"

namespace coilwright::winding {
namespace {

using Phasor = std::complex<double>;

constexpr double kSame = 1e-9;

// Emf of a coil of one turn, 1 at full pitch.
Phasor EmfOf(const Pattern& pattern, const Coil& coil) {
  const double step = standards::kPi * pattern.poles / pattern.slots;
  const auto side = [&](int slot) { return std::polar(1.0, step * (slot - 1)); };
  return (side(coil.go_slot) - side(coil.return_slot)) * static_cast<double>(coil.sign) / Phasor(0, -2);
}

// One turn more in `extra` of `places`: pairs from the outside, then the middle, or one side where there is none.
std::vector<int> Turns(int places, int extra, int whole) {
  std::vector<int> turns(static_cast<size_t>(places), whole);
  for (int pair = 0; pair < extra / 2; ++pair) {
    ++turns[static_cast<size_t>(pair)];
    ++turns[static_cast<size_t>(places - 1 - pair)];
  }
  if (extra % 2 != 0) ++turns[static_cast<size_t>(places % 2 != 0 ? places / 2 : extra / 2)];
  return turns;
}

// Emf of every group with these turns.
std::vector<Phasor> GroupEmfs(const std::vector<std::vector<int>>& groups, const std::vector<Phasor>& coil_emfs,
                              const std::vector<int>& turns) {
  std::vector<Phasor> emfs;
  for (const std::vector<int>& group : groups) {
    Phasor sum = 0;
    for (size_t place = 0; place < group.size(); ++place) {
      sum += coil_emfs[static_cast<size_t>(group[place])] * static_cast<double>(turns[place]);
    }
    emfs.push_back(sum);
  }
  return emfs;
}

int FullestSlot(const Pattern& pattern, const std::vector<Coil>& coils, const std::vector<std::vector<int>>& groups,
                const std::vector<int>& turns) {
  std::vector<int> in_slot(static_cast<size_t>(pattern.slots));
  for (const std::vector<int>& group : groups) {
    for (size_t place = 0; place < group.size(); ++place) {
      const Coil& coil = coils[static_cast<size_t>(group[place])];
      in_slot[static_cast<size_t>(coil.go_slot - 1)] += turns[place];
      in_slot[static_cast<size_t>(coil.return_slot - 1)] += turns[place];
    }
  }
  return *std::max_element(in_slot.begin(), in_slot.end());
}

}  // namespace

std::vector<std::vector<int>> CoilGroups(const std::vector<Coil>& coils) {
  std::vector<std::vector<int>> groups;
  for (size_t i = 0; i < coils.size(); ++i) {
    if (i == 0 || coils[i].phase != coils[i - 1].phase) groups.emplace_back();
    groups.back().push_back(static_cast<int>(i));
  }
  if (groups.size() > 1 && coils.front().phase == coils.back().phase) {
    groups.back().insert(groups.back().end(), groups.front().begin(), groups.front().end());
    groups.erase(groups.begin());
  }
  return groups;
}

absl::StatusOr<std::optional<AlternatingTurns>> Alternate(const Pattern& pattern, int circuits, double exact_turns,
                                                          bool keep_axis) {
  const absl::StatusOr<std::vector<Coil>> coils = Coils(pattern);
  if (!coils.ok()) return coils.status();
  const std::vector<std::vector<int>> groups = CoilGroups(*coils);
  const size_t places = groups.front().size();
  const auto as_long = [&](const std::vector<int>& group) { return group.size() == places; };
  const int per_phase = static_cast<int>(groups.size()) / 3;
  if (places < 2 || per_phase % circuits != 0 || !std::all_of(groups.begin(), groups.end(), as_long)) {
    return std::nullopt;
  }
  std::vector<Phasor> coil_emfs;
  for (const Coil& coil : *coils) coil_emfs.push_back(EmfOf(pattern, coil));

  // Every group of a phase in step with every other, and the phases 120 degrees apart, so that circuits of whole groups
  // are equal whichever groups they take.
  const auto phase_emf = [&](const std::vector<Phasor>& emfs) -> std::optional<Phasor> {
    Phasor first[3] = {0, 0, 0};
    for (size_t g = 0; g < groups.size(); ++g) {
      Phasor& of_phase = first[(*coils)[static_cast<size_t>(groups[g].front())].phase];
      if (of_phase == Phasor(0)) of_phase = emfs[g];
      if (std::abs(of_phase - emfs[g]) > kSame * std::abs(emfs[g])) return std::nullopt;
    }
    const Phasor turned = first[1] * std::polar(1.0, 2 * standards::kPi / 3);
    const Phasor back = first[1] * std::polar(1.0, -2 * standards::kPi / 3);
    const double slack = kSame * std::abs(first[0]);
    if (std::abs(turned - first[0]) > slack && std::abs(back - first[0]) > slack) return std::nullopt;
    return first[0];
  };
  const std::optional<Phasor> equal = phase_emf(GroupEmfs(groups, coil_emfs, std::vector<int>(places, 1)));
  if (!equal) return std::nullopt;
  const double wanted = exact_turns * std::abs(*equal);
  const double whole_turns = std::max(1.0, std::round(exact_turns));
  double least = std::abs(whole_turns * std::abs(*equal) - wanted) - kSame * wanted;

  std::optional<AlternatingTurns> best;
  const int whole = std::max(1, static_cast<int>(std::floor(exact_turns)));
  for (size_t extra = 1; extra < places; ++extra) {
    const std::vector<int> turns = Turns(static_cast<int>(places), static_cast<int>(extra), whole);
    const std::optional<Phasor> emf = phase_emf(GroupEmfs(groups, coil_emfs, turns));
    if (!emf) continue;
    const double error = std::abs(std::abs(*emf) - wanted);
    double shift = std::arg(*emf / *equal) * 180 / standards::kPi;
    if (std::abs(shift) < 1e-6) shift = 0;
    if (error >= least || (keep_axis && shift != 0)) continue;
    least = error;
    best = AlternatingTurns{};
    best->turns_by_place = turns;
    best->mean_turns = whole + static_cast<double>(extra) / static_cast<double>(places);
    best->winding_factor = std::abs(*emf) / (best->mean_turns * static_cast<double>(places));
    best->axis_shift_electrical_degrees = shift;
  }
  if (!best) return std::nullopt;
  best->groups = static_cast<int>(groups.size());
  for (const int i : groups.front()) {
    const Coil& coil = (*coils)[static_cast<size_t>(i)];
    best->span_by_place.push_back((coil.return_slot - coil.go_slot + pattern.slots) % pattern.slots);
  }
  best->turns_in_fullest_slot = FullestSlot(pattern, *coils, groups, best->turns_by_place);
  return best;
}

}  // namespace coilwright::winding
