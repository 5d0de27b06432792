#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "archive_print.h"
#include "archive_save.h"
#include "archive_text.h"
#include "check_print.h"
#include "coilwright/v1/job_service.pb.h"
#include "coilwright/v1/rewind_plan_service.pb.h"
#include "command.h"
#include "field_path.h"
#include "plan_request.h"
#include "request.h"

namespace coilwright::cli {
namespace {

// What a write of one winding leaves: names alone, JSON or a page.
template <class Answer>
void Tell(Session& session, const Answer& answer, absl::string_view done) {
  session.exit_status = ExitStatusOf(answer.winding().check());
  if (session.json) {
    session.out = ToJson(answer);
  } else if (session.arguments.Has("names")) {
    session.out = absl::StrCat(answer.winding().name(), "\n");
  } else {
    Page page;
    PrintKept(answer.winding(), done, &page);
    session.out = page.text();
  }
}

absl::Status Save(Session& session) {
  if (absl::Status words = ExpectWords(
          session.arguments, 1, 1,
          "a FILE with the record, or - for standard input; coilwright plan --template prints one to fill in");
      !words.ok()) {
    return words;
  }
  // As plan reads it: a record, or a whole request whose record is taken.
  v1::PlanRewindRequest request;
  FieldNamer name;
  if (absl::Status read = ReadRecordOrRequest(session, &request, &name); !read.ok()) return read;
  v1::CreateWindingResponse answer;
  if (absl::Status saved = SaveRecord(session, request.record(), name, &answer); !saved.ok()) return saved;
  Tell(session, answer, "saved");
  return absl::OkStatus();
}

absl::StatusOr<v1::ArchivedWinding> Get(Session& session, const Named& named) {
  v1::GetWindingRequest request;
  request.set_name(named.name);
  if (named.revision) request.set_revision(*named.revision);
  v1::GetWindingResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  return std::move(*answer.mutable_winding());
}

constexpr char kName[] = "the NAME of a winding, as coilwright archive find shows it";

absl::Status Show(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, kName); !words.ok()) return words;
  auto named = ReadName(session.arguments.words()[0], {"windings"});
  if (!named.ok()) return named.status();
  v1::GetWindingRequest request;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  if (request.has_revision() && named->revision)
    return absl::InvalidArgumentError("--revision beside NAME@REVISION; accepted: one of the two");
  if (request.has_revision()) named->revision = request.revision();
  const auto winding = Get(session, *named);
  if (!winding.ok()) return winding.status();
  if (session.arguments.Has("record")) {
    session.out = ToJson(winding->record());
  } else if (session.json) {
    v1::GetWindingResponse answer;
    *answer.mutable_winding() = *winding;
    session.out = ToJson(answer);
  } else {
    session.out = PrintWinding(*winding, session.units);
  }
  return absl::OkStatus();
}

absl::Status Compare(Session& session) {
  if (absl::Status words =
          ExpectWords(session.arguments, 2, 2, "two NAMEs of windings; NAME@REVISION for an earlier revision");
      !words.ok())
    return words;
  const auto first = ReadName(session.arguments.words()[0], {"windings"});
  const auto second = ReadName(session.arguments.words()[1], {"windings"});
  for (const auto& named : {first, second}) {
    if (!named.ok()) return named.status();
  }
  v1::CompareWindingsRequest request;
  request.set_first(first->name);
  request.set_second(second->name);
  if (first->revision) request.set_first_revision(*first->revision);
  if (second->revision) request.set_second_revision(*second->revision);
  v1::CompareWindingsResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  session.out = session.json ? ToJson(answer)
                             : PrintComparison(answer, session.arguments.words()[0], session.arguments.words()[1]);
  return absl::OkStatus();
}

// The etag the change goes with: of --etag, or of the latest revision, which has to be the one --revision says.
absl::StatusOr<std::string> EtagFor(const Arguments& arguments, const v1::Revision& latest) {
  if (arguments.Has("etag")) return arguments.Text("etag");
  if (arguments.Has("revision") && arguments.Text("revision") != absl::StrCat(latest.number())) {
    return absl::AbortedError(absl::StrCat("made from revision ", arguments.Text("revision"),
                                           ", but the latest is revision ", RevisionText(latest)));
  }
  return latest.etag();
}

// Puts what differs between two revisions below the page.
absl::Status PrintChange(Session& session, const v1::Revision& before, const v1::ArchivedWinding& after) {
  v1::CompareWindingsRequest request;
  request.set_first(after.name());
  request.set_second(after.name());
  request.set_first_revision(before.number());
  request.set_second_revision(after.revision().number());
  v1::CompareWindingsResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  Page page;
  page.Heading("Changed");
  PrintDifferences(answer.differences(), "was", "is", &page);
  absl::StrAppend(&session.out, "\n", page.text());
  return absl::OkStatus();
}

