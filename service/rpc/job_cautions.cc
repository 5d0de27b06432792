#include <algorithm>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "absl/status/status.h"
#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/strip.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_pages.h"
#include "rpc/archive_times.h"
#include "rpc/jobs.h"

// What was decided about a job and does not hold any more.
namespace coilwright::rpc {
namespace {

using archive::Archive;
using archive::Kind;

constexpr size_t kMostLater = 50;

std::string WordsOf(const std::string& name, absl::string_view prefix) {
  return absl::StrReplaceAll(absl::AsciiStrToLower(absl::StripPrefix(name, prefix)), {{"_", " "}});
}

}  // namespace

std::string StageWords(v1::Stage stage) { return WordsOf(v1::Stage_Name(stage), "STAGE_"); }
std::string VerdictWords(v1::WindingVerdict verdict) {
  return WordsOf(v1::WindingVerdict_Name(verdict), "WINDING_VERDICT_");
}

bool FindsFault(v1::WindingVerdict verdict) { return verdict >= v1::WINDING_VERDICT_DRY_OUT; }

std::vector<std::string> PlanCautions(const v1::Job& job, int latest) {
  std::vector<std::string> cautions;
  const v1::ChosenPlan& plan = job.plan();
  if (!job.has_plan()) return cautions;
  if (plan.winding_revision() != latest) {
    cautions.push_back(absl::StrCat("The plan is of revision ", plan.winding_revision(), " of ", job.winding(),
                                    ", which is at revision ", latest,
                                    " now: see what was corrected, and choose the plan again before it is wound."));
  }
  if (!plan.despite_check().empty()) {
    cautions.push_back(
        absl::StrCat("The plan was chosen although the check did not find the record sound: ", plan.despite_check()));
  }
  return cautions;
}

absl::StatusOr<std::vector<v1::LaterReadings>> ReadAfter(Archive& archive, const std::string& job, int64_t micros) {
  archive::Query query;
  query.kind = Kind::kReadings;
  query.parent = job;
  std::vector<v1::LaterReadings> later;
  std::set<std::string> replaced;
  // Newest first: what stands for another is met before it.
  const absl::Status read = ForEach<v1::JobReadings>(archive, query, [&](const v1::JobReadings& readings) {
    if (MicrosOf(readings.create_time()) <= micros) return false;
    if (!readings.replaces().empty()) replaced.insert(readings.replaces());
    if (replaced.count(readings.name()) > 0) return true;
    v1::LaterReadings& one = later.emplace_back();
    one.set_readings(readings.name());
    one.set_stage(readings.request().stage());
    *one.mutable_taken_time() = readings.taken_time();
    one.set_taken_day_only(readings.taken_day_only());
    one.set_verdict(readings.verdicts().verdict());
    one.set_summary(readings.has_verdicts() ? readings.verdicts().summary() : readings.judging_refused().message());
    return true;
  });
  if (!read.ok()) return read;
  return later;
}

absl::Status AddCautions(Archive& archive, v1::GetJobResponse* response) {
  const v1::Job& job = response->job();
  if (!job.winding().empty()) {
    const auto winding = archive.Get(job.winding());
    if (winding.ok()) {
      response->set_latest_winding_revision(winding->revision);
      for (std::string& caution : PlanCautions(job, winding->revision)) response->add_cautions(std::move(caution));
    } else {
      response->add_cautions(std::string(winding.status().message()));
    }
  }
  if (job.sign_offs().empty()) return absl::OkStatus();
  const v1::SignOff& release = *job.sign_offs().rbegin();
  auto later = ReadAfter(archive, job.name(), MicrosOf(release.time()));
  if (absl::IsDataLoss(later.status())) {
    response->add_cautions(absl::StrCat("What was read after the release is not known: ", later.status().message()));
    return absl::OkStatus();
  }
  if (!later.ok()) return later.status();
  const auto faulty = std::find_if(later->begin(), later->end(),
                                   [](const v1::LaterReadings& one) { return FindsFault(one.verdict()); });
  if (faulty != later->end()) {
    response->add_cautions(absl::StrCat("After its release ", faulty->readings(), " found: ", faulty->summary(),
                                        "; the release does not cover that."));
  } else if (!later->empty()) {
    response->add_cautions("What was read after the release is not part of what it rests on.");
  }
  std::reverse(later->begin(), later->end());
  if (later->size() > kMostLater) later->resize(kMostLater);
  for (v1::LaterReadings& one : *later) *response->add_later_readings() = std::move(one);
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
