#include "archive_save.h"
#include "check_print.h"
#include "plan_request.h"
#include "request.h"

namespace coilwright::cli {
namespace {

// Reads the file, fills the flags, asks.
template <class Request, class Answer>
absl::Status Ask(Session& session, Request* request, Answer* answer, FieldNamer* name) {
  if (absl::Status read = ReadRecordOrRequest(session, request, name); !read.ok()) return read;
  if (absl::Status filled = FillRequest(session.arguments, request); !filled.ok()) return filled;
  return session.connection.Call(*request, answer, *name);
}

absl::Status Check(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, kRecordFile); !words.ok()) return words;
  if (absl::Status flags = CheckSaveFlags(session.arguments); !flags.ok()) return flags;
  v1::CheckRecordRequest request;
  v1::CheckRecordResponse answer;
  FieldNamer name;
  if (absl::Status asked = Ask(session, &request, &answer, &name); !asked.ok()) return asked;
  session.exit_status = ExitStatusOf(answer.check());
  session.out = session.json ? ToJson(answer) : PrintCheck(answer.title(), answer.check(), session.units);
  return SaveBeside(session, request.record(), name);
}

absl::Status Estimate(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, kRecordFile); !words.ok()) return words;
  v1::EstimateMissingRequest request;
  v1::EstimateMissingResponse answer;
  FieldNamer name;
  if (absl::Status asked = Ask(session, &request, &answer, &name); !asked.ok()) return asked;
  session.out = session.json ? ToJson(answer) : PrintEstimates(answer, session.units);
  return absl::OkStatus();
}

}  // namespace

std::vector<Command> CheckCommands() {
  const Flag leads = {"leads", "RATIO", "lead_share", "copper of leads over that of the coils (0.04)"};
  const Flag constants = {"constants", "SET", "conductor_preset",
                          "temperature constants: iec-60034-1 (default), ieee-112, iec-60851-5"};
  std::vector<Flag> check = {
      leads, constants, {"save", "", "", "keep the record in the archive too, with this check; needs --by"}};
  // --moment is the check's own and goes into its request.
  for (Flag flag : SaveFlags()) {
    if (absl::string_view(flag.name) == "moment") flag.read_by_command = false;
    check.push_back(flag);
  }
  return {
      {"check", "whether a record agrees with what was measured, and which slip explains it where not", "FILE | -",
       check, Check,
       "FILE is the record, as for coilwright plan; turns and wire may be missing in it. Run it before the first cut, "
       "when turns and wire are counted, and when the copper is weighed: keep one whole group until it is sound. "
       "Exit status 5 where it finds the record wrong."},
      {"estimate",
       "mean turn, turns or wire worked out from what is left",
       "FILE | -",
       {leads, constants},
       Estimate,
       "FILE is the record, as for coilwright plan; leave out what is not known."}};
}

}  // namespace coilwright::cli
