#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "archive_paging.h"
#include "archive_save.h"
#include "archive_text.h"
#include "coilwright/v1/job_service.pb.h"
#include "coilwright/v1/winding_archive_service.pb.h"
#include "command.h"
#include "field_path.h"
#include "job_print.h"
#include "job_read.h"
#include "request.h"

namespace coilwright::cli {
namespace {

// A record or its machine; only a record has "machine" at its top.
absl::Status ReadJobFile(Session& session, const std::string& file, v1::Job* job, FieldNamer* name) {
  const auto source = ReadJsonFile(file, session.in);
  if (!source.ok()) return source.status();
  const bool whole = source->lines.count("machine") > 0;
  v1::WindingRecord record;
  if (absl::Status parsed = whole ? ParseJson(*source, &record) : ParseJson(*source, job->mutable_machine());
      !parsed.ok())
    return parsed;
  if (whole) {
    *job->mutable_machine() = record.machine();
    job->set_title(record.title());
  }
  *name = [source = *source, whole, &arguments = session.arguments](const std::string& field) {
    return arguments.GivenFlagFor(field).empty() ? PlaceOf(source, whole ? "job" : "job.machine", field)
                                                 : FlagNamer(arguments)(field);
  };
  return absl::OkStatus();
}

absl::Status OpenJob(Session& session) {
  const Arguments& arguments = session.arguments;
  if (absl::Status words =
          ExpectWords(arguments, 0, 1, "at most one FILE with the machine or its record, - for standard input");
      !words.ok())
    return words;
  if (arguments.words().empty() && !arguments.Has("winding"))
    return absl::InvalidArgumentError("missing: --winding NAME, or a FILE with the machine or its record");
  if (arguments.Text("by").empty()) return absl::InvalidArgumentError("missing: --by PERSON, who takes it in");
  v1::CreateJobRequest request;
  FieldNamer name = FlagNamer(arguments);
  if (!arguments.words().empty()) {
    if (absl::Status read = ReadJobFile(session, arguments.words()[0], request.mutable_job(), &name); !read.ok())
      return read;
  }
  if (arguments.Has("winding")) {
    const auto winding = ReadName(arguments.Text("winding"), {"windings"});
    if (!winding.ok() || winding->revision)
      return absl::InvalidArgumentError(
          absl::StrCat("--winding: got \"", arguments.Text("winding"), "\", accepted: the NAME of a winding"));
    request.mutable_job()->set_winding(winding->name);
    // The machine of the winding but for the serial number of this one.
    if (arguments.Has("serial") && !request.job().has_machine()) {
      v1::GetWindingRequest get;
      get.set_name(winding->name);
      v1::GetWindingResponse got;
      if (absl::Status called = session.Call(get, &got); !called.ok()) return called;
      *request.mutable_job()->mutable_machine() = got.winding().record().machine();
    }
  }
  if (arguments.Has("opened")) {
    if (absl::Status read = ReadTimeFlag(arguments, "opened", request.mutable_job()->mutable_opened_time()); !read.ok())
      return read;
  }
  if (absl::Status filled = FillRequest(arguments, &request); !filled.ok()) return filled;
  v1::CreateJobResponse answer;
  if (absl::Status written = session.connection.Write(&request, &answer, name); !written.ok())
    return InWordsOfCommands(written);
  if (session.json) {
    session.out = ToJson(answer);
  } else if (arguments.Has("names")) {
    session.out = absl::StrCat(answer.job().name(), "\n");
  } else {
    Page page;
    page.Title(answer.job().name());
    page.Facts({{"opened", answer.job().title()},
                {"came in", Day(answer.job().opened_time())},
                {"machine", PlateText(answer.job().machine().nameplate())},
                {"on its plate", PlateWords(answer.job().machine().nameplate())},
                {"winding", answer.job().winding()},
                {"customer", answer.job().customer_reference()}});
    page.Blank();
    page.Paragraph(absl::StrCat("First, before anything is cut: coilwright job readings ",
                                ShortName(answer.job().name()), " FILE --stage as-received --by PERSON"));
    session.out = page.text();
  }
  return absl::OkStatus();
}

absl::Status FindJobs(Session& session) {
  v1::ListJobsRequest request;
  request.set_text(absl::StrJoin(session.arguments.words(), " "));
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  if (session.arguments.Has("winding")) {
    const auto winding = ReadName(session.arguments.Text("winding"), {"windings"});
    if (!winding.ok()) return absl::InvalidArgumentError(absl::StrCat("--winding: ", winding.status().message()));
    request.set_winding(winding->name);
  }
  v1::ListJobsResponse all;
  if (absl::Status read = ReadPages(session, &request, &all, &v1::ListJobsResponse::jobs_size); !read.ok()) return read;
  if (session.json) {
    session.out = ToJson(all);
    return absl::OkStatus();
  }
  if (all.jobs().empty()) return absl::NotFoundError("no job fits");
  if (session.arguments.Has("names")) {
    for (const auto& job : all.jobs()) absl::StrAppend(&session.out, job.name(), "\n");
    return absl::OkStatus();
  }
  session.out = absl::StrCat(PrintJobs(all), FoundText(all.jobs_size(), all.next_page_token()));
  return absl::OkStatus();
}

absl::Status ShowJob(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, kJobName); !words.ok()) return words;
  auto named = ReadName(session.arguments.words()[0], {"jobs"});
  if (!named.ok()) return named.status();
  v1::GetJobRequest request;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  request.set_name(named->name);
  if (named->revision && !request.has_revision()) request.set_revision(*named->revision);
  v1::GetJobResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  if (session.json) {
    session.out = ToJson(answer);
    return absl::OkStatus();
  }
  v1::ListReadingsResponse readings;
  if (absl::Status read = AllReadings(session, named->name, v1::STAGE_UNSPECIFIED, &readings); !read.ok()) return read;
  session.out = PrintJob(answer, readings, session.units);
  return absl::OkStatus();
}

