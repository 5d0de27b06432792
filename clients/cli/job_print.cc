#include "job_print.h"

#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "archive_print.h"
#include "archive_text.h"
#include "judge_print.h"
#include "plan_print.h"
#include "request.h"
#include "text.h"
#include "wire_print.h"
#include "words.h"

namespace coilwright::cli {
namespace {

std::string Titled(const v1::Job& job) {
  return absl::StrCat(job.name(), job.title().empty() ? "" : ": ", job.title());
}

std::string VerdictOf(const v1::JobReadings& readings) {
  if (!readings.has_verdicts()) return absl::StrCat("not judged: ", readings.judging_refused().message());
  return readings.verdicts().summary();
}

}  // namespace

std::string VerdictText(const v1::SignOff& release) {
  if (release.verdict() == v1::WINDING_VERDICT_UNSPECIFIED) return "NONE: the assembled machine was not judged";
  return release.verdict() == v1::WINDING_VERDICT_SOUND
             ? "sound"
             : absl::StrCat("NOT found sound: ", EnumText(release.verdict()));
}

std::string LatestStage(const v1::Job& job) {
  if (job.stages().empty()) return "none yet";
  const v1::ReachedStage& stage = job.stages(job.stages_size() - 1);
  return absl::StrCat(EnumText(stage.stage()), ", ", When(stage.time(), stage.day_only()), " by ", stage.by());
}

void PrintChosenPlan(const v1::ChosenPlan& plan, const Units& units, Page* page) {
  page->Heading(absl::StrCat("Plan chosen: way ", plan.way(), ", ", StrandWords(plan.option().conductor())));
  page->Facts({{"chosen", absl::StrCat(Moment(plan.time()), " by ", plan.chosen_by())},
               {"planned from", absl::StrCat("revision ", plan.winding_revision(), " of the winding, data revision ",
                                             plan.data_revision())}});
  PrintTurns(plan.turns(), page);
  PrintOption(plan.option(), "The way in full", units, page);
}

void PrintReadingsList(const v1::ListReadingsResponse& readings, Page* page) {
  Table table({{"readings", Table::Align::kRight}, {"stage", {}}, {"taken", {}}, {"by", {}}, {"verdict", {}}});
  for (const v1::JobReadings& r : readings.readings()) {
    table.Add({r.name().substr(r.name().rfind('/') + 1), EnumText(r.request().stage()),
               When(r.taken_time(), r.taken_day_only()), r.taken_by(), VerdictOf(r)});
    std::vector<std::string> notes;
    if (!r.replaces().empty()) notes.push_back(absl::StrCat("in place of ", r.replaces()));
    if (!r.note().empty()) notes.push_back(r.note());
    table.Note(absl::StrJoin(notes, "; "));
  }
  page->Add(table);
}

std::string PrintJob(const v1::GetJobResponse& answer, const v1::ListReadingsResponse& readings, const Units& units) {
  const v1::Job& job = answer.job();
  Page page;
  page.Title(Titled(job));
  if (job.revision().deleted()) page.Item("SET ASIDE: lists leave it out", "!");
  for (const std::string& caution : answer.cautions()) page.Item(caution, "!");
  const v1::Nameplate& plate = job.machine().nameplate();
  page.Facts({{"machine", PlateText(plate)},
              {"on its plate", PlateWords(plate)},
              {"winding", job.winding()},
              {"customer", job.customer_reference()},
              {"note", job.note()},
              {"opened", job.has_opened_time() ? Day(job.opened_time()) : Moment(job.create_time())},
              {"revision", RevisionText(job.revision())}});
  page.Heading(job.stages().empty() ? "Stages: none yet" : "Stages");
  Table stages({{"", {}}, {"", {}}, {"", {}}, {"", {}}});
  for (const v1::ReachedStage& stage : job.stages())
    stages.Add({When(stage.time(), stage.day_only()), EnumText(stage.stage()), stage.by(), stage.note()});
  page.Add(stages);
  if (job.has_plan()) PrintChosenPlan(job.plan(), units, &page);
  page.Heading(readings.readings().empty() ? "Readings: none yet" : "Readings");
  PrintReadingsList(readings, &page);
  page.Heading(job.sign_offs().empty() ? "Released: not yet" : "Released");
  for (const v1::SignOff& release : job.sign_offs()) {
    page.Facts({{"when", Moment(release.time())},
                {"by", absl::StrCat(release.person(), ", ", release.qualification())},
                {"statement", release.statement()},
                {"verdict", VerdictText(release)},
                {"of readings", release.readings()},
                {"despite that", release.despite_verdict()}});
  }
  if (!answer.later_readings().empty()) page.Heading("Read after the release");
  Table later({{"readings", Table::Align::kRight}, {"stage", {}}, {"taken", {}}, {"verdict", {}}});
  for (const v1::LaterReadings& one : answer.later_readings()) {
    later.Add({one.readings().substr(one.readings().rfind('/') + 1), EnumText(one.stage()),
               When(one.taken_time(), one.taken_day_only()),
               one.verdict() == v1::WINDING_VERDICT_UNSPECIFIED ? absl::StrCat("not judged: ", one.summary())
                                                                : one.summary()});
  }
  page.Add(later);
  return page.text();
}

std::string PrintJobs(const v1::ListJobsResponse& list) {
  Page page;
  Table table({{"job", {}}, {"stage", {}}, {"machine", {}}, {"winding", {}}, {"opened", {}}, {"customer", {}}});
  for (const v1::Job& job : list.jobs()) {
    const std::string stage = job.stages().empty() ? "-" : EnumText(job.stages(job.stages_size() - 1).stage());
    table.Add({ShortName(job.name()), job.revision().deleted() ? "SET ASIDE" : stage,
               PlateText(job.machine().nameplate()), ShortName(job.winding()),
               Day(job.has_opened_time() ? job.opened_time() : job.create_time()), job.customer_reference()});
    const std::string words = PlateWords(job.machine().nameplate());
    table.Note(absl::StrCat(job.title(), job.title().empty() || words.empty() ? "" : "; ", words));
  }
  page.Add(table);
  return page.text();
}

std::string PrintReadings(const v1::JobReadings& readings) {
  Page page;
  page.Title(readings.name());
  page.Facts(
      {{"taken", absl::StrCat(When(readings.taken_time(), readings.taken_day_only()), " by ", readings.taken_by())},
       {"in place of", readings.replaces()},
       {"note", readings.note()}});
  page.Blank();
  if (readings.has_verdicts())
    return absl::StrCat(page.text(), PrintJudgement(readings.request(), readings.verdicts()));
  page.Title("Kept, but not judged");
  page.Item(readings.judging_refused().message());
  return page.text();
}

}  // namespace coilwright::cli
