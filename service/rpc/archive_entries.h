#pragma once

#include "absl/status/status.h"
#include "archive/entry.h"
#include "coilwright/v1/archive.pb.h"
#include "coilwright/v1/winding_archive_service.pb.h"

// Resources of the contract between their messages and the entries that an archive keeps. The payload is the message
// without what the entry says itself: name, revision number, etag, times, mark of deletion.
namespace coilwright::rpc {

// DATA_LOSS for a payload that is none.
absl::Status Fill(const archive::Entry& entry, v1::ArchivedWinding* out);
absl::Status Fill(const archive::Entry& entry, v1::Job* out);
absl::Status Fill(const archive::Entry& entry, v1::JobReadings* out);
// The revision alone.
void FillRevision(const archive::Entry& entry, v1::Revision* out);

// Name, payload and facts; what the archive sets is left to the caller.
archive::NewEntry NewEntryOf(const std::string& name, v1::ArchivedWinding winding);
archive::NewEntry NewEntryOf(const std::string& name, v1::Job job);
// With the facts of its job.
archive::NewEntry NewEntryOf(const std::string& name, v1::JobReadings readings);

archive::Facts FactsOf(const std::string& name, const v1::ArchivedWinding& winding);
archive::Facts FactsOf(const std::string& name, const v1::Job& job);
archive::Facts FactsOf(const std::string& name, const v1::JobReadings& readings);

// Of a machine on a bench; everything out of range is left out.
archive::Facts FactsOf(const v1::Machine& machine);
// A serial number with case, blanks and marks that nobody sees taken off.
std::string FoldedSerial(absl::string_view serial);

void Write(const v1::ArchivedWinding& winding, v1::WindingSummary* out);

}  // namespace coilwright::rpc
