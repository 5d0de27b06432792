#include <algorithm>
#include <cmath>
#include <map>

#include "plan/steps.h"
#include "winding/group_factor.h"

namespace coilwright::plan {
namespace {

// How much a turn of this span counts: its pitch factor, where the coils of a group lie on one axis.
double WeightOf(const Record& record, int span_slots) {
  if (record.winding.form != winding::CoilForm::kConcentric) return 1.0;
  return std::abs(winding::PitchFactor(record.core.slots, record.plate.poles, span_slots));
}

}  // namespace

bool GroupsSetTheFactor(const Record& record) {
  return record.winding.form == winding::CoilForm::kConcentric && !record.winding.groups.empty() &&
         record.core.slots % (3 * record.plate.poles) == 0;
}

absl::StatusOr<double> WindingFactorOf(const Record& record, const winding::Pattern& pattern,
                                       const std::vector<CoilGroup>& groups) {
  if (!GroupsSetTheFactor(record)) return winding::WindingFactor(pattern);
  std::vector<winding::SpanTurns> coils;
  for (const CoilGroup& group : groups) {
    for (const GroupCoil& coil : group.coils) {
      coils.push_back({static_cast<double>(coil.span_slots), static_cast<double>(coil.turns) * group.count});
    }
  }
  return winding::ConcentricGroupFactor(record.core.slots, record.plate.poles, coils);
}

// Each coil to the nearest whole turn, then one turn more or less where that brings the turns of the group, weighted by
// their pitch, nearer to what was asked; no coil moves by a whole turn from its exact value.
std::vector<CoilGroup> ScaledGroups(const Record& record, double factor) {
  std::vector<CoilGroup> scaled = record.winding.groups;
  for (CoilGroup& group : scaled) {
    std::vector<double> exact, weight;
    double error = 0;
    for (GroupCoil& coil : group.coils) {
      exact.push_back(coil.turns * factor);
      weight.push_back(WeightOf(record, coil.span_slots));
      coil.turns = std::max(1, static_cast<int>(std::lround(exact.back())));
      error += weight.back() * (coil.turns - exact.back());
    }
    while (true) {
      size_t best = group.coils.size();
      double least = std::abs(error) - 1e-9;
      const int step = error > 0 ? -1 : 1;
      for (size_t i = 0; i < group.coils.size(); ++i) {
        const int turns = group.coils[i].turns + step;
        const double left = std::abs(error + step * weight[i]);
        if (turns < 1 || std::abs(turns - exact[i]) >= 1 || left >= least) continue;
        best = i;
        least = left;
      }
      if (best == group.coils.size()) break;
      group.coils[best].turns += step;
      error += step * weight[best];
    }
  }
  return scaled;
}

double TurnsInFullestSlot(const Record& record, const winding::Pattern& pattern, const std::vector<CoilGroup>& groups,
                          double turns_per_coil) {
  const double sides = record.winding.layers == winding::Layers::kDouble ? 2.0 : 1.0;
  if (groups.empty()) return sides * turns_per_coil;
  std::map<int, int> turns_of_span;
  int greatest = 0;
  bool one_each = groups.size() == 1;
  for (const CoilGroup& group : groups) {
    for (const GroupCoil& coil : group.coils) {
      greatest = std::max(greatest, coil.turns);
      one_each = turns_of_span.emplace(coil.span_slots, coil.turns).second && one_each;
    }
  }
  const absl::StatusOr<std::vector<winding::Coil>> coils = winding::Coils(pattern);
  if (!one_each || !coils.ok()) return sides * greatest;
  std::vector<int> in_slot(static_cast<size_t>(pattern.slots));
  for (const winding::Coil& coil : *coils) {
    const int span = (coil.return_slot - coil.go_slot + pattern.slots) % pattern.slots;
    const auto found = turns_of_span.find(span);
    if (found == turns_of_span.end()) return sides * greatest;
    in_slot[static_cast<size_t>(coil.go_slot - 1)] += found->second;
    in_slot[static_cast<size_t>(coil.return_slot - 1)] += found->second;
  }
  return *std::max_element(in_slot.begin(), in_slot.end());
}

}  // namespace coilwright::plan
