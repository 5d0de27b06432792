#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "archive_text.h"
#include "coilwright/v1/job_service.pb.h"
#include "command.h"
#include "job_print.h"
#include "job_read.h"
#include "judge_readings.h"
#include "plan_request.h"
#include "request.h"
#include "test_choice.h"
#include "wire_choice.h"

namespace coilwright::cli {
namespace {

// Reads the job, so that the change follows what was read, unless --etag says what it follows.
template <class Request>
absl::Status Follow(Session& session, Request* request) {
  const auto job = LatestJob(session, session.arguments.words()[0]);
  if (!job.ok()) return job.status();
  request->set_name(job->name());
  request->set_etag(job->revision().etag());
  return absl::OkStatus();
}

absl::Status StageJob(Session& session) {
  if (absl::Status words =
          ExpectWords(session.arguments, 2, 2, absl::StrCat(kJobName, ", and the STAGE it has come to"));
      !words.ok())
    return words;
  v1::ReachStageRequest request;
  if (absl::Status set = SetField(&request, "stage", session.arguments.words()[1]); !set.ok())
    return absl::Status(set.code(), absl::StrCat("STAGE: ", set.message()));
  if (session.arguments.Text("by").empty()) return absl::InvalidArgumentError("missing: --by PERSON, who says so");
  if (session.arguments.Has("time")) {
    bool day_only = false;
    if (absl::Status read = ReadTimeFlag(session.arguments, "time", request.mutable_time(), &day_only); !read.ok())
      return read;
    request.set_day_only(day_only);
  }
  if (absl::Status read = Follow(session, &request); !read.ok()) return read;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  v1::ReachStageResponse answer;
  if (absl::Status written = session.Write(&request, &answer); !written.ok()) return InWordsOfCommands(written);
  session.out =
      session.json ? ToJson(answer) : absl::StrCat(answer.job().name(), "\n  stage  ", LatestStage(answer.job()), "\n");
  return absl::OkStatus();
}

absl::Status PlanJob(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, kJobName); !words.ok()) return words;
  if (session.arguments.Text("by").empty()) return absl::InvalidArgumentError("missing: --by PERSON, who chooses it");
  v1::ChoosePlanRequest request;
  if (absl::Status shelf = FillWireChoice(session, request.mutable_wires()); !shelf.ok()) return shelf;
  if (absl::Status read = Follow(session, &request); !read.ok()) return read;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  v1::ChoosePlanResponse answer;
  if (absl::Status written = session.Write(&request, &answer); !written.ok()) return InWordsOfCommands(written);
  if (session.json) {
    session.out = ToJson(answer);
    return absl::OkStatus();
  }
  Page page;
  page.Title(answer.job().name());
  for (const std::string& caution : answer.cautions()) page.Item(caution, "!");
  PrintChosenPlan(answer.job().plan(), session.units, &page);
  session.out = page.text();
  return absl::OkStatus();
}

// "jobs/x/readings/2" names one set of readings, whatever stands before "jobs/".
bool NamesReadings(absl::string_view word) { return absl::StrContains(word, "/readings/"); }

absl::Status ShowReadings(Session& session, const std::string& word) {
  if (NamesReadings(word)) {
    v1::GetReadingsRequest request;
    request.set_name(absl::StartsWith(word, "jobs/") ? word : absl::StrCat("jobs/", word));
    v1::GetReadingsResponse answer;
    if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
    if (!answer.readings().has_verdicts()) session.exit_status = kExitDoubtful;
    session.out = session.json ? ToJson(answer) : PrintReadings(answer.readings());
    return absl::OkStatus();
  }
  const auto named = ReadName(word, {"jobs"});
  if (!named.ok()) return named.status();
  v1::ListReadingsRequest stage;
  if (session.arguments.Has("stage")) {
    if (absl::Status set = SetField(&stage, "stage", session.arguments.Text("stage")); !set.ok())
      return absl::Status(set.code(), absl::StrCat("--stage: ", set.message()));
  }
  v1::ListReadingsResponse all;
  if (absl::Status read = AllReadings(session, named->name, stage.stage(), &all); !read.ok()) return read;
  if (session.json) {
    session.out = ToJson(all);
    return absl::OkStatus();
  }
  Page page;
  page.Title(absl::StrCat(named->name, all.readings().empty() ? ": no readings" : ": readings"));
  PrintReadingsList(all, &page);
  if (!all.readings().empty()) {
    page.Blank();
    page.Paragraph(absl::StrCat("One in full: coilwright job readings ", named->name, "/readings/N"));
  }
  session.out = page.text();
  return absl::OkStatus();
}

