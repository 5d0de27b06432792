#include "rpc/write_plan.h"

#include "absl/strings/str_cat.h"
#include "electric/magnetics.h"
#include "rpc/write.h"
#include "rpc/write_check.h"
#include "standards/rule_ids.h"
#include "standards/tables.h"
#include "standards/units.h"

namespace coilwright::rpc {
namespace {

v1::FindingLevel LevelOf(slot::FillVerdict verdict) {
  switch (verdict) {
    case slot::FillVerdict::kOk:
      return v1::FINDING_LEVEL_OK;
    case slot::FillVerdict::kWatch:
      return v1::FINDING_LEVEL_WATCH;
    case slot::FillVerdict::kAct:
    case slot::FillVerdict::kImpossible:
      return v1::FINDING_LEVEL_ACT;
  }
  return v1::FINDING_LEVEL_UNSPECIFIED;
}

absl::string_view TextOf(slot::FillVerdict verdict) {
  switch (verdict) {
    case slot::FillVerdict::kOk:
      return "goes in";
    case slot::FillVerdict::kWatch:
      return "tight";
    case slot::FillVerdict::kAct:
      return "fuller than the shop's limit";
    case slot::FillVerdict::kImpossible:
      return "above what one size of wire can fill";
  }
  return "";
}

void WriteFinding(const plan::Finding& finding, v1::Finding* out) {
  out->set_level(static_cast<v1::FindingLevel>(static_cast<int>(finding.level) + 1));
  out->set_what(finding.what);
  if (finding.found) out->set_found(*finding.found);
  if (finding.expected) WriteBand(*finding.expected, out->mutable_expected());
  out->set_unit(finding.unit);
  out->set_text(finding.text);
  out->set_rule(Str(finding.rule));
}

void WritePattern(const plan::PatternSummary& pattern, v1::PatternSummary* out) {
  out->set_slots(pattern.pattern.slots);
  out->set_poles(pattern.pattern.poles);
  out->set_layers(static_cast<v1::Layers>(static_cast<int>(pattern.pattern.layers) + 1));
  out->set_coil_form(static_cast<v1::CoilForm>(static_cast<int>(pattern.pattern.form) + 1));
  out->set_mean_pitch_slots(pattern.mean_pitch);
  out->set_throw_text(pattern.throws);
  out->set_slots_per_pole_phase_numerator(pattern.symmetry.slots_per_pole_phase_num);
  out->set_slots_per_pole_phase_denominator(pattern.symmetry.slots_per_pole_phase_den);
  out->set_winding_factor(pattern.winding_factor);
  out->set_coils(pattern.coils);
  for (const int circuits : pattern.symmetry.permitted_circuits) out->add_permitted_circuits(circuits);
  WriteRules(pattern.rules, out);
}

void WriteFill(const plan::FillSummary& fill, v1::SlotFill* out) {
  out->set_slot_gross_mm2(fill.area.gross_mm2);
  out->set_slot_net_mm2(fill.area.net_mm2);
  out->set_bare_copper_fill_ratio(fill.fill.bare_copper_gross_ratio);
  out->set_insulated_wire_fill_ratio(fill.fill.insulated_wire_ratio);
  out->set_fullness_ratio(fill.fill.fullness_ratio);
  out->set_level(LevelOf(fill.verdict));
  out->set_text(Str(TextOf(fill.verdict)));
  WriteRules(fill.area.rules, out);
  WriteRule(rules::slot_fill, {"bare_copper_fill_ratio", "insulated_wire_fill_ratio", "fullness_ratio"}, out);
}

void WriteOption(const plan::Option& option, v1::WindingOption* out) {
  WriteStrands(option.strands, option.area_error_ratio, out->mutable_conductor());
  if (option.fill) {
    out->mutable_conductor()->set_fullness_ratio(option.fill->fill.fullness_ratio);
    WriteFill(*option.fill, out->mutable_fill());
  }
  for (const std::string& warning : option.warnings) out->mutable_conductor()->add_warnings(warning);
  for (const plan::ExpectedResistance& resistance : option.resistance) {
    v1::ExpectedResistance* r = out->add_resistance();
    WriteBand(resistance.at_terminals_ohms, r->mutable_at_terminals_ohms());
    r->set_winding_celsius(resistance.winding_celsius);
    WriteBand(resistance.phase_ohms, r->mutable_phase_ohms());
    WriteBand(resistance.line_to_line_ohms, r->mutable_line_to_line_ohms());
  }
  if (option.current_density_a_per_mm2) {
    out->set_current_density_a_per_mm2(*option.current_density_a_per_mm2);
    out->set_current_density_cmil_per_amp(electric::CmilPerAmp(*option.current_density_a_per_mm2));
  }
  WriteBand(option.bare_copper_kg, out->mutable_bare_copper_kg());
  for (const plan::WireOrder& order : option.orders) {
    v1::WireOrder* o = out->add_wire_orders();
    o->set_designation(order.designation);
    o->set_length_metres(order.length_m);
    o->set_bare_copper_kg(order.bare_kg);
    o->set_order_kg(order.order_kg);
  }
  WriteRules(option.rules, out);
}

void WriteLoading(const plan::Loading& loading, v1::Loading* out) {
  if (loading.current_density_a_per_mm2) {
    out->set_current_density_a_per_mm2(*loading.current_density_a_per_mm2);
    out->set_current_density_cmil_per_amp(electric::CmilPerAmp(*loading.current_density_a_per_mm2));
  }
  if (loading.flux_webers) WriteBand(*loading.flux_webers, out->mutable_flux_webers());
  if (loading.densities) {
    out->set_air_gap_mean_teslas(loading.densities->air_gap_mean_teslas);
    out->set_air_gap_peak_teslas(loading.densities->air_gap_peak_teslas);
    if (loading.densities->tooth_teslas > 0) out->set_tooth_teslas(loading.densities->tooth_teslas);
    if (loading.densities->back_iron_teslas > 0) out->set_back_iron_teslas(loading.densities->back_iron_teslas);
  }
  WriteRules(loading.rules, out);
}

void WriteConstants(const plan::MachineConstants& constants, v1::MachineConstants* out) {
  WriteBand(constants.ke_ll_rms_v_per_krpm, out->mutable_ke_ll_rms_volts_per_krpm());
  WriteBand(constants.kt_nm_per_arms, out->mutable_kt_nm_per_arms());
  WriteBand(constants.km_nm_per_sqrt_watt, out->mutable_km_nm_per_sqrt_watt());
  out->set_no_load_rpm(constants.no_load_rpm);
  out->set_ke_source(constants.ke_source);
  WriteRules(constants.rules, out);
}

}  // namespace

void WriteStrands(const std::vector<plan::RecordedStrand>& strands, double area_error_ratio, v1::StrandChoice* out) {
  double area = 0;
  int in_hand = 0;
  for (const plan::RecordedStrand& strand : strands) {
    v1::ChosenStrand* s = out->add_strands();
    s->set_designation(strand.wire.designation);
    s->set_wires_in_hand(strand.wires_in_hand);
    s->set_bare_diameter_mm(strand.wire.bare_mm.nominal);
    s->set_overall_diameter_mm(strand.wire.overall_mm.nominal);
    area += strand.wires_in_hand * strand.wire.area_mm2;
    in_hand += strand.wires_in_hand;
  }
  out->set_wires_in_hand(in_hand);
  out->set_area_mm2(area);
  out->set_area_cmil(area / standards::kMm2PerCmil);
  out->set_area_error_ratio(area_error_ratio);
}

void Write(const plan::RewindPlan& plan, const plan::Record& record, v1::PlanRewindResponse* out) {
  out->set_title(record.title);
  Write(plan.check, out->mutable_record_check());
  for (const plan::Finding& finding : plan.findings) WriteFinding(finding, out->add_findings());
  WritePattern(plan.pattern, out->mutable_pattern());
  Write(plan.turns, out->mutable_turns());
  WriteBand(plan.mean_turn.metres, out->mutable_mean_turn_metres());
  out->set_mean_turn_method(Str(plan.mean_turn.method));
  WriteRule(plan.mean_turn.rule, {"mean_turn_metres"}, out);
  WriteOption(plan.as_recorded, out->mutable_as_recorded());
  WriteLoading(plan.loading_as_recorded, out->mutable_loading_as_recorded());
  out->set_target_area_mm2(plan.target_area_mm2);
  WriteRule(rules::plan_conductor_area, {"target_area_mm2"}, out);
  for (const plan::Option& option : plan.options) WriteOption(option, out->add_options());
  for (const std::string& text : plan.left_out) out->add_wires_left_out(text);
  WriteLoading(plan.loading_planned, out->mutable_loading_planned());
  if (plan.turns.changed) {
    WritePattern(plan.pattern_planned, out->mutable_pattern_planned());
    WriteBand(plan.mean_turn_planned.metres, out->mutable_mean_turn_planned_metres());
    out->set_mean_turn_planned_method(Str(plan.mean_turn_planned.method));
    WriteRule(plan.mean_turn_planned.rule, {"mean_turn_planned_metres"}, out);
    for (const plan::Finding& finding : plan.findings_planned) WriteFinding(finding, out->add_findings_planned());
  }
  if (plan.constants_as_recorded) WriteConstants(*plan.constants_as_recorded, out->mutable_constants_as_recorded());
  if (plan.constants_planned) WriteConstants(*plan.constants_planned, out->mutable_constants_planned());
  for (const plan::Material& material : plan.materials) {
    v1::Material* m = out->add_materials();
    m->set_place(material.place);
    m->set_material(material.material);
    m->set_rule(Str(material.rule));
  }
  for (const testing::Programme& programme : plan.programmes) Write(programme, out->add_programmes());
  for (const std::string& text : plan.cautions) out->add_cautions(text);
  for (const std::string& text : plan.notes) out->add_notes(text);
  for (const absl::string_view id : plan.rules) {
    if (const standards::Rule* rule = standards::FindRule(id)) Write(*rule, out->add_rules());
  }
  out->set_data_revision(Str(standards::DataRevision()));
}

}  // namespace coilwright::rpc
