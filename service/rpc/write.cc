#include "rpc/write.h"

#include "absl/strings/str_cat.h"
#include "coilwright/v1/megohm_service.pb.h"
#include "standards/rule_ids.h"

namespace coilwright::rpc {
namespace {

static_assert(static_cast<int>(testing::Stage::kInService) + 1 == v1::STAGE_IN_SERVICE);
static_assert(static_cast<int>(testing::TestKind::kRectifier) + 1 == v1::TEST_KIND_RECTIFIER);
static_assert(static_cast<int>(testing::Potential::kDisconnected) + 1 == v1::POTENTIAL_DISCONNECTED);
static_assert(static_cast<int>(testing::LimitKind::kWithin) + 1 == v1::LIMIT_KIND_WITHIN);
static_assert(static_cast<int>(testing::Family::kAr100) + 1 == v1::STANDARD_FAMILY_ANSI_EASA_AR100);
static_assert(static_cast<int>(testing::Condition::kNotReconditioned) + 1 == v1::WINDING_CONDITION_NOT_RECONDITIONED);
static_assert(static_cast<int>(testing::FormWoundSurge::kIeee522) + 1 == v1::FORM_WOUND_SURGE_IEEE_522);
static_assert(static_cast<int>(insulation::WindingKind::kDcArmature) + 1 == v1::INSULATED_WINDING_KIND_DC_ARMATURE);
static_assert(static_cast<int>(insulation::MegohmEdition::kOneMegohmPerKilovolt) + 1 ==
              v1::MEGOHM_EDITION_ONE_PER_KILOVOLT);
static_assert(static_cast<int>(insulation::InsulationFamily::kThermoplastic) + 1 ==
              v1::INSULATION_FAMILY_THERMOPLASTIC);
static_assert(static_cast<int>(insulation::OtherPhases::kGuarded) + 1 == v1::OTHER_PHASES_GUARDED);
static_assert(static_cast<int>(insulation::HandbookCorrection::kArmyTr0656) + 1 == v1::HANDBOOK_CORRECTION_ARMY_TR0656);
static_assert(static_cast<int>(standards::Standing::kDerived) + 1 == v1::RULE_STANDING_DERIVED);
static_assert(static_cast<int>(standards::WireSystem::kSwg) + 1 == v1::WIRE_SYSTEM_SWG);
static_assert(static_cast<int>(standards::Film::kGrade3) + 1 == v1::FILM_GRADE_3);
static_assert(static_cast<int>(standards::ConductorPreset::kIec60851) + 1 == v1::CONDUCTOR_PRESET_IEC_60851_5);

v1::VoltageShape ShapeOf(absl::string_view shape) {
  if (shape == "dc") return v1::VOLTAGE_SHAPE_DC;
  if (shape == "ac rms") return v1::VOLTAGE_SHAPE_AC_RMS;
  return shape == "peak" ? v1::VOLTAGE_SHAPE_PEAK : v1::VOLTAGE_SHAPE_UNSPECIFIED;
}

void WriteStep(const testing::Step& step, v1::TestStep* out) {
  out->set_kind(Next<v1::TestKind>(step.kind));
  out->set_title(step.title);
  out->set_left_out(step.left_out);
  out->set_reason(step.reason);
  for (const std::string& text : step.prepare) out->add_prepare(text);
  for (const testing::Terminal& terminal : step.terminals) {
    v1::Terminal* t = out->add_terminals();
    t->set_name(terminal.name);
    t->set_potential(Next<v1::Potential>(terminal.potential));
  }
  for (const testing::TestKind kind : step.after) out->add_after(Next<v1::TestKind>(kind));
  if (step.volts) out->set_test_volts(*step.volts);
  out->set_volts_shape(ShapeOf(step.volts_shape));
  out->set_level_note(step.level_note);
  if (step.ramp_seconds) out->set_ramp_seconds(*step.ramp_seconds);
  if (step.hold_seconds) out->set_hold_seconds(*step.hold_seconds);
  if (step.discharge_seconds) out->set_discharge_seconds(*step.discharge_seconds);
  if (step.trip_milliamps) out->set_trip_milliamps(*step.trip_milliamps);
  Write(step.limit, out->mutable_limit());
  if (step.shop_expectation) out->set_shop_expectation(*step.shop_expectation);
  for (const std::string& text : step.abort_when) out->add_abort_when(text);
  for (const std::string& text : step.notes) out->add_notes(text);
  for (const std::string& text : step.cautions) out->add_cautions(text);
  WriteRules(step.rules, out);
}

}  // namespace

void Write(const testing::Limit& limit, v1::AcceptanceLimit* out) {
  out->set_kind(Next<v1::LimitKind>(limit.kind));
  if (limit.low) out->set_low(*limit.low);
  if (limit.high) out->set_high(*limit.high);
  out->set_unit(limit.unit);
  if (limit.corrected) out->set_corrected_to(limit.corrected_to);
  out->set_text(limit.text);
  out->set_rule(Str(limit.rule));
}

void Write(const standards::Rule& rule, v1::Rule* out) {
  out->set_name(absl::StrCat("rules/", rule.id));
  out->set_title(rule.title);
  out->set_source(rule.source);
  out->set_edition(rule.edition);
  out->set_locator(rule.locator);
  out->set_standing(Next<v1::RuleStanding>(rule.standing));
  out->set_formula(rule.formula);
  out->set_note(rule.note);
}

void Write(const testing::Programme& programme, v1::TestProgramme* out) {
  out->set_stage(Next<v1::Stage>(programme.stage));
  for (const testing::Step& step : programme.steps) WriteStep(step, out->add_steps());
  for (const std::string& text : programme.cautions) out->add_cautions(text);
  for (const std::string& text : programme.notes) out->add_notes(text);
}

absl::Status Write(const wire::Wire& wire, standards::Metal metal, standards::ConductorPreset preset, double celsius,
                   v1::Wire* out) {
  const absl::StatusOr<standards::Band> resistance = wire::ResistanceOhmsPerKm(wire, metal, preset, celsius);
  if (!resistance.ok()) return resistance.status();
  out->set_designation(wire.designation);
  out->set_system(Next<v1::WireSystem>(wire.system));
  out->set_size(wire.size);
  out->set_film(Next<v1::Film>(wire.film));
  out->set_tabulated(wire.tabulated);
  WriteBand(wire.bare_mm, out->mutable_bare_diameter_mm());
  WriteBand(wire.overall_mm, out->mutable_overall_diameter_mm());
  out->set_area_mm2(wire.area_mm2);
  out->set_area_cmil(wire.area_cmil);
  WriteBand(*resistance, out->mutable_resistance_ohms_per_km());
  out->set_celsius(celsius);
  out->set_bare_kg_per_km(wire::BareKgPerKm(wire, metal));
  out->set_coated_kg_per_km(wire::CoatedKgPerKm(wire, metal));
  WriteRules(wire.rules, out);
  WriteRule(rules::wire_resistance, {"resistance_ohms_per_km"}, out);
  WriteRule(standards::Constants(preset, metal).rule, {"resistance_ohms_per_km"}, out);
  WriteRule(rules::wire_mass, {"bare_kg_per_km", "coated_kg_per_km"}, out);
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
