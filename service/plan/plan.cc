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
  Collect(plan.check.rules, all);
  Collect(plan.pattern.rules, all);
  Collect(plan.pattern_planned.rules, all);
  all.push_back(plan.mean_turn_planned.rule);
  Collect(plan.mean_turn_planned.band_rules, all);
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
  for (const Finding& finding : plan.findings_planned) all.push_back(finding.rule);
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
  const absl::StatusOr<Original> original = DescribeOriginal(record, settings);
  if (!original.ok()) return original.status();
  RewindPlan plan;
  plan.pattern = original->pattern;
  plan.mean_turn = original->mean_turn;
  plan.as_recorded = original->as_recorded;
  plan.constants_as_recorded = original->constants;
  plan.loading_as_recorded = original->loading;
  plan.check = CheckOriginal(record, *original, settings);
  Frame frame = FrameOf(record, *original, settings);
  plan.findings = Glance(frame, *original, tests.resistance_unbalance_percent);

  const absl::StatusOr<Redesign> redesign = RedesignOf(record, plan.pattern, change);
  if (!redesign.ok()) return redesign.status();
  plan.pattern_planned = redesign->pattern;
  if (absl::Status power = RefusePower(record, *original, *redesign, change, settings); !power.ok()) return power;
  absl::StatusOr<TurnsPlan> turns = PlanTurns(record, plan.pattern, *redesign, change);
  if (!turns.ok()) return turns.status();
  plan.turns = *std::move(turns);
  plan.pattern_planned.winding_factor = plan.turns.winding_factor;
  absl::StatusOr<electric::MeanTurn> mean_turn = PlannedMeanTurn(record, plan.pattern, plan.mean_turn, *redesign);
  if (!mean_turn.ok()) return mean_turn.status();
  plan.mean_turn_planned = *std::move(mean_turn);
  absl::StatusOr<std::optional<slot::Area>> slot_area = SlotAreaOf(redesign->record);
  if (!slot_area.ok()) return slot_area.status();

  // The slot copper stays: fewer turns take thicker wire.
  frame.record = &redesign->record;
  frame.pattern = &plan.pattern_planned;
  frame.turns = &plan.turns;
  frame.mean_turn = &plan.mean_turn_planned;
  frame.slot_area = *std::move(slot_area);
  plan.target_area_mm2 = original->as_recorded.area_mm2 * plan.turns.original_turns_per_coil * plan.pattern.coils /
                         (plan.turns.mean_turns_per_coil * plan.pattern_planned.coils);
  absl::StatusOr<Alternatives> alternatives =
      ChooseWires(frame, WithDefaultWires(wires, record.winding.strands), plan.target_area_mm2);
  if (!alternatives.ok()) return InContract(alternatives.status(), "wires");
  plan.options = std::move(alternatives->options);
  plan.left_out = std::move(alternatives->left_out);

  std::optional<standards::Band> expected_ohms;
  std::optional<double> current_density;
  std::optional<standards::Band> accepted_ohms;
  if (wires.way > 1 && static_cast<size_t>(wires.way) > plan.options.size()) {
    return standards::InvalidField("way", absl::StrCat(wires.way),
                                   absl::StrCat("1 to ", plan.options.size(), ", the ways of this plan"));
  }
  const Option* const wound = plan.options.empty() ? nullptr : &plan.options[static_cast<size_t>(wires.way - 1)];
  if (wound != nullptr) {
    expected_ohms = wound->resistance.front().line_to_line_ohms;
    accepted_ohms = wound->resistance.front().at_terminals_ohms;
    current_density = wound->current_density_a_per_mm2;
  }
  // Without a wire the copper of the slot still tells resistance and motor constant.
  const double line_ratio =
      LineTurnsRatio(original->turns, plan.turns) * original->turns.winding_factor / plan.turns.winding_factor;
  const double ohms_ratio =
      line_ratio * line_ratio * plan.mean_turn_planned.metres.nominal / plan.mean_turn.metres.nominal;
  plan.constants_planned = ConstantsOf(
      record, original->turns, plan.turns,
      expected_ohms.value_or(electric::Scaled(ohms_ratio, plan.as_recorded.resistance.front().line_to_line_ohms)));
  absl::StatusOr<Loading> planned = LoadingOf(record, original->turns, plan.turns, current_density);
  if (!planned.ok()) return InContract(planned.status(), "change");
  plan.loading_planned = *std::move(planned);
  if (plan.turns.changed) plan.findings_planned = GlancePlanned(frame, plan, wound, change);

  plan.materials = Materials(redesign->record, plan.turns.rated_volts);
  absl::StatusOr<std::vector<testing::Programme>> programmes =
      Programmes(record, original->turns, plan.turns, tests, accepted_ohms, plan.constants_planned);
  if (!programmes.ok())
    return InContract(programmes.status(), "record",
                      {{"expected_line_to_line_ohms_high", "record.winding"}, {"expected_ke_high", "change"}});
  plan.programmes = *std::move(programmes);
  plan.cautions = Cautions(record, plan.findings, plan.findings_planned);
  if (std::optional<std::string> doubt = testing::RandomWoundDoubt(plan.turns.rated_volts)) {
    plan.cautions.push_back(*std::move(doubt));
  }
  plan.notes = Notes(record, settings, frame.bench_celsius, plan);
  CollectRules(record, plan);
  return plan;
}

}  // namespace coilwright::plan
