#include <cmath>

#include "absl/strings/str_format.h"
#include "insulation/judgement.h"
#include "rpc/megohms.h"
#include "rpc/methods.h"
#include "rpc/read_record.h"
#include "rpc/shop.h"
#include "rpc/write.h"
#include "standards/tables.h"
#include "testing/programme.h"

namespace coilwright::rpc {
namespace {

using Errors = std::vector<standards::FieldError>;

constexpr Range kMegohms = {1e-6, 1e9, "megohms"};

}  // namespace

void Write(const insulation::Ratio& ratio, v1::MegohmRatio* out) {
  if (ratio.value) out->set_value(*ratio.value);
  if (ratio.minimum) out->set_minimum(*ratio.minimum);
  out->set_applies(ratio.applies);
  out->set_reason(ratio.reason);
  out->set_rule(Str(ratio.rule));
}

insulation::MegohmReading ReadMegohmReading(const Reader& r) {
  insulation::MegohmReading reading;
  r.Text("label", 200);
  const std::optional<double> at_60s = r.Number("insulation_megohms", {0, 1e9, "megohms"});
  reading.megohms_60s = r.Need("insulation_megohms", at_60s, "the one-minute reading, 0 megohms or more", 1.0);
  reading.over_range = r.Flag("over_range").value_or(false);
  reading.megohms_30s = r.Number("megohms_at_30s", kMegohms);
  reading.megohms_600s = r.Number("megohms_at_10min", kMegohms);
  reading.winding_celsius = r.Need("winding_temperature", r.Celsius("winding_temperature"),
                                   "the temperature of the winding when it was read", 40.0);
  reading.others = r.Enum<insulation::OtherPhases>("other_phases").value_or(insulation::OtherPhases::kTogether);
  reading.uncertainty_ratio = r.At("instrument").Number("uncertainty_ratio", {0, 0.5, ""}).value_or(0.0);
  reading.test_volts_dc = r.Number("test_volts_dc", {1, 20000, "V"});
  return reading;
}

void Write(const insulation::JudgedReading& judged, v1::JudgedMegohms* out) {
  out->set_verdict(static_cast<v1::MegohmVerdict>(static_cast<int>(judged.verdict) + 1));
  out->set_reason(judged.reason);
  if (judged.factor) out->set_correction_factor(*judged.factor);
  if (judged.megohms_40c) out->set_corrected_megohms_40c(*judged.megohms_40c);
  out->set_at_least(judged.at_least);
  if (judged.margin_ratio) out->set_margin_ratio(*judged.margin_ratio);
  out->set_meets_shop_expectation(judged.meets_shop_expectation);
  Write(judged.polarization_index, out->mutable_polarization_index());
  Write(judged.absorption_ratio, out->mutable_absorption_ratio());
  out->set_discharge_seconds(judged.discharge_seconds);
  WriteRules(judged.rules, out);
}

absl::Status JudgeMegohms(const v1::JudgeMegohmsRequest& request, v1::JudgeMegohmsResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const plan::TestChoice choice = ReadTestChoice(reader.At("choice"));
  insulation::JudgementCase c;
  c.megohm.rated_volts = reader.Need("rated_volts", reader.Number("rated_volts", kRatedVolts),
                                     "1 V to 50000 V, line to line rms of the winding (not mains, not DC bus)", 230.0);
  c.megohm.rated_kw = reader.Kw("rated_power", kRatedKw);
  c.megohm.kind = reader.Enum<insulation::WindingKind>("winding_kind").value_or(insulation::WindingKind::kRandomWound);
  c.megohm.built_year = reader.Count("built_year", 1880, 2200);
  c.megohm.edition = choice.megohm_edition;
  c.megohm.shop_expectation_megohms = choice.shop_expectation_megohms;
  c.family = choice.insulation_family;
  if (const auto thermal_class = ReadThermalClass(reader, "thermal_class"))
    c.thermal_class_celsius = thermal_class->celsius;
  c.air_celsius = reader.Celsius("air_temperature", -40, 60);
  c.relative_humidity_percent = reader.Number("relative_humidity_percent", {0, 100, "%", true});
  if (c.air_celsius.has_value() != c.relative_humidity_percent.has_value() && errors.empty()) {
    reader.Missing(c.air_celsius ? "relative_humidity_percent" : "air_temperature",
                   "both for the dew point, or neither");
  }
  const auto handbook = reader.Enum<insulation::HandbookCorrection>("handbook_correction");
  std::vector<insulation::MegohmReading> readings;
  for (const Reader& r : reader.Each("readings", 500)) readings.push_back(ReadMegohmReading(r));
  if (request.readings().empty()) reader.Missing("readings", "one or more readings");
  if (!errors.empty()) return standards::InvalidFields(errors);

  const absl::StatusOr<insulation::Judgement> judgement = insulation::Judge(c, readings);
  if (!judgement.ok()) return judgement.status();
  for (size_t i = 0; i < readings.size(); ++i) {
    v1::JudgedMegohms* out = response->add_readings();
    out->set_label(request.readings(static_cast<int>(i)).label());
    Write(judgement->readings[i], out);
    if (!handbook) continue;
    if (const auto corrected =
            insulation::ToHandbookBase(readings[i].megohms_60s, readings[i].winding_celsius, *handbook);
        corrected.ok()) {
      out->set_handbook_megohms(corrected->megohms);
      out->set_handbook_base_celsius(corrected->base_celsius);
      WriteRule(corrected->rule, {"handbook_megohms"}, out);
    }
  }
  const insulation::MegohmLimits& limits = judgement->limits;
  response->set_minimum_megohms(limits.minimum_megohms);
  response->set_minimum_megohms_rule(Str(limits.minimum_rule));
  response->set_shop_expectation_megohms(limits.shop_expectation_megohms);
  response->set_test_volts_dc(limits.test_volts_dc);
  response->set_test_volts_rule(Str(limits.test_voltage_rule));
  response->set_outside_megohm_scope(limits.outside_scope);
  response->set_insulation_family(static_cast<v1::InsulationFamily>(static_cast<int>(c.family) + 1));
  if (judgement->dew_point_celsius) response->set_dew_point_celsius(*judgement->dew_point_celsius);
  for (const std::string& note : judgement->notes) response->add_notes(note);
  if (request.winding_kind() == v1::INSULATED_WINDING_KIND_UNSPECIFIED && c.megohm.rated_volts > 1000) {
    response->add_notes(
        "No winding kind given: taken as random wound; above 1000 V most windings are form wound, with a "
        "higher minimum.");
  }
  response->add_cautions(Str(testing::QualifiedPersonCaution()));
  if (c.megohm.kind == insulation::WindingKind::kRandomWound) {
    if (auto doubt = testing::RandomWoundDoubt(c.megohm.rated_volts)) response->add_cautions(*std::move(doubt));
  }
  WriteRules(limits.rules, response);
  WriteShop({&request.choice()}, response);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
