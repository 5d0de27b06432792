#include <optional>
#include <utility>

#include "absl/strings/str_cat.h"
#include "rpc/guard.h"
#include "rpc/insulation_run.h"
#include "rpc/megohms.h"
#include "rpc/methods.h"
#include "rpc/read_record.h"
#include "rpc/status.h"
#include "rpc/write.h"
#include "standards/rules.h"
#include "standards/tables.h"
#include "testing/programme.h"

namespace coilwright::rpc {
namespace {

using insulation::RunKind;
using Errors = std::vector<standards::FieldError>;
using Request = v1::RunInsulationTestRequest;
using Response = v1::RunInsulationTestResponse;

static_assert(static_cast<int>(RunKind::kStepVoltage) + 1 == v1::INSULATION_RUN_KIND_STEP_VOLTAGE);
static_assert(static_cast<int>(insulation::Refusal::kContradictory) + 1 == v1::SAMPLE_REFUSAL_CONTRADICTORY);
static_assert(static_cast<int>(insulation::AdviceKind::kShortOfTime) + 1 == v1::RUN_ADVICE_KIND_SHORT_OF_TIME);

void WriteMark(const insulation::RunMark& mark, v1::InsulationMark* out) {
  out->set_mark_seconds(mark.seconds);
  out->set_run_seconds(mark.run_seconds);
  if (mark.megohms) out->set_insulation_megohms(*mark.megohms);
  if (mark.megohms_40c) out->set_corrected_megohms_40c(*mark.megohms_40c);
  if (mark.winding_celsius) out->set_winding_celsius(*mark.winding_celsius);
  if (mark.minimum_megohms_as_read) out->set_minimum_megohms_as_read(*mark.minimum_megohms_as_read);
  out->set_at_least(mark.at_least);
  out->set_interpolated(mark.interpolated);
  out->set_reason(mark.reason);
  WriteRules({rules::run_mark}, out);
}

void WriteAdvice(const insulation::Advice& advice, v1::RunAdvice* out) {
  out->set_kind(static_cast<v1::RunAdviceKind>(static_cast<int>(advice.kind) + 1));
  out->set_stop(advice.stop);
  out->set_seen_at_seconds(advice.seconds);
  out->set_reason(advice.reason);
  out->set_rule(Str(advice.rule));
}

void WriteEstimated(const insulation::Estimated& estimated, v1::FittedValue* out) {
  out->set_value(estimated.value);
  out->set_standard_error(estimated.standard_error);
}

void WriteFit(const insulation::AbsorptionFit& fit, v1::AbsorptionFit* out) {
  if (fit.absorption_seen) {
    WriteEstimated(fit.absorption_microamps_1s, out->mutable_absorption_microamps());
    WriteEstimated(fit.exponent, out->mutable_exponent());
  }
  WriteEstimated(fit.conduction_microamps, out->mutable_conduction_microamps());
  out->set_conduction_seen(fit.conduction_seen);
  out->set_scatter_ratio(fit.scatter_ratio);
  out->set_from_seconds(fit.from_seconds);
  out->set_to_seconds(fit.to_seconds);
  WriteRules({rules::run_absorption_law}, out);
}

void WriteStep(const insulation::VoltageStep& step, v1::VoltageStepReading* out) {
  out->set_step_volts_dc(step.volts_dc);
  out->set_from_seconds(step.from_seconds);
  out->set_held_seconds(step.held_seconds);
  out->set_current_microamps(step.microamps);
  out->set_read_after_seconds(step.read_after_seconds);
  if (step.current_exponent) out->set_current_exponent(*step.current_exponent);
  if (step.departure_ratio) out->set_departure_ratio(*step.departure_ratio);
  WriteRules({rules::ieee95_out_of_proportion}, out);
}

void WriteFitted(const insulation::RunSummary& now, Response* out) {
  if (now.fit) WriteFit(*now.fit, out->mutable_fit());
  if (now.forecast) {
    WriteBand(now.forecast->megohms_600s, out->mutable_forecast()->mutable_megohms_at_10min());
    WriteBand(now.forecast->index, out->mutable_forecast()->mutable_index());
    out->mutable_forecast()->set_from_readings_to_seconds(now.forecast->from_seconds);
    WriteRules({rules::run_index_forecast}, out->mutable_forecast());
  }
  if (now.drift) {
    out->mutable_drift()->set_kelvin_per_minute(now.drift->kelvin_per_minute);
    out->mutable_drift()->set_standard_error(now.drift->standard_error);
    out->mutable_drift()->set_false_index_ratio(now.drift->false_index_ratio);
    WriteRules({rules::run_temperature_drift}, out->mutable_drift());
  }
  for (const insulation::VoltageStep& step : now.steps) WriteStep(step, out->add_steps());
}

// Where the run stands.
void WriteState(const insulation::RunSummary& now, Response* out) {
  out->set_stop(now.stop);
  out->set_samples_taken(now.samples);
  out->set_samples_refused(now.refused);
  out->set_samples_over_range(now.over_range);
  if (now.samples > 0) {
    out->set_last_seconds(now.last_seconds);
    out->set_last_volts_dc(now.last_volts_dc);
  }
  if (now.full_voltage_seconds) out->set_full_voltage_at_seconds(*now.full_voltage_seconds);
  if (now.megohms) out->set_insulation_megohms(*now.megohms);
  if (now.megohms_40c) out->set_corrected_megohms_40c(*now.megohms_40c);
  out->set_at_least(now.at_least);
  if (now.winding_celsius) out->set_winding_celsius(*now.winding_celsius);
  if (!now.absorption_ratio.rule.empty()) Write(now.absorption_ratio, out->mutable_absorption_ratio());
  if (!now.polarization_index.rule.empty()) Write(now.polarization_index, out->mutable_polarization_index());
  if (now.index_at_40c) out->set_index_at_40c(*now.index_at_40c);
  out->set_gaps(now.gaps);
  if (now.gaps > 0) out->set_longest_gap_seconds(now.longest_gap_seconds);
  out->set_minimum_megohms(now.limits.minimum_megohms);
  out->set_discharge_seconds(now.discharge_seconds);
  WriteRules(now.rules, out);
  out->set_data_revision(Str(standards::DataRevision()));
}

void WriteCautions(Response* out) {
  out->add_cautions(Str(testing::QualifiedPersonCaution()));
  out->add_cautions(
      "The winding holds its charge after the run: discharge it and leave it earthed for at least the time given.");
}

class RunSession final : public Session<Request, Response> {
 public:
  absl::StatusOr<bool> Take(const Request& request, Response* response) override {
    constexpr int kMostSamples = 1000, kMostRefused = 20;
    const bool first = !run_;
    if (absl::Status started = Begin(request); !started.ok()) return started;
    if (request.samples_size() > kMostSamples) {
      return standards::InvalidField("samples", absl::StrCat(request.samples_size(), " samples"),
                                     "at most 1000 in a message");
    }
    bool refitted = false;
    for (int i = 0; i < request.samples_size(); ++i) {
      const insulation::RunUpdate update = run_->Add(ReadSample(request.samples(i)));
      if (update.refused && response->refused_size() < kMostRefused) {
        v1::RefusedSample* out = response->add_refused();
        out->set_index(i);
        out->set_refusal(static_cast<v1::SampleRefusal>(static_cast<int>(update.refused->refusal) + 1));
        *out->mutable_status() = DetailsOf(standards::InvalidField(
            absl::StrCat("samples[", i, "].", update.refused->field), update.refused->given, update.refused->accepted));
      }
      for (const insulation::RunMark& mark : update.marks) WriteMark(mark, response->add_marks());
      for (const insulation::Advice& advice : update.advice) WriteAdvice(advice, response->add_advice());
      refitted = refitted || update.refitted;
    }
    const insulation::RunSummary now = run_->Now();
    WriteState(now, response);
    if (refitted || now.steps.size() != steps_) WriteFitted(now, response);
    steps_ = now.steps.size();
    if (first) WriteCautions(response);
    return true;
  }

