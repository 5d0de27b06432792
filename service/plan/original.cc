#include "plan/contract_paths.h"
#include "plan/steps.h"

namespace coilwright::plan {

Frame FrameOf(const Record& record, const Original& original, const Settings& settings) {
  Frame frame;
  frame.record = &record;
  frame.pattern = &original.pattern;
  frame.turns = &original.turns;
  frame.mean_turn = &original.mean_turn;
  frame.settings = &settings;
  frame.slot_area = original.slot_area;
  frame.bench_celsius = settings.bench_celsius.value_or(record.air_celsius.value_or(20.0));
  if (original.as_recorded.fill) frame.original_fullness_ratio = original.as_recorded.fill->fill.fullness_ratio;
  return frame;
}

absl::StatusOr<std::optional<slot::Area>> SlotAreaOf(const Record& record) {
  if (!record.core.shape) return std::nullopt;
  absl::StatusOr<slot::Area> area = slot::NetArea(*record.core.shape, record.core.insulation);
  if (!area.ok()) {
    return InContract(area.status(), "record.machine.slot.shape",
                      {{"opening_mm", "record.machine.slot.opening_width"},
                       {"opening_depth_mm", "record.machine.slot.opening_depth"},
                       {"liner_mm", "record.machine.slot.liner_thickness"},
                       {"separator_mm", "record.machine.slot.separator_thickness"},
                       {"wedge_mm", "record.machine.slot.wedge_height"},
                       {"bore_mm", "record.machine.core.bore_diameter"},
                       {"tooth_width_mm", "record.machine.core.tooth_width"}});
  }
  return *std::move(area);
}

absl::StatusOr<PatternSummary> SummariseRecorded(const Record& record) {
  absl::StatusOr<PatternSummary> pattern = SummarisePattern(record);
  if (pattern.ok()) return pattern;
  return InContract(pattern.status(), "record.winding",
                    {{"slots", "record.machine.core.slots"},
                     {"poles", "record.machine.nameplate.poles"},
                     {"coil_pitch", "record.winding.coil_pitch_slots"},
                     {"form", "record.winding.coil_form"}});
}

absl::StatusOr<Original> DescribeOriginal(const Record& record, const Settings& settings) {
  Original original;
  absl::StatusOr<PatternSummary> pattern = SummariseRecorded(record);
  if (!pattern.ok()) return pattern.status();
  original.pattern = *std::move(pattern);
  absl::StatusOr<electric::MeanTurn> mean_turn = MeanTurnOf(record, original.pattern);
  if (!mean_turn.ok()) {
    return InContract(mean_turn.status(), "record.machine.core",
                      {{"metres", "record.winding.mean_turn"},
                       {"bore_mm", "record.machine.core.bore_diameter"},
                       {"core_length_mm", "record.machine.core.stack_length"},
                       {"slot_depth_mm", "record.machine.slot.depth"},
                       {"tooth_width_mm", "record.machine.core.tooth_width"},
                       {"mean_pitch", "record.winding.coil_pitch_slots"},
                       {"head_extension_mm", "record.machine.coil_heads"}});
  }
  original.mean_turn = *std::move(mean_turn);
  absl::StatusOr<TurnsPlan> turns = PlanTurns(record, original.pattern, Change{});
  if (!turns.ok()) return turns.status();
  original.turns = *std::move(turns);
  absl::StatusOr<std::optional<slot::Area>> slot_area = SlotAreaOf(record);
  if (!slot_area.ok()) return slot_area.status();
  original.slot_area = *std::move(slot_area);
  absl::StatusOr<Option> as_recorded = DescribeOption(FrameOf(record, original, settings), record.winding.strands,
                                                      StrandArea(record.winding.strands).nominal);
  if (!as_recorded.ok()) return InContract(as_recorded.status(), "record.winding");
  original.as_recorded = *std::move(as_recorded);
  original.constants =
      ConstantsOf(record, original.turns, original.turns, original.as_recorded.resistance.front().line_to_line_ohms);
  absl::StatusOr<Loading> loading =
      LoadingOf(record, original.turns, original.turns, original.as_recorded.current_density_a_per_mm2);
  if (!loading.ok()) return InContract(loading.status(), "record.machine");
  original.loading = *std::move(loading);
  return original;
}

}  // namespace coilwright::plan