absl::Status Change(Session& session) {
  const Arguments& arguments = session.arguments;
  if (absl::Status words =
          ExpectWords(arguments, 1, 2, absl::StrCat(kName, ", and --set PATH=VALUE or a FILE with the changed record"));
      !words.ok())
    return words;
  const auto named = ReadName(arguments.words()[0], {"windings"});
  if (!named.ok()) return named.status();
  if (named->revision) return absl::InvalidArgumentError("a change follows the latest revision; accepted: NAME alone");
  const bool whole = arguments.words().size() == 2;
  if (whole == arguments.Has("set") && (whole || !arguments.Has("taken-down")))
    return absl::InvalidArgumentError("missing: either --set PATH=VALUE, once or more, or a FILE with the record");
  if (whole && !arguments.Has("revision") && !arguments.Has("etag")) {
    return absl::InvalidArgumentError(
        "missing: --revision N, the revision that the file was made from, as coilwright archive show prints it");
  }
  if (arguments.Text("by").empty()) return absl::InvalidArgumentError("missing: --by PERSON, who changes it");
  const auto before = Get(session, *named);
  if (!before.ok()) return before.status();
  const auto etag = EtagFor(arguments, before->revision());
  if (!etag.ok()) return etag.status();

  v1::UpdateWindingRequest request;
  v1::ArchivedWinding* winding = request.mutable_winding();
  winding->set_name(named->name);
  winding->mutable_revision()->set_etag(*etag);
  FieldNamer name = FlagNamer(arguments);
  if (whole) {
    const auto source = ReadJsonFile(arguments.words()[1], session.in);
    if (!source.ok()) return source.status();
    if (absl::Status parsed = ParseJson(*source, winding->mutable_record()); !parsed.ok()) return parsed;
    request.mutable_update_mask()->add_paths("record");
    name = [source = *source, flag_name = FlagNamer(arguments)](const std::string& field) {
      const std::string place = PlaceOf(source, "winding.record", field);
      return place == field ? flag_name(field) : place;
    };
  } else {
    *winding->mutable_record() = before->record();
    for (const std::string& assignment : arguments.All("set")) {
      const absl::string_view below_record =
          absl::StartsWith(assignment, "record.") ? absl::string_view(assignment).substr(7) : assignment;
      const auto path = Assign(winding->mutable_record(), below_record);
      if (!path.ok()) return absl::Status(path.status().code(), absl::StrCat("--set: ", path.status().message()));
      request.mutable_update_mask()->add_paths(absl::StrCat("record.", *path));
    }
  }
  if (arguments.Has("taken-down")) {
    if (absl::Status read = ReadTimeFlag(arguments, "taken-down", winding->mutable_taken_down_time()); !read.ok())
      return read;
    request.mutable_update_mask()->add_paths("taken_down_time");
  }
  if (absl::Status filled = FillRequest(arguments, &request); !filled.ok()) return filled;
  v1::UpdateWindingResponse answer;
  if (absl::Status written = session.connection.Write(&request, &answer, name); !written.ok())
    return InWordsOfCommands(written);
  Tell(session, answer, "changed");
  if (session.json || arguments.Has("names")) return absl::OkStatus();
  return PrintChange(session, before->revision(), answer.winding());
}

// Marks a winding or a job, or takes the mark off.
template <class Get, class GetAnswer, class Request, class Answer>
absl::Status MarkAs(Session& session, const std::string& name, absl::string_view done, Request* request, Answer* answer,
                    v1::Revision (*revision)(const GetAnswer&)) {
  std::string etag = session.arguments.Text("etag");
  if (etag.empty()) {
    Get get;
    get.set_name(name);
    GetAnswer got;
    if (absl::Status called = session.Call(get, &got); !called.ok()) return called;
    etag = revision(got).etag();
  }
  request->set_name(name);
  request->set_etag(etag);
  if (absl::Status filled = FillRequest(session.arguments, request); !filled.ok()) return filled;
  if (absl::Status written = session.Write(request, answer); !written.ok()) return InWordsOfCommands(written);
  session.out = session.json ? ToJson(*answer) : absl::StrCat(name, done, "\n");
  return absl::OkStatus();
}

v1::Revision RevisionOf(const v1::GetWindingResponse& answer) { return answer.winding().revision(); }
v1::Revision RevisionOfJob(const v1::GetJobResponse& answer) { return answer.job().revision(); }

