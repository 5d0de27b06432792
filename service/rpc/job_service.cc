#include <optional>
#include <vector>

#include "absl/strings/str_cat.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_methods.h"
#include "rpc/archive_pages.h"
#include "rpc/archive_times.h"
#include "rpc/job_checks.h"
#include "rpc/jobs.h"
#include "rpc/kept_records.h"
#include "rpc/message_paths.h"

namespace coilwright::rpc {
namespace {

using archive::Archive;
using archive::Entry;
using archive::Kind;
using archive::NewEntry;
using Errors = std::vector<standards::FieldError>;

void RefuseSet(const Reader& job, absl::string_view field, bool set, absl::string_view by) {
  if (set) job.Wrong(field, "something", absl::StrCat("nothing; ", by, " sets it"));
}

}  // namespace

absl::StatusOr<v1::ArchivedWinding> WindingOfJob(Archive& archive, const std::string& winding) {
  const auto entry = archive.Get(winding);
  if (!entry.ok()) return entry.status();
  if (entry->deleted) return MarkedAsDeleted(winding);
  v1::ArchivedWinding filled;
  if (absl::Status status = Fill(*entry, &filled); !status.ok()) return status;
  return filled;
}

absl::Status CreateJob(Archive& archive, const v1::CreateJobRequest& request, v1::CreateJobResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const Reader given = reader.At("job");
  ReadJob(given);
  ReadPastTime(given, "opened_time", request.job().machine());
  RefuseSet(given, "stages", !request.job().stages().empty(), "ReachStage");
  RefuseSet(given, "plan", request.job().has_plan(), "ChoosePlan");
  RefuseSet(given, "sign_offs", !request.job().sign_offs().empty(), "SignOffJob");
  if (!request.job().has_machine() && request.job().winding().empty())
    given.Missing("machine", "the machine, or a winding that was recorded of it");
  const std::string name = ReadNewName(reader, "job_id", Kind::kJob);
  const Author author = ReadAuthor(reader);
  ReadRequestId(reader);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto make = [&]() -> absl::StatusOr<NewEntry> {
    v1::Job job = request.job();
    job.clear_revision();
    job.mutable_revision()->set_what("opened");
    if (job.has_opened_time()) WriteTime(MicrosOf(job.opened_time()), job.mutable_opened_time());
    if (!job.winding().empty()) {
      const auto winding = WindingOfJob(archive, job.winding());
      if (!winding.ok()) return winding.status();
      if (!job.has_machine()) *job.mutable_machine() = winding->record().machine();
    }
    if (job.has_opened_time()) RefuseTooEarly(given, "opened_time", MicrosOf(job.opened_time()), job.machine());
    if (!errors.empty()) return standards::InvalidFields(errors);
    NewEntry entry = FirstEntryOf(name, author, std::move(job));
    entry.needs = request.job().winding();
    return entry;
  };
  return WriteOnce(archive, request, make, response->mutable_job());
}

absl::Status GetJob(Archive& archive, const v1::GetJobRequest& request, v1::GetJobResponse* response) {
  if (absl::Status got = GetResource(archive, request, Kind::kJob, response->mutable_job()); !got.ok()) return got;
  if (request.has_revision()) {
    const auto latest = archive.Get(request.name());
    if (!latest.ok()) return latest.status();
    if (latest->revision != request.revision()) return absl::OkStatus();
  }
  return AddCautions(archive, response);
}

absl::Status ListJobs(Archive& archive, const v1::ListJobsRequest& request, v1::ListJobsResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  archive::Query query;
  query.kind = Kind::kJob;
  query.text = reader.Text("text", kMostNameBytes);
  if (!request.winding().empty()) query.parent = ReadName(reader, "winding", Kind::kWinding);
  query.stage = reader.EnumNumber("stage");
  query.deleted_too = request.show_deleted();
  const std::string mark = ListMark(request);
  const int page_size = ReadPageSize(reader, 50, 200);
  query.after = ReadPageToken(reader, mark);
  if (!errors.empty()) return standards::InvalidFields(errors);
  return FillPage(archive, query, mark, page_size, 10, response, [&](const Entry& entry) {
    v1::Job* job = response->add_jobs();
    absl::Status filled = Fill(entry, job);
    v1::Machine shown;
    shown.set_kind(job->machine().kind());
    *shown.mutable_nameplate() = std::move(*job->mutable_machine()->mutable_nameplate());
    *job->mutable_machine() = std::move(shown);
    job->clear_plan();
    return filled;
  });
}

absl::Status UpdateJob(Archive& archive, const v1::UpdateJobRequest& request, v1::UpdateJobResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const Reader given = reader.At("job");
  const std::string name = ReadName(given, "name", Kind::kJob);
  const std::string etag = ReadEtag(given.At("revision"), "etag");
  const Author author = ReadAuthor(given.At("revision"));
  ReadJob(given);
  ReadPastTime(given, "opened_time");
  ReadRequestId(reader);
  const auto mask = {absl::string_view("title"),   absl::string_view("machine"),
                     absl::string_view("winding"), absl::string_view("customer_reference"),
                     absl::string_view("note"),    absl::string_view("opened_time")};
  v1::Job unused;
  ApplyMask(reader, mask, request.job(), &unused);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto change = [&](v1::Job& job) -> absl::Status {
    const std::string before = job.winding();
    ApplyMask(reader, mask, request.job(), &job);
    RefuseWrongValues(given, "machine", job.machine());
    if (job.has_opened_time()) {
      WriteTime(MicrosOf(job.opened_time()), job.mutable_opened_time());
      RefuseTooEarly(given, "opened_time", MicrosOf(job.opened_time()), job.machine());
    }
    if (!errors.empty()) return standards::InvalidFields(errors);
    job.mutable_revision()->set_what(Changed(request.update_mask()));
    if (job.winding() == before) return absl::OkStatus();
    if (job.has_plan()) job.mutable_revision()->mutable_what()->append("; plan taken off");
    job.clear_plan();
    return job.winding().empty() ? absl::OkStatus() : WindingOfJob(archive, job.winding()).status();
  };
  return ChangeOnce(archive, request, name, etag, author, change, response->mutable_job());
}

absl::Status DeleteJob(Archive& archive, const v1::DeleteJobRequest& request, v1::DeleteJobResponse* response) {
  return MarkOnce(archive, request, Kind::kJob, true, response->mutable_job());
}

absl::Status UndeleteJob(Archive& archive, const v1::UndeleteJobRequest& request, v1::UndeleteJobResponse* response) {
  return MarkOnce(archive, request, Kind::kJob, false, response->mutable_job());
}

absl::Status ListJobRevisions(Archive& archive, const v1::ListJobRevisionsRequest& request,
                              v1::ListJobRevisionsResponse* response) {
  return FillHistory<v1::Job>(archive, request, Kind::kJob, response);
}

absl::Status ReachStage(Archive& archive, const v1::ReachStageRequest& request, v1::ReachStageResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const std::string name = ReadName(reader, "name", Kind::kJob);
  const std::string etag = ReadEtag(reader, "etag");
  if (request.stage() == v1::STAGE_UNSPECIFIED) reader.Missing("stage", reader.EnumChoices("stage"));
  const std::optional<int64_t> time = ReadPastTime(reader, "time");
  const Author author = ReadAuthor(reader);
  const std::string note = reader.Text("note", kMostStageNoteBytes);
  ReadRequestId(reader);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto change = [&](v1::Job& job) -> absl::Status {
    if (job.stages_size() >= kMostStages)
      return absl::FailedPreconditionError(
          absl::StrCat(name, " has come to ", kMostStages, " stages; no job has more"));
    if (time) RefuseTooEarly(reader, "time", *time, job.machine());
    if (!errors.empty()) return standards::InvalidFields(errors);
    job.mutable_revision()->set_what(absl::StrCat("stage ", StageWords(request.stage())));
    v1::ReachedStage* reached = job.add_stages();
    reached->set_stage(request.stage());
    WriteTime(time.value_or(NowMicros()), reached->mutable_time());
    reached->set_by(author.recorded_by);
    reached->set_note(note);
    reached->set_day_only(request.day_only() && time);
    return absl::OkStatus();
  };
  return ChangeOnce(archive, request, name, etag, author, change, response->mutable_job());
}

}  // namespace coilwright::rpc
