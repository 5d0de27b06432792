#pragma once

#include <string>

#include "absl/status/statusor.h"
#include "coilwright/v1/job_service.pb.h"
#include "command.h"

namespace coilwright::cli {

constexpr char kJobName[] = "the NAME of a job, as coilwright job find shows it";

// The latest revision of the job a word names.
absl::StatusOr<v1::Job> LatestJob(Session& session, const std::string& word);

// All readings of the job, of one stage where it is given.
absl::Status AllReadings(Session& session, const std::string& job, v1::Stage stage, v1::ListReadingsResponse* all);

// Revisions, with what they brought as far as the job still shows it, and readings, latest first.
std::string PrintJobHistory(const v1::Job& job, const v1::ListJobRevisionsResponse& revisions,
                            const v1::ListReadingsResponse& readings);

}  // namespace coilwright::cli
