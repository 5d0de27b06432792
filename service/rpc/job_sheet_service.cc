#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include "absl/strings/str_cat.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_methods.h"
#include "rpc/archive_pages.h"
#include "rpc/archive_times.h"
#include "rpc/call.h"
#include "rpc/certificate.h"
#include "rpc/certified_run.h"
#include "rpc/jobs.h"
#include "rpc/methods.h"
#include "rpc/record_code.h"
#include "rpc/rewind_sheet.h"
#include "rpc/sheets.h"
#include "rpc/write.h"
#include "standards/tables.h"
#include "standards/units.h"
#include "words.h"

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
  std::vector<std::string> cautions;
  std::string code;
  SheetJob job;
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
  const auto entry =
      archive.Get(job.winding(), job.has_plan() ? std::optional<int>(job.plan().winding_revision()) : std::nullopt);
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
  planned.code = winding->code();
  planned.request = job.plan().request();
  *planned.request.mutable_record() = winding->record();
  planned.job = {name, job.title(), job.customer_reference(), job.machine().nameplate()};
  planned.request.set_way(job.plan().way());
  planned.cautions = {got->cautions().begin(), got->cautions().end()};
  if (job.plan().data_revision() != standards::DataRevision()) {
    planned.cautions.push_back(absl::StrCat("planned on data revision ", job.plan().data_revision(),
                                            ", computed anew here on ", Str(standards::DataRevision())));
  }
  return planned;
}

// What is wrong in a plan that was chosen long ago is no field of the request.
absl::Status OfJob(const absl::Status& status) {
  return absl::IsInvalidArgument(status)
             ? absl::FailedPreconditionError(absl::StrCat("its plan cannot be made any more: ", status.message()))
             : status;
}

// What both documents of a plan share.
template <typename Request>
absl::StatusOr<Planned> ReadPlan(Archive* archive, const Request& request, const Reader& reader, Errors* errors) {
  const bool of_job = request.source_case() == Request::kJob;
  if (request.source_case() == Request::SOURCE_NOT_SET) reader.Missing("plan", "a plan to be made, or a job with one");
  const std::string job = of_job ? ReadName(reader, "job", Kind::kJob) : "";
  if (!errors->empty()) return standards::InvalidFields(*errors);
  absl::StatusOr<Planned> planned =
      of_job ? PlanOfJob(archive, job) : Planned{request.plan(), {}, {}, CodeOf(request.plan().record()), {}};
  if (!planned.ok()) return planned.status();
  const absl::Status status = PlanRewind(planned->request, &planned->plan);
  if (!status.ok()) return of_job ? OfJob(status) : standards::UnderField("plan", status);
  return planned;
}

using PlanDocument = sheet::Document (*)(const v1::PlanRewindRequest&, const v1::PlanRewindResponse&,
                                         const std::string&, const print::Units&, const SheetJob&);

template <typename Request, typename Response>
absl::Status MakeOfPlan(Archive* archive, const Request& request, PlanDocument make, bool label, Response* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  SheetChoice choice = ReadSheetChoice(reader.At("document"), "");
  const auto planned = ReadPlan(archive, request, reader, &errors);
  if (!planned.ok()) return planned.status();
  sheet::Document document = make(planned->request, planned->plan, planned->code, choice.units, planned->job);
  document.warnings.insert(document.warnings.begin(), planned->cautions.begin(), planned->cautions.end());
  if (choice.title.empty()) choice.title = document.subtitle;
  document.subtitle = choice.title;
  const bool letter = choice.paper == sheet::Paper::kLetter;
  const sheet::PageSize size = !label   ? sheet::SizeOf(choice.paper, false)
                               : letter ? sheet::PageSize{4 * standards::kMmPerInch, 3 * standards::kMmPerInch}
                                        : sheet::PageSize{105, 74};  // A7, ISO 216
  response->set_data_revision(Str(standards::DataRevision()));
  response->set_may_be_wound(MayBeWound(planned->plan));
  return MakeDocument(choice, size, document, response->mutable_document());
}

// Of every stage the readings taken last that no others stand for, in the order of the stages.
absl::StatusOr<std::vector<v1::JobReadings>> LastOfEveryStage(Archive& archive, const std::string& job) {
  archive::Query query;
  query.kind = Kind::kReadings;
  query.parent = job;
  std::map<int, v1::JobReadings> last;
  std::set<std::string> replaced;
  // Newest first: what stands for another is met before it.
  const absl::Status read = ForEach<v1::JobReadings>(archive, query, [&](const v1::JobReadings& readings) {
    if (!readings.replaces().empty()) replaced.insert(readings.replaces());
    if (replaced.count(readings.name()) > 0) return true;
    const auto [at, added] = last.emplace(readings.request().stage(), readings);
    if (!added && MicrosOf(readings.taken_time()) > MicrosOf(at->second.taken_time())) at->second = readings;
    return true;
  });
  if (!read.ok()) return read;
  std::vector<v1::JobReadings> all;
  for (auto& [stage, readings] : last) all.push_back(std::move(readings));
  return all;
}

