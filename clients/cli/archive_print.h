#pragma once

#include <string>

#include "archive_text.h"
#include "coilwright/v1/winding_archive_service.pb.h"
#include "page.h"
#include "units.h"

namespace coilwright::cli {

// "windings/x, revision 3" and below it what it is, who made the revision when and why, and what the check says: after
// every write.
void PrintKept(const v1::ArchivedWinding& winding, absl::string_view done, Page* page);
// All of a winding that a person reads at the bench.
std::string PrintWinding(const v1::ArchivedWinding& winding, const Units& units);
// One line of it: what is wound into the slots and how it is joined.
std::string WindingText(const v1::Winding& winding);

std::string PrintWindings(const v1::ListWindingsResponse& list, const Units& units);
std::string PrintNearest(const v1::FindNearestWindingsResponse& answer, const Units& units);
std::string PrintComparison(const v1::CompareWindingsResponse& answer, absl::string_view first,
                            absl::string_view second);
// Fields that differ, "was" and "is" by the headings given.
void PrintDifferences(const google::protobuf::RepeatedPtrField<v1::RecordDifference>& differences,
                      absl::string_view first, absl::string_view second, Page* page);

// "3 of 2026-11-28 14:30 by Ana Ruiz: recounted"
std::string RevisionText(const v1::Revision& revision);

}  // namespace coilwright::cli
