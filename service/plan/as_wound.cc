#include "plan/as_wound.h"

#include <cmath>

#include "plan/contract_paths.h"
#include "plan/steps.h"
#include "standards/errors.h"

namespace coilwright::plan {

absl::StatusOr<AsWound> WindingAsWound(const Record& record, const Change& change) {
  if (std::vector<standards::FieldError> errors = Contradictions(record); !errors.empty()) {
    return standards::UnderField("record", standards::InvalidFields(errors));
  }
  const absl::StatusOr<PatternSummary> pattern = SummariseRecorded(record);
  if (!pattern.ok()) return pattern.status();
  absl::StatusOr<Redesign> redesign = RedesignOf(record, *pattern, change);
  if (!redesign.ok()) return redesign.status();
  absl::StatusOr<TurnsPlan> turns = PlanTurns(record, *pattern, *redesign, change);
  if (!turns.ok()) return turns.status();
  return AsWound{std::move(redesign->record), std::move(redesign->pattern), *std::move(turns)};
}

absl::StatusOr<SlotContent> ContentOfSlot(const AsWound& wound, const std::vector<RecordedStrand>& strands) {
  const absl::StatusOr<std::optional<slot::Area>> area = SlotAreaOf(wound.record);
  if (!area.ok()) return area.status();
  if (!*area) {
    return standards::InvalidField("record.machine.slot.shape", "nothing",
                                   "the shape of the slot, or its measured area");
  }
  SlotContent content{**area, {}, strands, BundleOf(strands), {}};
  const int turns = static_cast<int>(std::lround(wound.turns.turns_in_fullest_slot));
  if (wound.record.winding.layers == winding::Layers::kDouble) {
    content.turns = {turns - turns / 2, turns / 2};
  } else {
    content.turns = {turns};
  }
  absl::StatusOr<slot::Fill> fill = slot::SlotFill(content.area, content.bundle, wound.turns.turns_in_fullest_slot);
  if (!fill.ok()) return fill.status();
  content.fill = *std::move(fill);
  return content;
}

}  // namespace coilwright::plan
