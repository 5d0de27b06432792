#include <algorithm>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "electric/copper.h"
#include "electric/magnetics.h"
#include "plan/steps.h"
#include "plan/wires.h"
#include "standards/rule_ids.h"
#include "standards/units.h"
#include "wire/strands.h"

namespace coilwright::plan {
namespace {

using standards::Band;

// What lay in the slot lies in it again, with this much room for another wire of the same area.
constexpr double kSameFullness = 0.01;

bool AllNema(const std::vector<RecordedStrand>& strands) {
  return std::all_of(strands.begin(), strands.end(),
                     [](const RecordedStrand& s) { return s.wire.system == standards::WireSystem::kAwg; });
}

absl::StatusOr<FillSummary> FillOf(const Frame& frame, const std::vector<RecordedStrand>& strands) {
  const absl::StatusOr<slot::Fill> fill =
      slot::SlotFill(*frame.slot_area, BundleOf(strands), frame.turns->turns_in_fullest_slot);
  if (!fill.ok()) return fill.status();
  slot::FillVerdict verdict = slot::Judge(*fill, frame.settings->fill_levels);
  if (verdict == slot::FillVerdict::kAct && WoundOutsideTheSlot(*frame.record) &&
      fill->fullness_ratio <= frame.original_fullness_ratio.value_or(fill->fullness_ratio) * (1 + kSameFullness)) {
    verdict = slot::FillVerdict::kWatch;
  }
  return FillSummary{*frame.slot_area, *fill, verdict};
}

// Coil copper of each size, and what to buy with leads and waste.
absl::StatusOr<std::vector<WireOrder>> Orders(const Frame& frame, const electric::WindingCopper& copper,
                                              const std::vector<RecordedStrand>& strands) {
  std::vector<electric::WireSize> sizes;
  for (const RecordedStrand& strand : strands) {
    sizes.push_back({strand.wire.bare_mm.nominal, strand.wire.overall_mm.nominal, strand.wires_in_hand});
  }
  const absl::StatusOr<std::vector<electric::WireOrder>> in_coils = electric::WireToOrder(copper, sizes, {0.0, 0.0});
  if (!in_coils.ok()) return in_coils.status();
  const absl::StatusOr<std::vector<electric::WireOrder>> to_buy =
      electric::WireToOrder(copper, sizes, {frame.settings->lead_share, frame.settings->waste_share});
  if (!to_buy.ok()) return to_buy.status();
  std::vector<WireOrder> orders;
  for (size_t i = 0; i < strands.size(); ++i) {
    const char* metal = copper.metal == standards::Metal::kAluminium ? ", aluminium" : "";
    orders.push_back({strands[i].wire.designation + metal, (*to_buy)[i].metres.nominal, (*in_coils)[i].bare_kg.nominal,
                      (*to_buy)[i].coated_kg.nominal});
  }
  return orders;
}

}  // namespace

std::vector<slot::Bundle> BundleOf(const std::vector<RecordedStrand>& strands) {
  std::vector<slot::Bundle> bundle;
  for (const RecordedStrand& strand : strands) {
    bundle.push_back({strand.wire.bare_mm.nominal, strand.wire.overall_mm.nominal, strand.wires_in_hand});
  }
  return bundle;
}

Band StrandArea(const std::vector<RecordedStrand>& strands) {
  Band area;
  for (const RecordedStrand& strand : strands) {
    area.low += strand.wires_in_hand * standards::CircleAreaMm2(strand.wire.bare_mm.low);
    area.nominal += strand.wires_in_hand * strand.wire.area_mm2;
    area.high += strand.wires_in_hand * standards::CircleAreaMm2(strand.wire.bare_mm.high);
  }
  return area;
}

bool WoundOutsideTheSlot(const Record& record) {
  return record.construction == Construction::kSegmented || record.construction == Construction::kBobbin;
}

Band AtTheTerminals(const Band& coil_ohms, double lead_share) {
  constexpr double kMostLeadOhms = 0.030;
  constexpr double kMostLeadShare = 0.10;
  const double leads = std::min(kMostLeadOhms, kMostLeadShare * coil_ohms.nominal);
  return {coil_ohms.low, coil_ohms.nominal, coil_ohms.high + lead_share * coil_ohms.nominal + leads};
}

electric::WindingCopper CopperOf(const Frame& frame, const std::vector<RecordedStrand>& strands) {
  electric::WindingCopper copper;
  copper.coils = frame.pattern->coils;
  copper.turns_per_coil = frame.turns->mean_turns_per_coil;
  copper.circuits = frame.turns->parallel_circuits;
  copper.connection = frame.turns->connection;
  copper.mean_turn_m = frame.mean_turn->metres;
  copper.strand_area_mm2 = StrandArea(strands);
  copper.metal = frame.record->winding.metal;
  copper.resistivity = AllNema(strands) ? standards::Resistivity::kNemaWire : standards::Resistivity::kIecWindingWire;
  copper.preset = frame.settings->preset;
  return copper;
}

absl::StatusOr<Option> DescribeOption(const Frame& frame, const std::vector<RecordedStrand>& strands,
                                      double target_area_mm2) {
  Option option;
  option.strands = strands;
  option.area_mm2 = StrandArea(strands).nominal;
  option.area_error_ratio = (option.area_mm2 - target_area_mm2) / target_area_mm2;
  const electric::WindingCopper copper = CopperOf(frame, strands);
  for (const double celsius : {20.0, 25.0, frame.bench_celsius}) {
    const absl::StatusOr<electric::WindingResistance> resistance = electric::PredictResistance(copper, celsius);
    // A conversion that holds near 20 C only gives no figure for another bench; the plan says so.
    if (absl::IsFailedPrecondition(resistance.status()) && celsius == frame.bench_celsius) continue;
    if (!resistance.ok()) return resistance.status();
    option.resistance.push_back({celsius, resistance->phase_ohms, resistance->line_to_line_ohms,
                                 AtTheTerminals(resistance->line_to_line_ohms, frame.settings->lead_share)});
  }
  option.bare_copper_kg = electric::CopperKg(copper);
  absl::StatusOr<std::vector<WireOrder>> orders = Orders(frame, copper, strands);
  if (!orders.ok()) return orders.status();
  option.orders = *std::move(orders);
  option.rules = {rules::electric_resistance,
                  standards::ResistivityRule(copper.resistivity, copper.metal),
                  standards::Constants(copper.preset, copper.metal).rule,
                  frame.mean_turn->rule,
                  rules::electric_copper_mass,
                  copper.metal == standards::Metal::kCopper ? rules::density_copper : rules::density_aluminium,
                  rules::electric_wire_order,
                  rules::density_film};
  option.rules.insert(option.rules.end(), frame.mean_turn->band_rules.begin(), frame.mean_turn->band_rules.end());
  if (frame.slot_area) {
    const absl::StatusOr<FillSummary> fill = FillOf(frame, strands);
    if (!fill.ok()) return fill.status();
    option.fill = *fill;
    option.rules.insert(option.rules.end(),
                        {rules::slot_fill, rules::slot_hexagonal_limit, rules::slot_fullness_levels});
  }
  if (const std::optional<double> amps = frame.turns->line_amps_rms) {
    option.current_density_a_per_mm2 = electric::CurrentDensityAPerMm2(*amps, frame.turns->connection,
                                                                       frame.turns->parallel_circuits, option.area_mm2);
    option.rules.push_back(rules::electric_current_density);
  }
  return option;
}

absl::StatusOr<Alternatives> ChooseWires(const Frame& frame, const WireChoice& choice, double target_area_mm2) {
  wire::StrandSearch search = SearchOf(choice);
  search.target_area_mm2 = target_area_mm2;
  const Record& record = *frame.record;
  const bool passes_opening = record.core.opening_mm && !WoundOutsideTheSlot(record);
  if (passes_opening) {
    search.greatest_overall_mm = slot::GreatestWireThroughOpeningMm(
        *record.core.opening_mm, record.core.insulation.liner_mm, choice.opening_clearance_mm);
  }
  if (frame.slot_area) {
    search.turns_in_slot = frame.turns->turns_in_fullest_slot;
    search.slot_net_area_mm2 = frame.slot_area->net_mm2;
    // What came out of the slot goes back in; the level of the shop still marks it.
    // Fuller than one size can lie, the record is wrong and gives no licence.
    if (frame.original_fullness_ratio && *frame.original_fullness_ratio <= wire::kHexagonalFullness) {
      search.greatest_fullness =
          std::max(search.greatest_fullness, *frame.original_fullness_ratio * (1 + kSameFullness));
    }
    // A way that the shop marks ranks after those it does not, unless it lies no fuller than the original did.
    const double as_before = frame.original_fullness_ratio.value_or(0) * (1 + kSameFullness);
    const slot::FillLevels& levels = frame.settings->fill_levels;
    for (const double level : {levels.watch_ratio, levels.act_ratio}) {
      if (level > as_before) search.fullness_levels.push_back(level);
    }
  }
  search.length_per_strand_m = frame.pattern->coils * frame.turns->mean_turns_per_coil * frame.mean_turn->metres.high *
                               (1.0 + frame.settings->lead_share) * (1.0 + frame.settings->waste_share);
  const absl::StatusOr<wire::StrandAnswer> answer = wire::ChooseStrands(search);
  if (!answer.ok()) return answer.status();

  Alternatives alternatives;
  for (const wire::StrandChoice& found : answer->choices) {
    std::vector<RecordedStrand> strands;
    for (const wire::Strand& strand : found.strands) {
      strands.push_back({choice.wires[static_cast<size_t>(strand.index)].wire, strand.count});
    }
    absl::StatusOr<Option> option = DescribeOption(frame, strands, target_area_mm2);
    if (!option.ok()) return option.status();
    option->rules.push_back(rules::wire_strand_ranking);
    option->rules.push_back(rules::wire_bundle_spread);
    if (passes_opening) option->rules.push_back(rules::slot_opening);
    if (found.above_hexagonal) {
      option->warnings.emplace_back(AboveHexagonalWarning());
    }
    alternatives.options.push_back(*std::move(option));
  }
  alternatives.left_out = LeftOut(search, *answer);
  return alternatives;
}

}  // namespace coilwright::plan
