#include <limits>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include "absl/strings/str_cat.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_methods.h"
#include "rpc/archive_pages.h"
#include "rpc/archive_times.h"
#include "rpc/job_checks.h"
#include "rpc/jobs.h"
#include "rpc/methods.h"

// What is decided about a job: the way it is wound, and its release.
namespace coilwright::rpc {
namespace {

using archive::Archive;
using archive::Kind;
using Errors = std::vector<standards::FieldError>;

absl::Status NotSound(const v1::RecordCheck& check, const std::string& winding) {
  return absl::FailedPreconditionError(
      absl::StrCat("the check does not find the record of ", winding, " sound: ", check.summary(),
                   " Nothing should be wound by it; mend the record, or say in despite_check why it is wound"));
}

// The plan of the job's winding and the way chosen, or why it may not be.
absl::Status Choose(const v1::ChoosePlanRequest& request, const v1::ArchivedWinding& winding, int way,
                    v1::ChosenPlan* plan) {
  v1::PlanRewindRequest* asked = plan->mutable_request();
  *asked->mutable_record() = winding.record();
  if (request.has_change()) *asked->mutable_change() = request.change();
  if (request.has_wires()) *asked->mutable_wires() = request.wires();
  if (request.has_tests()) *asked->mutable_tests() = request.tests();
  if (request.has_settings()) *asked->mutable_settings() = request.settings();
  asked->set_way(way);
  v1::PlanRewindResponse planned;
  absl::Status made = PlanRewind(*asked, &planned);
  if (!made.ok()) {
    // What is wrong in the record is no field of this request.
    Errors ours, theirs;
    for (const standards::FieldError& error : standards::FieldErrorsOf(made))
      (error.field.compare(0, 6, "record") == 0 ? theirs : ours).push_back(error);
    if (!ours.empty()) return standards::InvalidFields(ours);
    if (theirs.empty()) return made;
    return absl::FailedPreconditionError(absl::StrCat(winding.name(), " cannot be planned: ", theirs[0].field, ": got ",
                                                      theirs[0].given, ", accepted: ", theirs[0].accepted,
                                                      theirs.size() > 1 ? "; and more" : ""));
  }
  if (planned.record_check().verdict() != v1::CHECK_VERDICT_SOUND && request.despite_check().empty())
    return NotSound(planned.record_check(), winding.name());
  if (planned.options().empty()) {
    return absl::FailedPreconditionError(
        "no wires that may be used make this winding: allow others, or see PlanRewind for what was left out");
  }
  asked->clear_record();
  plan->set_way(way);
  *plan->mutable_option() = planned.options(way - 1);
  *plan->mutable_turns() = planned.turns();
  plan->set_winding_revision(winding.revision().number());
  plan->set_data_revision(planned.data_revision());
  plan->set_chosen_by(request.recorded_by());
  plan->set_despite_check(request.despite_check());
  WriteTime(NowMicros(), plan->mutable_time());
  return absl::OkStatus();
}

}  // namespace

absl::Status ChoosePlan(Archive& archive, const v1::ChoosePlanRequest& request, v1::ChoosePlanResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const std::string name = ReadName(reader, "name", Kind::kJob);
  const std::string etag = ReadEtag(reader, "etag");
  const int way = reader.Count("way", 1, 1000).value_or(1);
  Author author = ReadAuthor(reader);
  author.reason = reader.Text("despite_check");
  for (const char* field : {"change", "wires", "tests", "settings"})
    RefuseLarge(reader, field, reader.At(field).message(), kMostRecordBytes / 4);
  ReadRequestId(reader);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto change = [&](v1::Job& job) -> absl::Status {
    if (job.winding().empty()) {
      return absl::FailedPreconditionError(
          absl::StrCat(name, " has no recorded winding to plan from; UpdateJob names one"));
    }
    const auto winding = WindingOfJob(archive, job.winding());
    if (!winding.ok()) return winding.status();
    job.mutable_revision()->set_what(absl::StrCat("plan chosen: way ", way));
    return Choose(request, *winding, way, (job.clear_plan(), job.mutable_plan()));
  };
  absl::Status chosen = ChangeOnce(archive, request, name, etag, author, change, response->mutable_job());
  if (!chosen.ok()) return chosen;
  const auto winding = archive.Get(response->job().winding());
  if (!winding.ok()) return winding.status();
  for (std::string& caution : PlanCautions(response->job(), winding->revision))
    response->add_cautions(std::move(caution));
  return absl::OkStatus();
}

absl::StatusOr<std::optional<v1::JobReadings>> LatestAssembled(Archive& archive, const std::string& job) {
  archive::Query query;
  query.kind = Kind::kReadings;
  query.parent = job;
  query.stage = v1::STAGE_ASSEMBLED;
  std::optional<v1::JobReadings> latest;
  std::set<std::string> replaced;
  // Newest first: what stands for another is met before it.
  const absl::Status read = ForEach<v1::JobReadings>(archive, query, [&](const v1::JobReadings& readings) {
    if (!readings.replaces().empty()) replaced.insert(readings.replaces());
    if (replaced.count(readings.name()) > 0) return true;
    if (!latest || MicrosOf(readings.taken_time()) > MicrosOf(latest->taken_time())) latest = readings;
    return true;
  });
  if (!read.ok()) return read;
  return latest;
}

namespace {

// Why the machine may not be released without a reason; "" where it may.
absl::StatusOr<std::string> WhyNot(Archive& archive, const v1::Job& job, const std::optional<v1::JobReadings>& latest) {
  if (!latest) return "there are no readings of the assembled machine";
  if (!latest->has_verdicts())
    return absl::StrCat(latest->name(), " could not be judged: ", latest->judging_refused().message());
  if (latest->verdicts().verdict() != v1::WINDING_VERDICT_SOUND) {
    return absl::StrCat("the verdict of ", latest->name(), " is ", VerdictWords(latest->verdicts().verdict()), ": ",
                        latest->verdicts().summary());
  }
  const auto later = ReadAfter(archive, job.name(), std::numeric_limits<int64_t>::min());
  if (!later.ok()) return later.status();
  for (const v1::LaterReadings& one : *later) {
    if (FindsFault(one.verdict()) && MicrosOf(one.taken_time()) > MicrosOf(latest->taken_time()))
      return absl::StrCat(one.readings(), ", taken after ", latest->name(), ", found: ", one.summary());
  }
  if (job.sign_offs().empty()) return "";
  const v1::SignOff& before = *job.sign_offs().rbegin();
  const auto since = ReadAfter(archive, job.name(), MicrosOf(before.time()));
  if (!since.ok()) return since.status();
  return since->empty() ? absl::StrCat("it was released by ", before.person(), " and nothing was read since") : "";
}

}  // namespace

absl::Status SignOffJob(Archive& archive, const v1::SignOffJobRequest& request, v1::SignOffJobResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const std::string name = ReadName(reader, "name", Kind::kJob);
  const std::string etag = ReadEtag(reader, "etag");
  const std::string person = NeedText(reader, "person", "the name of the person who releases it");
  NeedText(reader, "qualification", "what qualifies the person for it");
  reader.Text("statement");
  const std::string despite = reader.Text("despite_verdict");
  ReadRequestId(reader);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto change = [&](v1::Job& job) -> absl::Status {
    const auto latest = LatestAssembled(archive, name);
    if (!latest.ok()) return latest.status();
    const v1::WindingVerdict verdict = *latest ? (*latest)->verdicts().verdict() : v1::WINDING_VERDICT_UNSPECIFIED;
    const auto why = WhyNot(archive, job, *latest);
    if (!why.ok()) return why.status();
    if (!why->empty() && despite.empty()) {
      return absl::FailedPreconditionError(
          absl::StrCat(*why, "; it is released on a sound verdict, or where despite_verdict says why all the same"));
    }
    if (job.sign_offs_size() >= kMostSignOffs)
      return absl::FailedPreconditionError(absl::StrCat(name, " has ", kMostSignOffs, " releases; no job has more"));
    job.mutable_revision()->set_what("released");
    v1::SignOff* sign_off = job.add_sign_offs();
    sign_off->set_person(person);
    sign_off->set_qualification(request.qualification());
    sign_off->set_statement(request.statement());
    sign_off->set_verdict(verdict);
    if (*latest) sign_off->set_readings((*latest)->name());
    sign_off->set_despite_verdict(despite);
    WriteTime(NowMicros(), sign_off->mutable_time());
    return absl::OkStatus();
  };
  return ChangeOnce(archive, request, name, etag, {person, despite}, change, response->mutable_job());
}

}  // namespace coilwright::rpc
