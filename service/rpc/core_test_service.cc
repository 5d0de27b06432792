#include "plan/record.h"
#include "rpc/methods.h"
#include "rpc/read_record.h"
#include "rpc/write.h"
#include "standards/tables.h"
#include "testing/programme.h"
#include "testing/ring_flux.h"

namespace coilwright::rpc {
namespace {

using Errors = std::vector<standards::FieldError>;
using testing::CoreBuild;

static_assert(static_cast<int>(testing::CorePlate::kInorganic) + 1 == v1::CORE_PLATE_INORGANIC);
static_assert(static_cast<int>(testing::HotSpotRule::kIeee1068) + 1 == v1::HOT_SPOT_RULE_IEEE_1068);
static_assert(static_cast<int>(testing::HotSpotReference::kAverage) + 1 == v1::HOT_SPOT_REFERENCE_AVERAGE);
static_assert(static_cast<int>(testing::CoreCheckKind::kHotSpot) + 1 == v1::CORE_CHECK_KIND_HOT_SPOT);
static_assert(static_cast<int>(insulation::Verdict::kNotValid) + 1 == v1::CORE_VERDICT_NOT_VALID);

constexpr Range kIronMm = {0, 5000, "mm", true};
constexpr Range kTeslas = {0.1, 2, "T"};
constexpr Range kHertz = {1, 1000, "Hz"};
constexpr Range kDesignedHertz = {0, 10000, "Hz", true};
constexpr Range kShare = {0, 0.5, ""};

testing::CoreMake ReadMake(const Reader& r) {
  testing::CoreMake make;
  const auto construction = ReadConstruction(r);
  if (construction == plan::Construction::kSegmented) make.build = CoreBuild::kSegmented;
  if (construction == plan::Construction::kBobbin) make.build = CoreBuild::kBobbin;
  make.core_plate = r.Enum<testing::CorePlate>("core_plate");
  make.glued = r.Flag("glued").value_or(false);
  make.potted = r.Flag("potted").value_or(false);
  make.magnets_fitted = r.Flag("magnets_fitted").value_or(false);
  make.aluminium_frame = r.Flag("aluminium_frame").value_or(false);
  return make;
}

testing::CoreDimensions ReadDimensions(const Reader& r) {
  testing::CoreDimensions core;
  core.outer_diameter_mm = r.Need("outer_diameter", r.Mm("outer_diameter", {10, 5000, "mm"}),
                                  "outer diameter of the laminations, 10 mm to 5000 mm", 100.0);
  core.bore_diameter_mm =
      r.Need("bore_diameter", r.Mm("bore_diameter", kIronMm), "bore, less than the outer diameter", 50.0);
  core.slot_depth_mm = r.Mm("slot_depth", kIronMm);
  core.back_iron_depth_mm = r.Mm("back_iron_depth", kIronMm);
  core.stack_length_mm = r.Need("stack_length", r.Mm("stack_length", {1, 5000, "mm"}),
                                "length over the laminations, vents included", 50.0);
  core.vents = r.Count("vents", 0, 200).value_or(0);
  core.vent_width_mm = r.Mm("vent_width", {0, 100, "mm"}).value_or(0);
  core.stacking_factor = r.Number("stacking_factor", {0.5, 1, ""});
  core.slots = r.Count("slots", 3, 720);
  core.tooth_width_mm = r.Mm("tooth_width", kIronMm);
  return core;
}

testing::CoreReading ReadReading(const Reader& r) {
  testing::CoreReading reading;
  reading.watts = r.Need("watts", r.Number("watts", {0.001, 1e7, "W"}), "watts of the loop, 0.001 W or more", 1.0);
  reading.volts_per_turn = r.Need("volts_per_turn", r.Number("volts_per_turn", {1e-4, 1000, "V"}),
                                  "volts of a search coil of one turn, or supply volts over turns", 1.0);
  reading.uncertainty_ratio = r.At("instrument").Number("uncertainty_ratio", kShare).value_or(0);
  reading.start_celsius = r.Celsius("start_temperature", -40, 300);
  reading.hot_spot_celsius = r.Celsius("hot_spot_temperature", -40, 300);
  reading.average_celsius = r.Celsius("average_temperature", -40, 300);
  return reading;
}

void WriteOven(const testing::OvenLimit& oven, v1::OvenLimit* out) {
  if (oven.part_celsius) out->set_part_celsius(*oven.part_celsius);
  out->set_reason(oven.reason);
  out->set_rule(Str(oven.rule));
}

void WriteOption(const testing::CoreTestOption& option, v1::CoreTestOption* out) {
  out->set_supply_volts(option.supply_volts);
  out->set_exact_turns(option.exact_turns);
  out->set_turns(option.turns);
  out->set_volts_per_turn(option.volts_per_turn);
  out->set_flux_teslas(option.teslas);
  out->set_flux_off_ratio(option.flux_off_ratio);
  if (option.amps) WriteBand(*option.amps, out->mutable_amps_rms());
  if (option.kva) WriteBand(*option.kva, out->mutable_kva());
  if (option.cable_mm2) out->set_cable_mm2(*option.cable_mm2);
  out->set_note(option.note);
}

void WriteComparison(const testing::CoreComparison& comparison, v1::CompareCoreTestsResponse* out) {
  const auto verdict = [](insulation::Verdict v) { return static_cast<v1::CoreVerdict>(static_cast<int>(v) + 1); };
  out->set_verdict(verdict(comparison.verdict));
  out->set_reason(comparison.reason);
  for (const testing::CoreCheck& check : comparison.checks) {
    v1::CoreCheck* written = out->add_checks();
    written->set_kind(static_cast<v1::CoreCheckKind>(static_cast<int>(check.kind) + 1));
    written->set_verdict(verdict(check.verdict));
    if (check.value) written->set_value(*check.value);
    if (check.limit) written->set_limit(*check.limit);
    written->set_reason(check.reason);
    written->set_rule(Str(check.rule));
  }
  if (comparison.back_iron_kg) {
    out->set_back_iron_kg(*comparison.back_iron_kg);
    out->set_before_watts_per_kg(*comparison.before_watts_per_kg);
    out->set_after_watts_per_kg(*comparison.after_watts_per_kg);
    out->set_before_watts_per_pound(testing::WattsPerPound(*comparison.before_watts_per_kg));
    out->set_after_watts_per_pound(testing::WattsPerPound(*comparison.after_watts_per_kg));
  }
  if (comparison.before_teslas) out->set_before_flux_teslas(*comparison.before_teslas);
  if (comparison.after_teslas) out->set_after_flux_teslas(*comparison.after_teslas);
  out->set_after_watts_at_same_flux(comparison.after_watts_at_same_flux);
  if (comparison.hot_spot_over_start_kelvin) {
    out->set_hot_spot_over_start_kelvin(*comparison.hot_spot_over_start_kelvin);
  }
  if (comparison.hot_spot_over_average_kelvin) {
    out->set_hot_spot_over_average_kelvin(*comparison.hot_spot_over_average_kelvin);
  }
  for (const std::string& note : comparison.notes) out->add_notes(note);
  WriteRules(comparison.rules, out);
}

}  // namespace

absl::Status PlanCoreTest(const v1::PlanCoreTestRequest& request, v1::PlanCoreTestResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  testing::CoreTestCase c;
  c.core = ReadDimensions(reader.At("core"));
  c.make = ReadMake(reader.At("make"));
  c.frequency_hz = reader.Need("frequency_hz", reader.Number("frequency_hz", kHertz), "1 Hz to 1000 Hz", 50.0);
  if (request.supply_volts_size() > 50) {
    reader.Wrong("supply_volts", absl::StrCat(request.supply_volts_size(), " entries"), "at most 50");
  } else {
    c.supply_volts.assign(request.supply_volts().begin(), request.supply_volts().end());
  }
  c.target_teslas = reader.Teslas("target_flux", kTeslas);
  c.operating_teslas = reader.Teslas("operating_flux", {0.1, 1.9, "T"});
  c.amps_per_metre = reader.Number("magnetizing_amps_per_metre_rms", {0, 1e5, "A/m", true});
  c.cable_amps_per_mm2 = reader.Number("cable_amps_per_mm2", {0.1, 50, "A/mm2"});
  c.designed_for_hz = reader.Number("designed_for_hz", kDesignedHertz);
  c.lamination_mm = reader.Mm("lamination_thickness", {0.01, 5, "mm"});
  if (!errors.empty()) return standards::InvalidFields(errors);
  const absl::StatusOr<testing::CoreTestPlan> plan = testing::PlanCoreTest(c);
  if (!plan.ok()) return plan.status();

  response->set_back_iron_depth_mm(plan->back_iron.depth_mm);
  response->set_net_length_mm(plan->back_iron.net_length_mm);
  response->set_back_iron_area_mm2(plan->back_iron.area_mm2);
  response->set_mean_path_mm(plan->back_iron.mean_path_mm);
  response->set_back_iron_kg(plan->back_iron.kg);
  if (plan->back_iron.teeth_kg) response->set_teeth_kg(*plan->back_iron.teeth_kg);
  response->set_target_teslas(plan->target_teslas);
  response->set_target_volts_per_turn(plan->volts_per_turn);
  for (const testing::CoreTestOption& option : plan->options) WriteOption(option, response->add_options());
  response->set_minutes(plan->minutes);
  response->set_search_coil_formula(plan->search_coil_formula);
  WriteOven(plan->oven, response->mutable_oven());
  for (const std::string& note : plan->notes) response->add_notes(note);
  for (const std::string& caution : plan->cautions) response->add_cautions(caution);
  WriteRules(plan->rules, response);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

absl::Status CompareCoreTests(const v1::CompareCoreTestsRequest& request, v1::CompareCoreTestsResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  testing::CoreComparisonCase c;
  c.before = ReadReading(reader.At("before"));
  c.after = ReadReading(reader.At("after"));
  c.make = ReadMake(reader.At("make"));
  if (reader.Has("core")) c.core = ReadDimensions(reader.At("core"));
  c.back_iron_kg = reader.Kg("back_iron_mass", {0.001, 1e6, "kg"});
  c.frequency_hz = reader.Number("frequency_hz", kHertz);
  c.designed_for_hz = reader.Number("designed_for_hz", kDesignedHertz);
  c.loss_increase_most_percent = reader.Number("loss_increase_most_percent", {0, 1000, "%"});
  c.specific_loss_most_watts_per_kg = reader.Number("specific_loss_most_watts_per_kg", {0.01, 1000, "W/kg"});
  c.hot_spot_rule = reader.Enum<testing::HotSpotRule>("hot_spot_rule").value_or(c.hot_spot_rule);
  c.hot_spot_reference = reader.Enum<testing::HotSpotReference>("hot_spot_reference").value_or(c.hot_spot_reference);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const absl::StatusOr<testing::CoreComparison> comparison = testing::CompareCoreTests(c);
  if (!comparison.ok()) return comparison.status();
  WriteComparison(*comparison, response);
  response->add_cautions(Str(testing::QualifiedPersonCaution()));
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

absl::Status GetOvenLimit(const v1::GetOvenLimitRequest& request, v1::GetOvenLimitResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const testing::CoreMake make = ReadMake(reader.At("make"));
  if (!reader.Has("make")) reader.Missing("make", "what the core is made of");
  if (!errors.empty()) return standards::InvalidFields(errors);
  const testing::OvenLimit oven = testing::OvenLimitFor(make);
  WriteOven(oven, response->mutable_oven());
  for (const std::string& caution : testing::OvenCautions(oven)) response->add_cautions(caution);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