absl::Status FillFromJob(Archive* archive, const std::string& name, CertifiedTests* tests, std::string* code) {
  const auto got = JobNamed(archive, name);
  if (!got.ok()) return got.status();
  const v1::Job& job = got->job();
  auto readings = LastOfEveryStage(*archive, name);
  if (!readings.ok()) return readings.status();
  if (readings->empty())
    return absl::FailedPreconditionError(absl::StrCat(name, " has no readings yet: nothing to certify"));
  tests->title = job.title();
  tests->job = name;
  tests->customer = job.customer_reference();
  tests->machine = job.machine();
  tests->readings = *std::move(readings);
  tests->cautions = {got->cautions().begin(), got->cautions().end()};
  if (!job.sign_offs().empty()) tests->release = job.sign_offs(job.sign_offs_size() - 1);
  if (!job.winding().empty()) {
    const auto winding = WindingOf(*archive, job);
    if (!winding.ok()) return winding.status();
    *code = winding->code();
  }
  // A machine without a serial number has no trend, and a certificate all the same.
  v1::GetMegohmTrendRequest trend;
  trend.set_job(name);
  if (!GetMegohmTrend(*archive, trend, &tests->trend).ok()) tests->trend.Clear();
  return absl::OkStatus();
}

// Those that an insulation run stands beside: of the last stage with megohms, else of the last.
v1::JobReadings& StageOfRun(std::vector<v1::JobReadings>& all) {
  const auto found = std::find_if(all.rbegin(), all.rend(), [](const v1::JobReadings& readings) {
    const auto& of = readings.request().readings();
    return std::any_of(of.begin(), of.end(), [](const v1::Reading& reading) { return reading.has_megohms(); });
  });
  return found == all.rend() ? all.back() : *found;
}

// What the run has read is not missing beside it.
void LeaveOutRead(const v1::RunInsulationTestResponse& end, v1::JudgeReadingsResponse* verdicts) {
  auto* const missing = verdicts->mutable_missing();
  const auto read = [&](const v1::MissingTest& test) {
    return (test.kind() == v1::TEST_KIND_POLARIZATION_INDEX && end.polarization_index().has_value()) ||
           (test.kind() == v1::TEST_KIND_ABSORPTION_RATIO && end.absorption_ratio().has_value());
  };
  missing->erase(std::remove_if(missing->begin(), missing->end(), read), missing->end());
}

constexpr int kMostRunSamples = 20000;

}  // namespace

absl::Status MakeRewindSheet(Archive* archive, const v1::MakeRewindSheetRequest& request,
                             v1::MakeRewindSheetResponse* response) {
  return MakeOfPlan(archive, request, RewindSheet, false, response);
}

absl::Status MakeConnectionLabel(Archive* archive, const v1::MakeConnectionLabelRequest& request,
                                 v1::MakeConnectionLabelResponse* response) {
  return MakeOfPlan(archive, request, ConnectionLabel, true, response);
}

absl::Status MakeTestCertificate(Archive* archive, const v1::MakeTestCertificateRequest& request,
                                 v1::MakeTestCertificateResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  SheetChoice choice = ReadSheetChoice(reader.At("document"), "");
  reader.Each("run_samples", kMostRunSamples);
  if (request.run_samples().empty() && request.has_run_setup())
    reader.Missing("run_samples", "the samples of the run that was set up so");
  const bool of_job = request.source_case() == v1::MakeTestCertificateRequest::kJob;
  if (request.source_case() == v1::MakeTestCertificateRequest::SOURCE_NOT_SET)
    reader.Missing("readings", "readings to be judged, or a job with some");
  const std::string job = of_job ? ReadName(reader, "job", Kind::kJob) : "";
  if (!errors.empty()) return standards::InvalidFields(errors);
  CertifiedTests tests;
  std::string code;
  if (of_job) {
    if (absl::Status filled = FillFromJob(archive, job, &tests, &code); !filled.ok()) return filled;
  } else {
    v1::JobReadings judged;
    *judged.mutable_request() = request.readings();
    const absl::Status status = JudgeReadings(request.readings(), judged.mutable_verdicts());
    if (!status.ok()) return standards::UnderField("readings", status);
    tests.machine = request.readings().machine();
    tests.readings.push_back(std::move(judged));
  }
  if (!request.run_samples().empty()) {
    v1::JobReadings& stage = StageOfRun(tests.readings);
    auto summary = SumUpRun(request, stage.request());
    if (!summary.ok()) return summary.status();
    if (stage.has_verdicts()) LeaveOutRead(*summary, stage.mutable_verdicts());
    tests.run = {request.run_samples().begin(), request.run_samples().end()};
    tests.run_summary = *std::move(summary);
  }
  if (!choice.title.empty()) tests.title = choice.title;
  choice.title = tests.title;
  response->set_data_revision(Str(standards::DataRevision()));
  return MakeDocument(choice, sheet::SizeOf(choice.paper, false), TestCertificate(tests, code),
                      response->mutable_document());
}

}  // namespace coilwright::rpc
