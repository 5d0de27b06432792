#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include "absl/strings/str_cat.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_methods.h"
#include "rpc/archive_pages.h"
#include "rpc/archive_times.h"
#include "rpc/certificate.h"
#include "rpc/jobs.h"
#include "rpc/methods.h"
#include "rpc/record_code.h"
#include "rpc/rewind_sheet.h"
#include "rpc/sheets.h"
#include "standards/tables.h"

// Documents of a job, and those of a plan or of readings that are kept nowhere.
namespace coilwright::rpc {
namespace {

using archive::Archive;
using archive::Kind;
using Errors = std::vector<standards::FieldError>;

// A plan as it is computed today, and what is to be said of it.
struct Planned {
  v1::PlanRewindRequest request;
  v1::PlanRewindResponse plan;
  int way = 1;
  std::vector<std::string> cautions;
};

absl::StatusOr<v1::GetJobResponse> JobNamed(Archive* archive, const std::string& name) {
  if (archive == nullptr) return NoArchive();
  v1::GetJobRequest get;
  get.set_name(name);
  v1::GetJobResponse got;
  if (absl::Status status = GetJob(*archive, get, &got); !status.ok()) return status;
  return got;
}

// The winding of a job as its plan was made from it, or as it is now.
absl::StatusOr<v1::ArchivedWinding> WindingOf(Archive& archive, const v1::Job& job) {
  const auto entry = archive.Get(
      job.winding(), job.has_plan() ? std::optional<int>(job.plan().winding_revision()) : std::nullopt);
  if (!entry.ok()) return entry.status();
  v1::ArchivedWinding winding;
  if (absl::Status filled = Fill(*entry, &winding); !filled.ok()) return filled;
  return winding;
}

absl::StatusOr<Planned> PlanOfJob(Archive* archive, const std::string& name) {
  const auto got = JobNamed(archive, name);
  if (!got.ok()) return got.status();
  const v1::Job& job = got->job();
  if (!job.has_plan()) {
    return absl::FailedPreconditionError(
        absl::StrCat(name, " has no plan yet: ChoosePlan takes one of the ways that PlanRewind answers"));
  }
  const auto winding = WindingOf(*archive, job);
  if (!winding.ok()) return winding.status();
  Planned planned;
  planned.request = job.plan().request();
  *planned.request.mutable_record() = winding->record();
  if (!job.title().empty()) planned.request.mutable_record()->set_title(job.title());
  planned.way = job.plan().way();
  planned.cautions = {got->cautions().begin(), got->cautions().end()};
  if (job.plan().data_revision() != standards::DataRevision()) {
    planned.cautions.push_back(absl::StrCat("planned on data revision ", job.plan().data_revision(),
                                            ", computed anew here on ", Str(standards::DataRevision())));
  }
  return planned;
}

// What both documents of a plan share.
template <typename Request>
absl::StatusOr<Planned> ReadPlan(Archive* archive, const Request& request, const Reader& reader, Errors* errors) {
  Planned planned;
  planned.way = 1;
  if (request.source_case() == Request::kPlan) planned.request = request.plan();
  if (request.source_case() == Request::SOURCE_NOT_SET) reader.Missing("plan", "a plan to be made, or a job with one");
  std::string job;
  if (request.source_case() == Request::kJob) job = ReadName(reader, "job", Kind::kJob);
  if (!errors->empty()) return standards::InvalidFields(*errors);
  if (!job.empty()) {
    auto of_job = PlanOfJob(archive, job);
    if (!of_job.ok()) return of_job.status();
    planned = *std::move(of_job);
  }
  const absl::Status status = PlanRewind(planned.request, &planned.plan);
  if (!status.ok()) return job.empty() ? standards::UnderField("plan", status) : status;
  return planned;
}

}  // namespace
}  // namespace coilwright::rpc
