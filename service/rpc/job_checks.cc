#include "rpc/job_checks.h"

#include <vector>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "coilwright/v1/archive.pb.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_times.h"
#include "rpc/jobs.h"
#include "rpc/kept_records.h"
#include "rpc/readings.h"

namespace coilwright::rpc {
namespace {

void NeedTime(const Reader& reader) {
  if (!ReadTime(reader, "time") && !reader.HasErrorAt("time")) reader.Missing("time", "a time");
}

}  // namespace

void ReadJob(const Reader& job) {
  const auto& message = static_cast<const v1::Job&>(job.message());
  job.Text("title");
  job.Text("customer_reference", 500);
  ReadTime(job, "opened_time");
  job.Text("note", kMostNoteBytes);
  if (!message.winding().empty()) ReadName(job, "winding", archive::Kind::kWinding);
  RefuseWrongValues(job, "machine", message.machine());
}

void ReadWorkDone(const Reader& job) {
  for (const Reader& stage : job.Each("stages", kMostStages)) {
    if (stage.EnumNumber("stage") == 0) stage.Missing("stage", stage.EnumChoices("stage"));
    NeedTime(stage);
    NeedText(stage, "by", "who says so");
    stage.Text("note", kMostStageNoteBytes);
  }
  if (job.Has("plan")) {
    const Reader plan = job.At("plan");
    RefuseLarge(job, "plan", plan.message(), kMostRecordBytes);
    const auto& message = static_cast<const v1::ChosenPlan&>(plan.message());
    if (message.way() < 1) plan.Wrong("way", absl::StrCat(message.way()), "1 or more");
    if (message.winding_revision() < 1)
      plan.Wrong("winding_revision", absl::StrCat(message.winding_revision()), "1 or more");
    NeedTime(plan);
    NeedText(plan, "chosen_by", "who chose it");
    plan.Text("data_revision", kMostNameBytes);
    plan.Text("despite_check");
  }
  for (const Reader& sign_off : job.Each("sign_offs", kMostSignOffs)) {
    NeedText(sign_off, "person", "the name of the person who released it");
    NeedText(sign_off, "qualification", "what qualified the person for it");
    sign_off.Text("statement");
    sign_off.Text("despite_verdict");
    if (!sign_off.Text("readings").empty()) ReadName(sign_off, "readings", archive::Kind::kReadings);
    NeedTime(sign_off);
  }
}

void RefuseWrongReadings(const Reader& parent, absl::string_view field, const v1::JudgeReadingsRequest& request) {
  std::vector<standards::FieldError> wrong, lacking;
  const Reader reader(request, "", &wrong, &lacking);
  ReadJudgeCase(reader);
  ReadReadings(reader);
  for (const standards::FieldError& error : lacking) {
    if (error.field == "stage" || absl::StartsWith(error.field, "readings")) wrong.push_back(error);
  }
  if (!wrong.empty()) parent.Add(field, standards::InvalidFields(wrong));
}

int PolesOf(const v1::Nameplate& plate) { return plate.has_poles() ? plate.poles() : 2 * plate.pole_pairs(); }

bool IsWinding(v1::Stage stage) {
  return stage == v1::STAGE_WOUND_STAR_OPEN || stage == v1::STAGE_WOUND_BEFORE_TREATMENT || stage == v1::STAGE_TREATED;
}

absl::Status MarkedAsDeleted(absl::string_view name) {
  return absl::FailedPreconditionError(absl::StrCat(name, " is marked as deleted: undelete it first"));
}

bool AreUnlike(const v1::Machine& a, const v1::Machine& b) {
  const auto differ = [](int x, int y) { return x != 0 && y != 0 && x != y; };
  return differ(a.kind(), b.kind()) || differ(PolesOf(a.nameplate()), PolesOf(b.nameplate()));
}

}  // namespace coilwright::rpc
