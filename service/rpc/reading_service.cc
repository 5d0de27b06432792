#include <variant>

#include "rpc/megohms.h"
#include "rpc/methods.h"
#include "rpc/readings.h"
#include "rpc/shop.h"
#include "rpc/write.h"
#include "standards/tables.h"

namespace coilwright::rpc {
namespace {

static_assert(static_cast<int>(insulation::Verdict::kNotValid) + 1 == v1::TEST_VERDICT_NOT_VALID);
static_assert(static_cast<int>(testing::Suspect::kPart) + 1 == v1::SUSPECT_PART);
static_assert(static_cast<int>(testing::WavePoint::kW) + 1 == v1::WAVE_POINT_W);
static_assert(static_cast<int>(testing::MagnetMaterial::kFerrite) + 1 == v1::MAGNET_MATERIAL_FERRITE);
static_assert(static_cast<int>(testing::ResistanceFaultKind::kAddedResistance) + 1 ==
              v1::RESISTANCE_FAULT_KIND_ADDED_RESISTANCE);
static_assert(static_cast<int>(testing::BackEmfCause::kPhaseTurns) + 1 == v1::BACK_EMF_CAUSE_PHASE_TURNS);
static_assert(static_cast<int>(testing::WindingVerdict::kRewind) + 1 == v1::WINDING_VERDICT_REWIND);
static_assert(static_cast<int>(testing::TestKind::kRectifier) + 1 == v1::TEST_KIND_RECTIFIER);

template <typename Three>
void WriteThree(const Three& values, v1::ThreeValues* out) {
  const std::optional<double> first = values[0], second = values[1], third = values[2];
  if (first) out->set_first(*first);
  if (second) out->set_second(*second);
  if (third) out->set_third(*third);
}

void WriteFindings(const std::monostate&, v1::JudgedTest*) {}

void WriteFindings(const testing::PhaseResistance& found, v1::JudgedTest* test) {
  v1::PhaseResistances* out = test->mutable_phase_resistances();
  WriteThree(found.line_to_line_ohms_20c, out->mutable_line_to_line_ohms_20c());
  if (found.phase_ohms_20c) WriteThree(*found.phase_ohms_20c, out->mutable_phase_ohms_20c());
  if (found.phase_ohms_25c) WriteThree(*found.phase_ohms_25c, out->mutable_phase_ohms_25c());
  if (found.mean_line_to_line_ohms_20c) out->set_mean_line_to_line_ohms_20c(*found.mean_line_to_line_ohms_20c);
  if (found.unbalance_percent) out->set_unbalance_percent(*found.unbalance_percent);
  for (const testing::ResistanceFault& fault : found.faults) {
    v1::ResistanceFault* f = out->add_faults();
    f->set_kind(Next<v1::ResistanceFaultKind>(fault.kind));
    f->set_phase(fault.phase);
    if (fault.share_of_phase) WriteBand(*fault.share_of_phase, f->mutable_share_of_phase());
    if (fault.turns) WriteBand(*fault.turns, f->mutable_turns());
    if (fault.circuits) f->set_circuits(*fault.circuits);
    if (fault.added_ohms) f->set_added_ohms(*fault.added_ohms);
    f->set_text(fault.text);
  }
  if (found.least_share_seen) out->set_least_share_seen(*found.least_share_seen);
  if (found.least_turns_seen) out->set_least_turns_seen(*found.least_turns_seen);
}

void WriteFindings(const testing::SurgeComparison& found, v1::JudgedTest* test) {
  v1::SurgeFindings* out = test->mutable_surge();
  for (const testing::WaveFinding& wave : found.waves) {
    v1::WaveFinding* w = out->add_waves();
    w->set_point(Next<v1::WavePoint>(wave.point));
    w->set_peak_volts(wave.peak_volts);
    if (wave.ring) {
      w->set_frequency_hz(wave.ring->frequency_hz);
      w->set_frequency_error_hz(wave.ring->frequency_error_hz);
      w->set_damping_per_second(wave.ring->damping_per_second);
      w->set_natural_frequency_hz(wave.ring->natural_frequency_hz);
      w->set_residual_ratio(wave.ring->residual_ratio);
    }
    w->set_no_ring_reason(wave.no_ring_reason);
    w->set_collapsed(wave.collapsed);
    if (wave.collapse_microseconds) w->set_collapse_microseconds(*wave.collapse_microseconds);
    if (wave.level_difference_ratio) w->set_level_difference_ratio(*wave.level_difference_ratio);
  }
  for (const testing::WaveDifference& difference : found.differences) {
    v1::WaveDifference* d = out->add_differences();
    d->set_first(Next<v1::WavePoint>(found.waves[difference.first].point));
    d->set_second(Next<v1::WavePoint>(found.waves[difference.second].point));
    d->set_waveform_difference_ratio(difference.waveform_difference_ratio);
    if (difference.frequency_shift) d->set_frequency_shift_ratio(*difference.frequency_shift);
    if (difference.inductance_change) d->set_inductance_change_ratio(*difference.inductance_change);
  }
  out->set_turn_insulation_tested(found.turn_insulation_tested);
  out->set_surge_watch_ratio(found.watch);
  out->set_surge_act_ratio(found.act);
}

void WriteFindings(const testing::BackEmf& found, v1::JudgedTest* test) {
  v1::BackEmfFindings* out = test->mutable_back_emf();
  if (found.speed_rpm) out->set_speed_rpm(*found.speed_rpm);
  WriteThree(found.volts_per_krpm_20c, out->mutable_volts_per_krpm_20c());
  if (found.mean_volts_per_krpm_20c) WriteBand(*found.mean_volts_per_krpm_20c, out->mutable_mean_volts_per_krpm_20c());
  if (found.unbalance_percent) out->set_unbalance_percent(*found.unbalance_percent);
  for (const testing::BackEmfExplanation& explanation : found.explanations) {
    v1::BackEmfExplanation* e = out->add_explanations();
    e->set_cause(Next<v1::BackEmfCause>(explanation.cause));
    e->set_phase(explanation.phase);
    if (explanation.turns_ratio) e->set_turns_ratio(*explanation.turns_ratio);
    e->set_text(explanation.text);
  }
}

void WriteFindings(const testing::TemperatureRise& found, v1::JudgedTest* test) {
  v1::TemperatureRiseFindings* out = test->mutable_temperature_rise();
  out->set_winding_celsius(found.winding_celsius);
  out->set_rise_kelvin(found.rise_kelvin);
  if (found.limit_kelvin) out->set_limit_kelvin(*found.limit_kelvin);
}

void WriteFindings(const insulation::JudgedReading& found, v1::JudgedTest* test) {
  Write(found, test->mutable_megohms());
}

void WriteTest(const testing::JudgedTest& test, v1::JudgedTest* out) {
  out->set_kind(Next<v1::TestKind>(test.kind));
  out->set_title(test.title);
  out->set_verdict(Next<v1::TestVerdict>(test.verdict));
  out->set_reason(test.reason);
  if (test.as_read) out->set_as_read(*test.as_read);
  if (test.corrected) out->set_corrected(*test.corrected);
  out->set_at_least(test.at_least);
  out->set_unit(test.unit);
  out->set_corrected_to(test.corrected_to);
  Write(test.limit, out->mutable_limit());
  if (test.margin) out->set_margin(*test.margin);
  out->set_guard_band_rule(Str(test.guard_band_rule));
  out->set_suspect(Next<v1::Suspect>(test.suspect));
  for (const std::string& text : test.points_to) out->add_points_to(text);
  WriteRules(test.rules, out);
}

}  // namespace

void WriteJudgement(const testing::WindingJudgement& judgement, const v1::JudgeReadingsRequest& request,
                    v1::JudgeReadingsResponse* out) {
  out->set_verdict(Next<v1::WindingVerdict>(judgement.verdict));
  out->set_summary(judgement.summary);
  for (const std::string& text : judgement.reasons) out->add_reasons(text);
  for (const std::string& text : judgement.next_steps) out->add_next_steps(text);
  if (judgement.dry_out_most_celsius) out->set_dry_out_most_celsius(*judgement.dry_out_most_celsius);
  for (const std::string& text : judgement.dry_out_limited_by) out->add_dry_out_limited_by(text);
  out->set_turn_insulation_tested(judgement.turn_insulation_tested);
  for (size_t i = 0; i < judgement.readings.size(); ++i) {
    const v1::Reading& given = request.readings(static_cast<int>(i));
    const std::string& label = given.label().empty() && given.has_megohms() ? given.megohms().label() : given.label();
    bool first = true;
    for (const testing::JudgedTest& test : judgement.readings[i].tests) {
      v1::JudgedTest* judged = out->add_tests();
      judged->set_reading(static_cast<int>(i));
      judged->set_label(label);
      WriteTest(test, judged);
      if (first)
        std::visit([judged](const auto& found) { WriteFindings(found, judged); }, judgement.readings[i].detail);
      first = false;
    }
  }
  for (const testing::MissingTest& test : judgement.missing) {
    v1::MissingTest* missing = out->add_missing();
    missing->set_kind(Next<v1::TestKind>(test.kind));
    missing->set_title(test.title);
    missing->set_decides(test.decides);
  }
  for (const std::string& text : judgement.notes) out->add_notes(text);
  for (const std::string& text : judgement.cautions) out->add_cautions(text);
  WriteRules(judgement.rules, out);
  out->set_data_revision(Str(standards::DataRevision()));
}

absl::Status JudgeReadings(const v1::JudgeReadingsRequest& request, v1::JudgeReadingsResponse* response) {
  std::vector<standards::FieldError> errors;
  const Reader reader(request, "", &errors);
  const testing::JudgeCase judge_case = ReadJudgeCase(reader);
  const std::vector<testing::Reading> readings = ReadReadings(reader);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto judgement = testing::JudgeReadings(judge_case, readings);
  if (!judgement.ok()) return judgement.status();
  WriteJudgement(*judgement, request, response);
  WriteShop({&request.choice()}, response);
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
