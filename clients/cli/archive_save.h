#pragma once

#include <string>
#include <vector>

#include "coilwright/v1/winding_archive_service.pb.h"
#include "command.h"

namespace coilwright::cli {

// "--by" of every change, its reason, and the id under which a change is repeated. They name fields of the request.
std::vector<Flag> WriteFlags();
// --names, of commands that print names first: nothing but them.
Flag NamesFlag();
// How a winding is kept: WriteFlags, --id, --taken-down, --moment. The command reads them (FillSave).
std::vector<Flag> SaveFlags();

// Keeps the record: INVALID_ARGUMENT without --by. `name` tells a wrong field of "record".
absl::Status SaveRecord(Session& session, const v1::WindingRecord& record, const FieldNamer& name,
                        v1::CreateWindingResponse* answer);
// With --save given: keeps the record of `plan` and `check` and puts a line that says so before the page in
// `session.out`, or on standard error beside --json.
absl::Status SaveBeside(Session& session, const v1::WindingRecord& record, const FieldNamer& name);
// INVALID_ARGUMENT where flags of --save stand without it.
absl::Status CheckSaveFlags(const Arguments& arguments);

}  // namespace coilwright::cli