absl::Status ChangeJob(Session& session) {
  const Arguments& arguments = session.arguments;
  if (absl::Status words = ExpectWords(arguments, 1, 1, absl::StrCat(kJobName, ", and --set PATH=VALUE")); !words.ok())
    return words;
  if (!arguments.Has("set") && !arguments.Has("opened"))
    return absl::InvalidArgumentError("missing: --set PATH=VALUE, such as --set \"title=Retort pump, line 1\"");
  if (arguments.Text("by").empty()) return absl::InvalidArgumentError("missing: --by PERSON, who changes it");
  const auto job = LatestJob(session, arguments.words()[0]);
  if (!job.ok()) return job.status();
  v1::UpdateJobRequest request;
  *request.mutable_job() = *job;
  for (const std::string& assignment : arguments.All("set")) {
    const auto path = Assign(request.mutable_job(), assignment);
    if (!path.ok()) return absl::Status(path.status().code(), absl::StrCat("--set: ", path.status().message()));
    if (*path == "winding" && !request.job().winding().empty()) {
      const auto winding = ReadName(request.job().winding(), {"windings"});
      if (!winding.ok())
        return absl::InvalidArgumentError(absl::StrCat("--set: winding: ", winding.status().message()));
      request.mutable_job()->set_winding(winding->name);
    }
    request.mutable_update_mask()->add_paths(*path);
  }
  if (arguments.Has("opened")) {
    if (absl::Status read = ReadTimeFlag(arguments, "opened", request.mutable_job()->mutable_opened_time()); !read.ok())
      return read;
    request.mutable_update_mask()->add_paths("opened_time");
  }
  request.mutable_job()->clear_revision();
  request.mutable_job()->mutable_revision()->set_etag(job->revision().etag());
  if (absl::Status filled = FillRequest(arguments, &request); !filled.ok()) return filled;
  v1::UpdateJobResponse answer;
  if (absl::Status written = session.Write(&request, &answer); !written.ok()) return InWordsOfCommands(written);
  session.out = session.json ? ToJson(answer)
                             : absl::StrCat(answer.job().name(), "\n  revision  ", answer.job().revision().number(),
                                            ", ", answer.job().revision().what(), "\n");
  return absl::OkStatus();
}