absl::Status ReadingsOfJob(Session& session) {
  const Arguments& arguments = session.arguments;
  if (arguments.Has("template")) return PrintReadingsTemplate(session);
  if (absl::Status words = ExpectWords(arguments, 1, 2, absl::StrCat(kJobName, ", and a FILE with readings to add"));
      !words.ok())
    return words;
  const auto& words = arguments.words();
  bool adds = words.size() == 2;
  for (const Flag& flag : ReadingFlags()) adds = adds || arguments.Has(flag.name);
  if (!adds) {
    for (const char* flag : {"by", "taken", "replaces", "note"}) {
      if (arguments.Has(flag)) {
        return absl::InvalidArgumentError(absl::StrCat(
            "--", flag, ": no readings to add, in a FILE or as flags such as --uv 1.02 --megohms 850@22C"));
      }
    }
    return ShowReadings(session, words[0]);
  }
  const auto named = ReadName(words[0], {"jobs"});
  if (!named.ok()) return named.status();
  if (NamesReadings(words[0]))
    return absl::InvalidArgumentError("readings are never changed; accepted: the NAME of the job, to add to it");
  if (arguments.Text("by").empty()) return absl::InvalidArgumentError("missing: --by PERSON, who took them");
  v1::AddReadingsRequest request;
  request.set_job(named->name);
  FieldNamer name = FlagNamer(arguments);
  if (absl::Status read = ReadReadings(session, words.size() == 2 ? words[1] : "", request.mutable_readings(), &name);
      !read.ok())
    return read;
  if (absl::Status filled = FillRequest(arguments, &request); !filled.ok()) return filled;
  if (request.readings().stage() == v1::STAGE_UNSPECIFIED) {
    v1::ReachStageRequest any;
    return absl::InvalidArgumentError(
        absl::StrCat("missing: --stage, at which they were taken; ", SetField(&any, "stage", "").message()));
  }
  if (arguments.Has("taken")) {
    bool day_only = false;
    if (absl::Status read = ReadTimeFlag(arguments, "taken", request.mutable_taken_time(), &day_only); !read.ok())
      return read;
    request.set_taken_day_only(day_only);
  }
  if (!request.replaces().empty() && request.replaces().find_first_not_of("0123456789") == std::string::npos)
    request.set_replaces(absl::StrCat(named->name, "/readings/", request.replaces()));
  v1::AddReadingsResponse answer;
  const absl::Status written = session.connection.Write(&request, &answer, [&](const std::string& field) {
    // What a file of readings says stands below "readings" here.
    const absl::string_view below = "readings.";
    return name(absl::StartsWith(field, below) && arguments.GivenFlagFor(field).empty() ? field.substr(below.size())
                                                                                        : field);
  });
  if (!written.ok()) return InWordsOfCommands(written);
  if (!answer.readings().has_verdicts()) session.exit_status = kExitDoubtful;
  session.out = session.json ? ToJson(answer) : PrintReadings(answer.readings());
  return absl::OkStatus();
}

absl::Status SignOffJob(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, kJobName); !words.ok()) return words;
  for (const char* flag : {"person", "qualification"}) {
    if (session.arguments.Text(flag).empty()) {
      return absl::InvalidArgumentError(
          absl::StrCat("missing: --", flag,
                       "; a machine is released by a named person who is qualified for it where it goes back to"));
    }
  }
  v1::SignOffJobRequest request;
  if (absl::Status read = Follow(session, &request); !read.ok()) return read;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  v1::SignOffJobResponse answer;
  if (absl::Status written = session.Write(&request, &answer); !written.ok()) return InWordsOfCommands(written);
  if (session.json) {
    session.out = ToJson(answer);
    return absl::OkStatus();
  }
  Page page;
  page.Title(answer.job().name());
  const v1::SignOff& release = answer.job().sign_offs(answer.job().sign_offs_size() - 1);
  page.Facts({{"released", Moment(release.time())},
              {"by", absl::StrCat(release.person(), ", ", release.qualification())},
              {"statement", release.statement()},
              {"verdict", VerdictText(release)},
              {"of readings", release.readings()},
              {"despite that", session.arguments.Text("despite")}});
  session.out = page.text();
  return absl::OkStatus();
}

}  // namespace

