#pragma once

#include <string>

#include "coilwright/v1/archive.pb.h"
#include "rpc/reader.h"

// Records and machines as an archive takes them: what is missing or contradicts itself is kept, a value that cannot be
// is not.
namespace coilwright::rpc {

// Refuses single values of the record in `field` that cannot be, and records that are too large.
void RefuseWrongValues(const Reader& parent, absl::string_view field, const v1::WindingRecord& record);
// Likewise of a machine by itself.
void RefuseWrongValues(const Reader& parent, absl::string_view field, const v1::Machine& machine);

// The check of a record as it stands today, or why there is none.
void CheckForArchive(v1::CheckMoment moment, v1::ArchivedWinding* winding);

}  // namespace coilwright::rpc
