#include "plan/plan.h"

#include <algorithm>

#include "electric/relative.h"
#include "plan/contract_paths.h"
#include "plan/steps.h"
#include "plan/wires.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

void Collect(const std::vector<absl::string_view>& from, std::vector<absl::string_view>& into) {
  into.insert(into.end(), from.begin(), from.end());
}

// Classes decide materials and the limit of rise.
void CollectClassRules(const Record& record, std::vector<absl::string_view>& all) {
  if (!record.plate.thermal_class) return;
  all.push_back(record.plate.thermal_class->celsius > 180 ? rules::iec60085_thermal_class_letters_above_180
                                                          : rules::iec60085_thermal_class);
  if (record.plate.thermal_class->rise_kelvin) {
    all.insert(all.end(), {rules::iec60034_1_rise_resistance, rules::iec60034_1_rise_small});
  }
}

void CollectRules(const Record& record, RewindPlan& plan) {
  std::vector<absl::string_view>& all = plan.rules;
  CollectClassRules(record, all);
  if (!record.potted && record.construction != Construction::kSegmented) all.push_back(rules::ar100_burn_out);
  all.push_back(rules::plan_conductor_area);  // of the target area, also where nothing changes
  Collect(plan.pattern.rules, all);
  Collect(plan.turns.rules, all);
  Collect(plan.as_recorded.rules, all);
  Collect(plan.loading_as_recorded.rules, all);
  Collect(plan.loading_planned.rules, all);
  for (const Option& option : plan.options) {
    Collect(option.rules, all);
    for (const RecordedStrand& strand : option.strands) Collect(strand.wire.rules, all);
  }
  for (const RecordedStrand& strand : plan.as_recorded.strands) Collect(strand.wire.rules, all);
  if (plan.as_recorded.fill) Collect(plan.as_recorded.fill->area.rules, all);
  if (plan.constants_as_recorded) Collect(plan.constants_as_recorded->rules, all);
  if (plan.constants_planned) Collect(plan.constants_planned->rules, all);
  for (const Finding& finding : plan.findings) all.push_back(finding.rule);
  for (const Material& material : plan.materials) all.push_back(material.rule);
  for (const testing::Programme& programme : plan.programmes) {
    for (const testing::Step& step : programme.steps) {
      Collect(step.rules, all);
      all.push_back(step.limit.rule);
    }
  }
  std::sort(all.begin(), all.end());
  all.erase(std::unique(all.begin(), all.end()), all.end());
  all.erase(std::remove(all.begin(), all.end(), absl::string_view()), all.end());
}

}  // namespace

absl::StatusOr<RewindPlan> MakePlan(const Record& record, const Change& change, const WireChoice& wires,
                                    const TestChoice& tests, const Settings& settings) {
  if (std::vector<standards::FieldError> errors = Contradictions(record); !errors.empty()) {
    return standards::UnderField("record", standards::InvalidFields(errors));
  }
  RewindPlan plan;
  absl::StatusOr<PatternSummary> pattern = SummarisePattern(record);
  if (!pattern.ok()) {
    return InContract(pattern.status(), "record.winding",
                      {{"slots", "record.machine.core.slots"},
                       {"poles", "record.machine.nameplate.poles"},
                       {"coil_pitch", "record.winding.coil_pitch_slots"},
                       {"form", "record.winding.coil_form"}});
  }
  plan.pattern = *std::move(pattern);
  absl::StatusOr<electric::MeanTurn> mean_turn = MeanTurnOf(record, plan.pattern);
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
  plan.mean_turn = *std::move(mean_turn);

  const absl::StatusOr<TurnsPlan> original = PlanTurns(record, plan.pattern, Change{});
  if (!original.ok()) return original.status();
  absl::StatusOr<TurnsPlan> turns = PlanTurns(record, plan.pattern, change);
  if (!turns.ok()) return turns.status();
  plan.turns = *std::move(turns);

  Frame frame;
  frame.record = &record;
  frame.pattern = &plan.pattern;
  frame.mean_turn = &plan.mean_turn;
  frame.settings = &settings;
  frame.bench_celsius = settings.bench_celsius.value_or(record.air_celsius.value_or(20.0));
  if (record.core.shape) {
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
    frame.slot_area = *std::move(area);
  }

  frame.turns = &*original;
  const double original_area = StrandArea(record.winding.strands).nominal;
  absl::StatusOr<Option> as_recorded = DescribeOption(frame, record.winding.strands, original_area);
  if (!as_recorded.ok()) return InContract(as_recorded.status(), "record.winding");
  plan.as_recorded = *std::move(as_recorded);
  if (plan.as_recorded.fill) frame.original_fullness_ratio = plan.as_recorded.fill->fill.fullness_ratio;
  plan.constants_as_recorded =
      ConstantsOf(record, *original, *original, plan.as_recorded.resistance.front().line_to_line_ohms);
  absl::StatusOr<Loading> loading = LoadingOf(record, *original, *original, plan.as_recorded.current_density_a_per_mm2);
  if (!loading.ok()) return InContract(loading.status(), "record.machine");
  plan.loading_as_recorded = *std::move(loading);
  plan.findings = Glance(frame, plan.as_recorded, plan.loading_as_recorded, plan.constants_as_recorded,
                         tests.resistance_unbalance_percent);

  // The slot copper stays: fewer turns take thicker wire.
  frame.turns = &plan.turns;
  plan.target_area_mm2 = original_area * plan.turns.original_turns_per_coil / plan.turns.mean_turns_per_coil;
  absl::StatusOr<Alternatives> alternatives = ChooseWires(frame, WithDefaultWires(wires), plan.target_area_mm2);
  if (!alternatives.ok()) return InContract(alternatives.status(), "wires");
  plan.options = std::move(alternatives->options);
  plan.left_out = std::move(alternatives->left_out);

  std::optional<standards::Band> expected_ohms;
  std::optional<double> current_density;
  if (!plan.options.empty()) {
    expected_ohms = plan.options.front().resistance.front().line_to_line_ohms;
    current_density = plan.options.front().current_density_a_per_mm2;
  }
  // Without a wire the copper of the slot still tells resistance and motor constant.
  const double line_ratio = LineTurnsRatio(*original, plan.turns);
  plan.constants_planned =
      ConstantsOf(record, *original, plan.turns,
                  expected_ohms.value_or(electric::Scaled(line_ratio * line_ratio,
                                                          plan.as_recorded.resistance.front().line_to_line_ohms)));
  absl::StatusOr<Loading> planned = LoadingOf(record, *original, plan.turns, current_density);
  if (!planned.ok()) return InContract(planned.status(), "change");
  plan.loading_planned = *std::move(planned);

  plan.materials = Materials(record, plan.turns.rated_volts);
  absl::StatusOr<std::vector<testing::Programme>> programmes =
      Programmes(record, *original, plan.turns, tests, settings.lead_share, expected_ohms, plan.constants_planned);
  if (!programmes.ok())
    return InContract(programmes.status(), "record",
                      {{"expected_line_to_line_ohms_high", "record.winding"}, {"expected_ke_high", "change"}});
  plan.programmes = *std::move(programmes);
  plan.cautions = Cautions(record, plan.findings);
  plan.notes = Notes(record, settings, frame.bench_celsius, plan);
  CollectRules(record, plan);
  return plan;
}

}  // namespace coilwright::plan