absl::Status JobHistory(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, kJobName); !words.ok()) return words;
  const auto job = LatestJob(session, session.arguments.words()[0]);
  if (!job.ok()) return job.status();
  v1::ListJobRevisionsRequest request;
  request.set_name(job->name());
  v1::ListJobRevisionsResponse all;
  if (absl::Status read = ReadPages(session, &request, &all, &v1::ListJobRevisionsResponse::revisions_size); !read.ok())
    return read;
  if (session.json) {
    session.out = ToJson(all);
    return absl::OkStatus();
  }
  v1::ListReadingsResponse readings;
  if (absl::Status listed = AllReadings(session, job->name(), v1::STAGE_UNSPECIFIED, &readings); !listed.ok())
    return listed;
  session.out = PrintJobHistory(*job, all, readings);
  return absl::OkStatus();
}

}  // namespace

std::vector<Command> JobCommands() {
  std::vector<Flag> open = {
      {"winding", "NAME", "job.winding", "the recorded winding of the machine", true},
      {"title", "TEXT", "job.title", "the shop's own label"},
      {"serial", "TEXT", "job.machine.nameplate.serial_text", "serial number of this machine, as on its plate"},
      {"customer", "TEXT", "job.customer_reference", "free text; no person need be named"},
      {"note", "TEXT", "job.note", "what else is known"},
      {"opened", "DATE", "job.opened_time", "day it came in, where that is not today: 2017-05-03", true},
      {"id", "ID", "job_id", "its name in the archive, jobs/ID; made up where left out"},
      {"by", "PERSON", "recorded_by", "who takes it in; needed"},
      {"request-id", "ID", "request_id", "the same call sent again with the same id is applied once"},
      NamesFlag()};
  std::vector<Flag> find = {{"winding", "NAME", "winding", "jobs of this winding", true},
                            {"stage", "STAGE", "stage", "jobs that reached this stage last"},
                            {"set-aside", "", "show_deleted", "those that were set aside too"},
                            NamesFlag()};
  for (const Flag& flag : PagingFlags()) find.push_back(flag);
  const std::vector<Flag> change = {
      {"set", "PATH=VALUE...", "job", "title, customer_reference, note, winding, machine....; again for more", true},
      {"opened", "DATE", "job.opened_time", "day it came in: 2017-05-03", true},
      {"by", "PERSON", "job.revision.recorded_by", "who changes it; needed"},
      {"reason", "TEXT", "job.revision.reason", "why"},
      {"etag", "ETAG", "job.revision.etag", "only if it is still that; read by itself where left out"},
      {"request-id", "ID", "request_id", "the same call sent again with the same id is applied once"}};
  return {{"job open", "a machine comes in: a new job", "--winding NAME | FILE | - ... --by PERSON", open, OpenJob,
           "With --winding the machine is that of the recorded winding, with --serial the serial number of this one. "
           "FILE is "
           "a record as for coilwright plan, or its machine alone."},
          {"job find", "jobs by words, stage and winding", "[WORDS...] [--stage STAGE] [--winding NAME]", find,
           FindJobs, "WORDS must all occur, each at the beginning of a word of title, plate, customer, note or name."},
          {"job show",
           "a job: machine, stages, plan, readings, release",
           "NAME",
           {{"revision", "N", "revision", "an earlier revision; NAME@N is the same"}},
           ShowJob},
          {"job change", "another title, customer, note, winding or machine", "NAME --set PATH=VALUE ... --by PERSON",
           change, ChangeJob,
           "PATH is that of the job as its JSON has it: title, customer_reference, note, winding, "
           "machine.nameplate.serial_text. No VALUE takes it off: note="},
          {"job history", "all that happened to a job, latest first", "NAME", PagingFlags(), JobHistory}};
}

}  // namespace coilwright::cli
