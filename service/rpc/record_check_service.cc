#include <algorithm>
#include <string>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "plan/check.h"
#include "plan/plan.h"
#include "rpc/methods.h"
#include "rpc/read_record.h"
#include "rpc/write.h"
#include "rpc/write_check.h"
#include "standards/tables.h"

namespace coilwright::rpc {
namespace {

static_assert(static_cast<int>(plan::Moment::kStripped) + 1 == v1::CHECK_MOMENT_STRIPPED);
static_assert(static_cast<int>(plan::Verdict::kUndecided) + 1 == v1::CHECK_VERDICT_UNDECIDED);

plan::Settings ReadCheckSettings(const Reader& reader) {
  plan::Settings settings;
  settings.lead_share = reader.Number("lead_share", {0, 0.5, ""}).value_or(settings.lead_share);
  settings.preset = reader.Enum<standards::ConductorPreset>("conductor_preset").value_or(settings.preset);
  return settings;
}

template <typename Response>
void WriteRulesInFull(std::vector<absl::string_view> rules, Response* response) {
  std::sort(rules.begin(), rules.end());
  rules.erase(std::unique(rules.begin(), rules.end()), rules.end());
  for (const absl::string_view id : rules) {
    if (const standards::Rule* rule = standards::FindRule(id)) Write(*rule, response->add_rules());
  }
}

// A burnt winding may not show how it was wound: what is left out is taken as the commonest, and said. In words, empty
// where nothing was left out.
std::string FillIn(v1::WindingRecord* record) {
  std::vector<std::string> taken;
  v1::Winding* winding = record->mutable_winding();
  if (winding->coil_form() == v1::COIL_FORM_UNSPECIFIED) {
    winding->set_coil_form(v1::COIL_FORM_LAP);
    taken.push_back("lap coils");
  }
  if (winding->layers() == v1::LAYERS_UNSPECIFIED) {
    winding->set_layers(v1::LAYERS_DOUBLE);
    taken.push_back("two coil sides in a slot");
  }
  if (winding->connection() == v1::CONNECTION_UNSPECIFIED) {
    winding->set_connection(v1::CONNECTION_STAR);
    taken.push_back("star");
  }
  if (!winding->has_parallel_circuits()) {
    winding->set_parallel_circuits(1);
    taken.push_back("one circuit");
  }
  const v1::Nameplate& plate = record->machine().nameplate();
  const int poles = plate.has_poles() ? plate.poles() : 2 * std::clamp(plate.pole_pairs(), 0, 1000);
  if (!winding->has_coil_pitch_slots() && winding->groups().empty() && poles > 0) {
    const bool tooth = winding->coil_form() == v1::COIL_FORM_TOOTH_COIL;
    winding->set_coil_pitch_slots(tooth ? 1 : std::max(1, record->machine().core().slots() / poles));
    taken.push_back(absl::StrCat("a pitch of ", winding->coil_pitch_slots()));
  }
  return absl::StrJoin(taken, ", ");
}

void WriteCorrection(const plan::Correction& correction, v1::Correction* out) {
  out->set_slip(correction.slip);
  out->set_field(correction.field);
  out->set_what(correction.what);
  out->set_recorded(correction.recorded);
  out->set_should_read(correction.reads);
}

}  // namespace

void Write(const plan::RecordCheck& check, v1::RecordCheck* out) {
  out->set_moment(static_cast<v1::CheckMoment>(static_cast<int>(check.moment) + 1));
  out->set_verdict(static_cast<v1::CheckVerdict>(static_cast<int>(check.verdict) + 1));
  out->set_summary(check.summary);
  for (const plan::Agreement& agreement : check.agreements) {
    v1::Agreement* a = out->add_agreements();
    a->set_what(agreement.what);
    a->set_found(agreement.found);
    WriteBand(agreement.expected, a->mutable_expected());
    a->set_unit(agreement.unit);
    a->set_range_met_in_practice(agreement.range);
    a->set_sigmas(agreement.sigmas);
    a->set_rule(Str(agreement.rule));
  }
  for (const plan::Explanation& explanation : check.explanations) {
    v1::Explanation* e = out->add_explanations();
    for (const plan::Correction& correction : explanation.corrections)
      WriteCorrection(correction, e->add_corrections());
    e->set_probability(explanation.probability);
    e->set_group(explanation.group + 1);
    e->set_group_probability(check.group_probabilities[static_cast<size_t>(explanation.group)]);
    for (size_t i = 0; i < explanation.sigmas.size(); ++i) {
      v1::CorrectedAgreement* corrected = e->add_agreements();
      corrected->set_what(check.agreements[i].what);
      corrected->set_sigmas(explanation.sigmas[i]);
    }
  }
  out->set_sound_probability(check.sound_probability);
  out->set_unexplained_probability(check.unexplained_probability);
  for (const plan::Correction& correction : check.unseen) WriteCorrection(correction, out->add_unseen());
  for (const std::string& what : check.stopped_by) out->add_stopped_by(what);
  if (check.next) {
    out->mutable_next()->set_what(check.next->what);
    out->mutable_next()->set_how(check.next->how);
    out->mutable_next()->set_separation_sigmas(check.next->separation_sigmas);
  }
  out->set_may_be_destroyed_next(check.may_be_destroyed_next);
  for (const std::string& text : check.still_to_record) out->add_still_to_record(text);
  WriteRules({check.rules.begin(), check.rules.end()}, out);
}

absl::Status CheckRecord(const v1::CheckRecordRequest& request, v1::CheckRecordResponse* response) {
  std::vector<standards::FieldError> errors;
  const Reader reader(request, "", &errors);
  const plan::Record record = ReadRecord(reader.At("record"), false);
  const std::optional<plan::Moment> moment = reader.Enum<plan::Moment>("moment");
  const plan::Settings settings = ReadCheckSettings(reader);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const absl::StatusOr<plan::RecordCheck> check = plan::CheckRecord(record, settings, moment);
  if (!check.ok()) return check.status();
  response->set_title(record.title);
  Write(*check, response->mutable_check());
  WriteRulesInFull(check->rules, response);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

absl::Status EstimateMissing(const v1::EstimateMissingRequest& request, v1::EstimateMissingResponse* response) {
  std::vector<standards::FieldError> errors;
  v1::EstimateMissingRequest filled = request;
  const std::string taken = request.record().has_winding() ? FillIn(filled.mutable_record()) : "";
  const Reader reader(filled, "", &errors);
  const plan::Record record = ReadRecord(reader.At("record"), false);
  const plan::Settings settings = ReadCheckSettings(reader);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const absl::StatusOr<std::vector<plan::Estimate>> estimates = plan::EstimateMissing(record, settings);
  if (!estimates.ok()) return estimates.status();
  response->set_title(record.title);
  std::vector<absl::string_view> rules;
  for (const plan::Estimate& estimate : *estimates) {
    v1::Estimate* e = response->add_estimates();
    e->set_field(estimate.field);
    e->set_what(estimate.what);
    WriteBand(estimate.value, e->mutable_value());
    e->set_unit(estimate.unit);
    e->set_text(taken.empty() ? estimate.text : absl::StrCat(estimate.text, "; taken for what was left out: ", taken));
    e->set_rule(Str(estimate.rule));
    rules.push_back(estimate.rule);
  }
  WriteRulesInFull(std::move(rules), response);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
