#include "archive_save.h"

#include "absl/strings/str_cat.h"
#include "archive_text.h"
#include "check_print.h"
#include "request.h"

namespace coilwright::cli {

std::vector<Flag> WriteFlags() {
  return {{"by", "PERSON", "recorded_by", "who says so; needed"},
          {"reason", "TEXT", "reason", "why: \"recounted coil 5 with the group cut free\""},
          {"request-id", "ID", "request_id", "the same call sent again with the same id is applied once"}};
}

Flag NamesFlag() { return {"names", "", "", "print names alone, one to a line"}; }

std::vector<Flag> SaveFlags() {
  std::vector<Flag> flags = WriteFlags();
  flags.push_back({"id", "ID", "winding_id", "its name in the archive, windings/ID; made up where left out"});
  flags.push_back(
      {"taken-down", "DATE", "taken_down_time", "day it was taken down, where that is not today: 2017-05-03"});
  flags.push_back({"moment", "WHEN", "moment", "intact, cut or stripped; the latest that the record speaks of"});
  for (Flag& flag : flags) flag.read_by_command = true;
  return flags;
}

absl::Status SaveRecord(Session& session, const v1::WindingRecord& record, const FieldNamer& name,
                        v1::CreateWindingResponse* answer) {
  const Arguments& arguments = session.arguments;
  v1::CreateWindingRequest request;
  *request.mutable_record() = record;
  for (const auto& [flag, value] : arguments.given()) {
    const std::string field = flag.field;
    if (field != "recorded_by" && field != "reason" && field != "request_id" && field != "winding_id" &&
        field != "moment") {
      continue;
    }
    if (absl::Status set = SetField(&request, field, value); !set.ok())
      return absl::Status(set.code(), absl::StrCat("--", flag.name, ": ", set.message()));
  }
  if (request.recorded_by().empty()) return absl::InvalidArgumentError("missing: --by PERSON, who took it down");
  if (arguments.Has("taken-down")) {
    if (absl::Status read = ReadTimeFlag(arguments, "taken-down", request.mutable_taken_down_time()); !read.ok())
      return read;
  }
  return InWordsOfCommands(session.connection.Write(&request, answer, name));
}

absl::Status CheckSaveFlags(const Arguments& arguments) {
  if (arguments.Has("save")) return absl::OkStatus();
  for (const char* flag : {"by", "reason", "id", "taken-down", "request-id"}) {
    if (arguments.Has(flag)) return absl::InvalidArgumentError(absl::StrCat("--", flag, ": only beside --save"));
  }
  return absl::OkStatus();
}

absl::Status SaveBeside(Session& session, const v1::WindingRecord& record, const FieldNamer& name) {
  if (!session.arguments.Has("save")) return absl::OkStatus();
  v1::CreateWindingResponse saved;
  if (absl::Status done = SaveRecord(session, record, name, &saved); !done.ok()) return done;
  const std::string line = absl::StrCat("saved as ", saved.winding().name(),
                                        "; its check: ", CheckWord(saved.winding().check().verdict()), "\n");
  if (session.json) {
    session.aside << "coilwright: " << line;
  } else {
    session.out = absl::StrCat(line, "\n", session.out);
  }
  return absl::OkStatus();
}

}  // namespace coilwright::cli