std::vector<Command> JobStepCommands() {
  const Flag by = {"by", "PERSON", "recorded_by", "who says so; needed"};
  const Flag etag = {"etag", "ETAG", "etag", "only if the job is still that; read by itself where left out"};
  const Flag request_id = {"request-id", "ID", "request_id",
                           "the same call sent again with the same id is applied once"};
  std::vector<Flag> plan = {
      by,
      {"way", "N", "way", "the way to wind it that is chosen, as coilwright plan numbers them (1)"},
      {"despite", "TEXT", "despite_check", "why it is wound although the check of the record is not sound"},
      etag,
      request_id};
  for (const auto& more : {ChangeFlags(), PlanFlags()}) plan.insert(plan.end(), more.begin(), more.end());
  std::vector<Flag> readings = {
      TemplateFlag(),
      {"stage", "STAGE", "readings.stage", "as-received, wound-before-treatment, treated, assembled, ...; needed"},
      {"by", "PERSON", "taken_by", "who took them; needed"},
      {"taken", "TIME", "taken_time", "when, where that is not now: \"2026-05-03 14:30\"", true},
      {"replaces", "N", "replaces", "number of earlier readings of that stage that these stand for; --note says why"},
      {"note", "TEXT", "note", "what else is known"},
      request_id,
      {"rotor", "", "readings.rotor_fitted", "a rotor is in the stator"},
      {"star-open", "", "readings.star_open", "both ends of every phase can be reached"}};
  for (const Flag& flag : ReadingFlags()) readings.push_back(flag);
  return {{"job stage",
           "the job has come to a stage",
           "NAME STAGE --by PERSON",
           {by,
            {"note", "TEXT", "note", "what else is known"},
            {"time", "TIME", "time", "when, where that is not now", true},
            etag,
            request_id},
           StageJob,
           "STAGE is as-received, stripped-core, wound-star-open, wound-before-treatment, treated, assembled or "
           "in-service. One "
           "may come again."},
          {"job plan", "the way it will be wound, planned from its winding and kept",
           "NAME [--way N] [flags of plan] --by PERSON", plan, PlanJob,
           "Look at the ways first: coilwright archive show WINDING --record | coilwright plan - with the same flags. "
           "What was "
           "chosen before stays in earlier revisions of the job."},
          {"job readings", "readings of a stage added and judged, or those that are there",
           "NAME [FILE | -] [--uv OHMS ... --megohms READING] --stage STAGE --by PERSON | --template", readings,
           ReadingsOfJob,
           "FILE is as for coilwright judge; machine, winding and the resistance to expect are those of the job where "
           "the file "
           "does not say. Readings are never changed: taken again they are added, with --replaces.\n\n"
           "NAME alone lists them, with --stage those of one stage; NAME/readings/N shows one set with its verdicts as "
           "they "
           "were given."},
          {"job sign-off",
           "the release of a machine by a qualified person",
           "NAME --person PERSON --qualification TEXT",
           {{"person", "PERSON", "person", "who releases it; needed"},
            {"qualification", "TEXT", "qualification", "what qualifies the person, in their words; needed"},
            {"statement", "TEXT", "statement", "what the person states"},
            {"despite", "TEXT", "despite_verdict",
             "why it is released although it was not found sound, or nothing was read since the release before"},
            etag,
            request_id},
           SignOffJob,
           "Refused unless the latest readings of the assembled machine find the winding sound, or --despite says why. "
           "That is "
           "needed as well where readings taken later find a fault, and for one more release with nothing read since. "
           "Who may "
           "release a machine is decided by local codes, not here."}};
}

}  // namespace coilwright::cli
