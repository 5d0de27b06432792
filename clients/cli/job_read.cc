#include "job_read.h"

#include <algorithm>
#include <tuple>
#include <vector>

#include "absl/strings/str_cat.h"
#include "archive_paging.h"
#include "archive_text.h"
#include "request.h"

namespace coilwright::cli {

absl::StatusOr<v1::Job> LatestJob(Session& session, const std::string& word) {
  const auto named = ReadName(word, {"jobs"});
  if (!named.ok()) return named.status();
  if (named->revision) return absl::InvalidArgumentError("only the latest revision goes on; accepted: NAME alone");
  v1::GetJobRequest request;
  request.set_name(named->name);
  v1::GetJobResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  return std::move(*answer.mutable_job());
}

absl::Status AllReadings(Session& session, const std::string& job, v1::Stage stage, v1::ListReadingsResponse* all) {
  v1::ListReadingsRequest request;
  request.set_job(job);
  request.set_stage(stage);
  request.set_page_size(50);
  do {
    v1::ListReadingsResponse page;
    if (absl::Status called = session.Call(request, &page); !called.ok()) return called;
    request.set_page_token(page.next_page_token());
    page.clear_next_page_token();
    TellDamaged(session, page.damaged());
    all->MergeFrom(page);
  } while (!request.page_token().empty());
  return absl::OkStatus();
}

std::string PrintJobHistory(const v1::Job& job, const v1::ListJobRevisionsResponse& revisions,
                            const v1::ListReadingsResponse& readings) {
  struct Happened {
    google::protobuf::Timestamp time;
    std::string what, by, detail;
  };
  std::vector<Happened> all;
  for (const v1::Revision& revision : revisions.revisions()) {
    const std::string& what = revision.what();
    all.push_back({revision.time(), absl::StrCat("revision ", revision.number()), revision.recorded_by(),
                   absl::StrCat(what, what.empty() || revision.reason().empty() ? "" : ": ", revision.reason())});
  }
  for (const v1::JobReadings& r : readings.readings()) {
    all.push_back(
        {r.create_time(), absl::StrCat("readings ", r.name().substr(r.name().rfind('/') + 1)), r.taken_by(),
         absl::StrCat(EnumText(r.request().stage()), ": ", r.has_verdicts() ? r.verdicts().summary() : "not judged")});
  }
  std::stable_sort(all.begin(), all.end(), [](const Happened& a, const Happened& b) {
    return std::make_tuple(a.time.seconds(), a.time.nanos()) > std::make_tuple(b.time.seconds(), b.time.nanos());
  });
  Page page;
  page.Title(job.name());
  Table table({{"when", {}}, {"what", {}}, {"by", {}}, {"", {}}});
  for (const Happened& h : all) table.Add({Moment(h.time), h.what, h.by, h.detail});
  page.Add(table);
  if (!revisions.next_page_token().empty())
    page.Item(absl::StrCat("earlier revisions: --page ", revisions.next_page_token()));
  return page.text();
}

}  // namespace coilwright::cli