  absl::StatusOr<bool> Finish(Response* response) override {
    if (!run_) return false;
    FinishRun(*run_, response);
    return true;
  }

 private:
  absl::Status Begin(const Request& request) {
    if (run_ && request.has_setup())
      return standards::InvalidField("setup", "a second one", "one, in the first message");
    if (run_) return absl::OkStatus();
    if (!request.has_setup())
      return standards::InvalidField("setup", "nothing", "what is tested and how, in the first message");
    return standards::UnderField("setup", Guarded(request.setup(), [&]() -> absl::Status {
                                   auto run = StartRun(request.setup());
                                   if (!run.ok()) return run.status();
                                   run_.emplace(*std::move(run));
                                   return absl::OkStatus();
                                 }));
  }

  std::optional<insulation::InsulationRun> run_;
  size_t steps_ = 0;
};

}  // namespace

absl::StatusOr<insulation::InsulationRun> StartRun(const v1::InsulationRunSetup& setup) {
  Errors errors;
  const Reader reader(setup, "", &errors);
  const plan::TestChoice choice = ReadTestChoice(reader.At("choice"));
  insulation::RunCase c;
  insulation::MegohmCase& megohm = c.judgement.megohm;
  megohm.rated_volts = reader.Need("rated_volts", reader.Number("rated_volts", kRatedVolts),
                                   "1 V to 50000 V, line to line rms of the winding (not mains, not DC bus)", 230.0);
  megohm.rated_kw = reader.Kw("rated_power", kRatedKw);
  megohm.kind = reader.Enum<insulation::WindingKind>("winding_kind").value_or(insulation::WindingKind::kRandomWound);
  megohm.built_year = reader.Count("built_year", 1880, 2200);
  megohm.edition = choice.megohm_edition;
  megohm.shop_expectation_megohms = choice.shop_expectation_megohms;
  c.judgement.family = choice.insulation_family;
  if (const auto thermal_class = ReadThermalClass(reader, "thermal_class")) {
    c.judgement.thermal_class_celsius = thermal_class->celsius;
  }
  c.others = reader.Enum<insulation::OtherPhases>("other_phases").value_or(insulation::OtherPhases::kTogether);
  c.kind = reader.Enum<RunKind>("kind").value_or(RunKind::kConstantVoltage);
  c.test_volts_dc = reader.Number("test_volts_dc", {1, 50000, "V"});
  c.winding_celsius = reader.Celsius("winding_temperature");
  c.uncertainty_ratio = reader.At("instrument").Number("uncertainty_ratio", {0, 0.5, ""}).value_or(0.0);
  c.judgement.air_celsius = reader.Celsius("air_temperature", -40, 60);
  c.judgement.relative_humidity_percent = reader.Number("relative_humidity_percent", {0, 100, "%", true});
  if (c.judgement.air_celsius.has_value() != c.judgement.relative_humidity_percent.has_value() && errors.empty()) {
    reader.Missing(c.judgement.air_celsius ? "relative_humidity_percent" : "air_temperature",
                   "both for the dew point, or neither");
  }
  c.charge_seconds = reader.Number("charge_seconds", {1, 60, "s"}).value_or(c.charge_seconds);
  c.least_microamps = reader.Number("least_current_microamps", {1e-9, 1e9, "uA"});
  if (!errors.empty()) return standards::InvalidFields(errors);
  return insulation::InsulationRun::Start(c);
}

insulation::RunSample ReadSample(const v1::InsulationSample& in) {
  insulation::RunSample sample;
  sample.seconds = in.seconds();
  sample.volts_dc = in.test_volts_dc();
  if (in.has_current_microamps()) sample.microamps = in.current_microamps();
  if (in.has_insulation_megohms()) sample.megohms = in.insulation_megohms();
  sample.over_range = in.over_range();
  if (in.has_winding_celsius()) sample.winding_celsius = in.winding_celsius();
  return sample;
}

void FinishRun(insulation::InsulationRun& run, Response* response) {
  const insulation::RunSummary summary = run.Finish();
  response->set_final(true);
  for (const insulation::RunMark& mark : summary.marks) WriteMark(mark, response->add_marks());
  for (const insulation::Advice& advice : summary.advice) WriteAdvice(advice, response->add_advice());
  WriteState(summary, response);
  WriteFitted(summary, response);
  if (summary.judged) {
    Write(*summary.judged, response->mutable_judged());
    // The ratios stand beside it.
    response->mutable_judged()->clear_polarization_index();
    response->mutable_judged()->clear_absorption_ratio();
  }
  for (const std::string& note : summary.notes) response->add_notes(note);
  WriteCautions(response);
}

std::unique_ptr<Session<Request, Response>> RunInsulationTest() { return std::make_unique<RunSession>(); }

}  // namespace coilwright::rpc