absl::Status MarkWinding(Session& session, bool set_aside) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, "one NAME, windings/... or jobs/..."); !words.ok())
    return words;
  const auto named = ReadName(session.arguments.words()[0], {"windings", "jobs"});
  if (!named.ok()) return named.status();
  if (named->revision) return absl::InvalidArgumentError("all of it is set aside; accepted: NAME alone");
  if (session.arguments.Text("by").empty()) return absl::InvalidArgumentError("missing: --by PERSON, who says so");
  const std::string done = session.arguments.Has("names") ? ""
                           : set_aside                    ? ": set aside; coilwright archive bring-back undoes it"
                                                          : ": brought back";
  if (absl::StartsWith(named->name, "jobs/")) {
    if (set_aside) {
      v1::DeleteJobRequest request;
      v1::DeleteJobResponse answer;
      return MarkAs<v1::GetJobRequest>(session, named->name, done, &request, &answer, RevisionOfJob);
    }
    v1::UndeleteJobRequest request;
    v1::UndeleteJobResponse answer;
    return MarkAs<v1::GetJobRequest>(session, named->name, done, &request, &answer, RevisionOfJob);
  }
  if (set_aside) {
    v1::DeleteWindingRequest request;
    v1::DeleteWindingResponse answer;
    return MarkAs<v1::GetWindingRequest>(session, named->name, done, &request, &answer, RevisionOf);
  }
  v1::UndeleteWindingRequest request;
  v1::UndeleteWindingResponse answer;
  return MarkAs<v1::GetWindingRequest>(session, named->name, done, &request, &answer, RevisionOf);
}

absl::Status SetAside(Session& session) { return MarkWinding(session, true); }
absl::Status BringBack(Session& session) { return MarkWinding(session, false); }

}  // namespace

std::vector<Command> ArchiveCommands() {
  std::vector<Flag> save = SaveFlags();
  save.push_back(NamesFlag());
  std::vector<Flag> mark = WriteFlags();
  mark.push_back({"etag", "ETAG", "etag", "only if it is still that; read by itself where left out"});
  mark.push_back(NamesFlag());
  const std::vector<Flag> change = {
      {"set", "PATH=VALUE...", "winding.record", "a value of the record: winding.turns_per_coil=34; again for more",
       true},
      {"by", "PERSON", "winding.revision.recorded_by", "who changes it; needed"},
      {"reason", "TEXT", "winding.revision.reason", "why: \"recounted coil 5 with the group cut free\""},
      {"revision", "N", "", "the revision that the change was made from; nothing is written if there is a later one"},
      {"etag", "ETAG", "winding.revision.etag", "the same by its etag", true},
      {"taken-down", "DATE", "winding.taken_down_time", "day it was taken down: 2017-05-03", true},
      {"moment", "WHEN", "moment", "intact, cut or stripped; the latest that the record speaks of"},
      {"request-id", "ID", "request_id", "the same call sent again with the same id is applied once"},
      NamesFlag()};
  return {
      {"archive save", "a record into the archive, with its check", "FILE | - --by PERSON", save, Save,
       "FILE is the record, as for coilwright plan. One that lacks values or contradicts itself is saved too, and says "
       "so: exit status 5 where the check finds it wrong."},
      {"archive show",
       "a recorded winding",
       "NAME",
       {{"revision", "N", "revision", "an earlier revision; NAME@N is the same"},
        {"record", "", "", "the record alone as JSON: coilwright archive show NAME --record | coilwright plan -"}},
       Show},
      {"archive change", "a correction: a new revision, and the earlier ones stay",
       "NAME --set PATH=VALUE ... --by PERSON [--reason TEXT] | NAME FILE --revision N --by PERSON [--reason TEXT]",
       change, Change,
       "PATH is that of the record as its JSON has it; VALUE as flags take it, a quantity with its unit: "
       "machine.core.bore_diameter=60.2mm. Lists count from 0: winding.strands[0].wires_in_hand=3; "
       "\"winding.strands=2 x 0.80 mm grade 2\" replaces them all. No VALUE takes it off: note=\n\n"
       "A FILE is the whole record, changed; the revision it was made from says that nothing came between. Exit status "
       "6 "
       "where something did."},
      {"archive compare",
       "two recorded windings, or two revisions of one, field by field",
       "NAME[@N] NAME[@N]",
       {},
       Compare},
      {"archive set-aside", "a winding or job out of the lists; nothing of it is lost",
       "NAME --by PERSON [--reason TEXT]", mark, SetAside,
       "It is marked, not erased: coilwright archive show and history go on reading it, coilwright archive find "
       "--set-aside lists it, coilwright archive bring-back takes the mark off."},
      {"archive bring-back", "a winding or job that was set aside, back into the lists",
       "NAME --by PERSON [--reason TEXT]", mark, BringBack}};
}

}  // namespace coilwright::cli
