#pragma once

#include <optional>
#include <string>

#include "absl/status/statusor.h"
#include "archive/archive.h"
#include "coilwright/v1/archive.pb.h"

namespace coilwright::rpc {

// Of the plate; 0 where it does not say.
int PolesOf(const v1::Nameplate& plate);
// Kind or poles are known of both and differ: two machines, whatever their serial numbers. Volts may change with a
// rewind.
bool AreUnlike(const v1::Machine& a, const v1::Machine& b);

// The winding that a job names: NOT_FOUND, or FAILED_PRECONDITION where it is marked as deleted.
absl::StatusOr<v1::ArchivedWinding> WindingOfJob(archive::Archive& archive, const std::string& winding);

// Readings of the assembled machine that a release rests on: those taken last, of those that no others stand for. None
// where there are none.
absl::StatusOr<std::optional<v1::JobReadings>> LatestAssembled(archive::Archive& archive, const std::string& job);

}  // namespace coilwright::rpc
