#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "plan/steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

// Sum over all coils of the machine of some figure of one coil.
template <typename Figure>
double OverCoils(const std::vector<CoilGroup>& groups, Figure figure) {
  double sum = 0;
  for (const CoilGroup& group : groups) {
    for (const GroupCoil& coil : group.coils) sum += group.count * figure(coil);
  }
  return sum;
}

// The throws of the first group, outer coil first; nested coils of a concentric group start one slot further in each
// time.
std::string ThrowsOf(const Record& record) {
  const RecordedWinding& w = record.winding;
  if (w.groups.empty()) return absl::StrCat("1-", *w.coil_pitch + 1);
  std::vector<int> spans;
  for (const GroupCoil& coil : w.groups.front().coils) spans.push_back(coil.span_slots);
  std::sort(spans.rbegin(), spans.rend());
  if (w.form != winding::CoilForm::kConcentric) {
    spans.erase(std::unique(spans.begin(), spans.end()), spans.end());
  }
  std::vector<std::string> throws;
  for (const int span : spans) {
    const int start = w.form == winding::CoilForm::kConcentric ? 1 + (spans.front() - span) / 2 : 1;
    throws.push_back(absl::StrCat(start, "-", start + span));
  }
  return absl::StrJoin(throws, ", ");
}

// Not every coil of a crossed chain spans its pitch.
void SpansOfTheChain(PatternSummary& summary) {
  const absl::StatusOr<std::vector<winding::Coil>> coils = winding::Coils(summary.pattern);
  if (!coils.ok()) return;
  const int slots = summary.pattern.slots;
  double sum = 0;
  bool shorter = false;
  for (const winding::Coil& coil : *coils) {
    const int span = (coil.return_slot - coil.go_slot + slots) % slots;
    sum += span;
    shorter = shorter || span < summary.pattern.coil_pitch;
  }
  summary.mean_pitch = sum / static_cast<double>(coils->size());
  if (shorter) absl::StrAppend(&summary.throws, ", 1-", summary.pattern.coil_pitch);
}

}  // namespace

absl::StatusOr<PatternSummary> SummarisePattern(const Record& record) {
  const RecordedWinding& w = record.winding;
  PatternSummary summary;
  summary.throws = ThrowsOf(record);
  summary.coils = w.layers == winding::Layers::kDouble ? record.core.slots : record.core.slots / 2;
  if (w.groups.empty()) {
    summary.mean_pitch = *w.coil_pitch;
    summary.mean_turns_per_coil = *w.turns_per_coil;
    summary.greatest_turns_per_coil = *w.turns_per_coil;
  } else {
    summary.mean_pitch = OverCoils(w.groups, [](const GroupCoil& c) { return c.span_slots; }) / summary.coils;
    summary.mean_turns_per_coil = OverCoils(w.groups, [](const GroupCoil& c) { return c.turns; }) / summary.coils;
    for (const CoilGroup& group : w.groups) {
      for (const GroupCoil& coil : group.coils) {
        summary.greatest_turns_per_coil = std::max(summary.greatest_turns_per_coil, coil.turns);
      }
    }
  }
  summary.pattern = {record.core.slots, record.plate.poles, static_cast<int>(std::lround(summary.mean_pitch)), w.layers,
                     w.form};
  absl::StatusOr<winding::Symmetry> symmetry = winding::CheckSymmetry(summary.pattern);
  if (!symmetry.ok()) return symmetry.status();
  summary.symmetry = *std::move(symmetry);
  if (!summary.symmetry.balanced) {
    return absl::FailedPreconditionError(absl::StrCat("no balanced three-phase winding: ", summary.symmetry.reason));
  }
  if (w.groups.empty() && w.form == winding::CoilForm::kChain) SpansOfTheChain(summary);
  const absl::StatusOr<double> factor = WindingFactorOf(record, summary.pattern, w.groups);
  if (!factor.ok()) return factor.status();
  summary.winding_factor = *factor;
  summary.rules.push_back(GroupsSetTheFactor(record) ? rules::plan_concentric_group_factor : rules::winding_factor);
  summary.rules.push_back(rules::winding_parallel_circuits);
  summary.series_turns_per_phase =
      winding::SeriesTurnsPerPhase(summary.coils, summary.mean_turns_per_coil, w.parallel_circuits);
  return summary;
}

absl::StatusOr<electric::MeanTurn> MeanTurnOf(const Record& record, const PatternSummary& pattern) {
  if (record.winding.mean_turn_m) return electric::MeasuredMeanTurn(*record.winding.mean_turn_m);
  const CoreAndSlot& core = record.core;
  electric::CoilGeometry geometry;
  geometry.bore_mm = *core.bore_mm;
  geometry.core_length_mm = *core.stack_length_mm;
  geometry.slot_depth_mm = *core.slot_depth_mm;
  geometry.slots = core.slots;
  geometry.poles = record.plate.poles;
  geometry.mean_pitch = pattern.mean_pitch;
  geometry.tooth_coil = record.winding.form == winding::CoilForm::kToothCoil;
  geometry.double_layer = record.winding.layers == winding::Layers::kDouble;
  geometry.tooth_width_mm = core.tooth_width_mm;
  geometry.head_extension_mm = core.head_extension_mm;
  return electric::EstimateMeanTurn(geometry);
}

}  // namespace coilwright::plan
