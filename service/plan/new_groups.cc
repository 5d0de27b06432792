#include <algorithm>
#include <map>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "plan/steps.h"
#include "winding/alternating.h"

namespace coilwright::plan {
namespace {

using winding::CoilForm;

// Turns of the recorded concentric groups by the number of their coils, from the inner coil out; nothing for a number
// of which there are groups with unlike turns.
std::map<size_t, std::vector<int>> TurnsBySize(const Record& record) {
  std::map<size_t, std::vector<int>> turns_of;
  if (record.winding.form != CoilForm::kConcentric) return turns_of;
  for (const CoilGroup& group : record.winding.groups) {
    std::vector<GroupCoil> coils = group.coils;
    std::stable_sort(coils.begin(), coils.end(),
                     [](const GroupCoil& a, const GroupCoil& b) { return a.span_slots < b.span_slots; });
    std::vector<int> turns;
    for (const GroupCoil& coil : coils) turns.push_back(coil.turns);
    const auto [entry, added] = turns_of.emplace(coils.size(), turns);
    if (!added && entry->second != turns) entry->second.clear();
  }
  return turns_of;
}

// Gives groups of the new coils the turns of recorded groups of as many, by which they keep their ratio; where one
// finds none, all stay equal. In words what was done.
std::string CarryTurns(const Record& record, std::vector<CoilGroup>& groups) {
  const std::map<size_t, std::vector<int>> turns_of = TurnsBySize(record);
  const auto turns_for = [&](const CoilGroup& group) -> const std::vector<int>* {
    const auto found = turns_of.find(group.coils.size());
    return found == turns_of.end() || found->second.empty() ? nullptr : &found->second;
  };
  std::vector<std::string> spans, ratios;
  bool carried = true;
  for (const CoilGroup& group : groups) {
    spans.push_back(absl::StrJoin(
        group.coils, "/", [](std::string* out, const GroupCoil& coil) { absl::StrAppend(out, coil.span_slots); }));
    const std::vector<int>* turns = turns_for(group);
    carried = carried && turns != nullptr;
    if (turns != nullptr) ratios.push_back(absl::StrJoin(*turns, "/"));
  }
  const std::string made = absl::StrCat("The new groups were not given. Taken from the inner coil out: spans ",
                                        absl::StrJoin(spans, " and "), " slots, ");
  constexpr absl::string_view kElse = " Give groups for other turns or spans.";
  if (!carried) {
    return absl::StrCat(made, "equal turns",
                        record.winding.groups.empty() ? "." : ", as no recorded groups of as many coils say a ratio.",
                        kElse);
  }
  for (CoilGroup& group : groups) {
    const std::vector<int>& turns = *turns_for(group);
    for (size_t i = 0; i < turns.size(); ++i) group.coils[i].turns = turns[i];
  }
  return absl::StrCat(made, "turns in the recorded ratio ", absl::StrJoin(ratios, " and "), ".", kElse);
}

// The coils of concentric groups as they lie, of one turn each.
absl::StatusOr<std::vector<CoilGroup>> EqualGroups(const winding::Pattern& pattern) {
  const absl::StatusOr<std::vector<winding::Coil>> coils = winding::Coils(pattern);
  if (!coils.ok()) return coils.status();
  std::vector<CoilGroup> groups;
  for (const std::vector<int>& members : winding::CoilGroups(*coils)) {
    CoilGroup group{{}, 1};
    for (const int i : members) {
      const winding::Coil& coil = (*coils)[static_cast<size_t>(i)];
      group.coils.push_back({(coil.return_slot - coil.go_slot + pattern.slots) % pattern.slots, 1});
    }
    std::reverse(group.coils.begin(), group.coils.end());  // inner to outer
    const auto same = std::find_if(groups.begin(), groups.end(), [&](const CoilGroup& other) {
      return std::equal(other.coils.begin(), other.coils.end(), group.coils.begin(), group.coils.end(),
                        [](const GroupCoil& a, const GroupCoil& b) { return a.span_slots == b.span_slots; });
    });
    if (same == groups.end()) {
      groups.push_back(std::move(group));
    } else {
      ++same->count;
    }
  }
  return groups;
}

}  // namespace

absl::StatusOr<std::vector<CoilGroup>> NewGroups(const Record& record, const winding::Pattern& pattern,
                                                 std::string* note) {
  absl::StatusOr<std::vector<CoilGroup>> groups = EqualGroups(pattern);
  if (groups.ok()) *note = CarryTurns(record, *groups);
  return groups;
}

}  // namespace coilwright::plan
