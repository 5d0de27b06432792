#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "archive/archive.h"
#include "coilwright/v1/archive.pb.h"
#include "coilwright/v1/job_service.pb.h"

namespace coilwright::rpc {

// Of the plate; 0 where it does not say.
int PolesOf(const v1::Nameplate& plate);
// Kind or poles are known of both and differ: two machines, whatever their serial numbers. Volts may change with a
// rewind.
bool AreUnlike(const v1::Machine& a, const v1::Machine& b);

// A new winding is in the machine, or being put in.
bool IsWinding(v1::Stage stage);

// Words for a value of an enum of the contract: "as received", "dry out".
std::string StageWords(v1::Stage stage);
std::string VerdictWords(v1::WindingVerdict verdict);

absl::Status MarkedAsDeleted(absl::string_view name);
// The winding that a job names: NOT_FOUND, or FAILED_PRECONDITION where it is marked as deleted.
absl::StatusOr<v1::ArchivedWinding> WindingOfJob(archive::Archive& archive, const std::string& winding);

// What a plan was chosen on that no longer holds, or never did; `latest` is the revision of its winding now.
std::vector<std::string> PlanCautions(const v1::Job& job, int latest);
// To an answer that holds the job as it is now: the latest revision of its winding, what was read after its release,
// and cautions.
absl::Status AddCautions(archive::Archive& archive, v1::GetJobResponse* response);

// Readings that came in after a time, newest first, without those that others stand for.
absl::StatusOr<std::vector<v1::LaterReadings>> ReadAfter(archive::Archive& archive, const std::string& job,
                                                         int64_t micros);
// They say that something is wrong with the machine.
bool FindsFault(v1::WindingVerdict verdict);

// Readings of the assembled machine that a release rests on: those taken last, of those that no others stand for. None
// where there are none.
absl::StatusOr<std::optional<v1::JobReadings>> LatestAssembled(archive::Archive& archive, const std::string& job);

}  // namespace coilwright::rpc
