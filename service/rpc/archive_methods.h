#pragma once

#include "absl/status/status.h"
#include "archive/archive.h"
#include "coilwright/v1/archive_service.pb.h"
#include "coilwright/v1/job_service.pb.h"
#include "coilwright/v1/sheet_service.pb.h"
#include "coilwright/v1/winding_archive_service.pb.h"

// The bodies of all calls to the archive: as in methods.h, and they may wait for a disk or a database. None of them is
// run on a request with numbers that are none: what is wrong must be known before anything is written.
namespace coilwright::rpc {

absl::Status CreateWinding(archive::Archive& archive, const v1::CreateWindingRequest& request,
                           v1::CreateWindingResponse* response);
absl::Status GetWinding(archive::Archive& archive, const v1::GetWindingRequest& request,
                        v1::GetWindingResponse* response);
absl::Status ListWindings(archive::Archive& archive, const v1::ListWindingsRequest& request,
                          v1::ListWindingsResponse* response);
absl::Status UpdateWinding(archive::Archive& archive, const v1::UpdateWindingRequest& request,
                           v1::UpdateWindingResponse* response);
absl::Status DeleteWinding(archive::Archive& archive, const v1::DeleteWindingRequest& request,
                           v1::DeleteWindingResponse* response);
absl::Status UndeleteWinding(archive::Archive& archive, const v1::UndeleteWindingRequest& request,
                             v1::UndeleteWindingResponse* response);
absl::Status ListWindingRevisions(archive::Archive& archive, const v1::ListWindingRevisionsRequest& request,
                                  v1::ListWindingRevisionsResponse* response);
absl::Status FindNearestWindings(archive::Archive& archive, const v1::FindNearestWindingsRequest& request,
                                 v1::FindNearestWindingsResponse* response);
absl::Status CompareWindings(archive::Archive& archive, const v1::CompareWindingsRequest& request,
                             v1::CompareWindingsResponse* response);

absl::Status CreateJob(archive::Archive& archive, const v1::CreateJobRequest& request, v1::CreateJobResponse* response);
absl::Status GetJob(archive::Archive& archive, const v1::GetJobRequest& request, v1::GetJobResponse* response);
absl::Status ListJobs(archive::Archive& archive, const v1::ListJobsRequest& request, v1::ListJobsResponse* response);
absl::Status UpdateJob(archive::Archive& archive, const v1::UpdateJobRequest& request, v1::UpdateJobResponse* response);
absl::Status DeleteJob(archive::Archive& archive, const v1::DeleteJobRequest& request, v1::DeleteJobResponse* response);
absl::Status UndeleteJob(archive::Archive& archive, const v1::UndeleteJobRequest& request,
                         v1::UndeleteJobResponse* response);
absl::Status ListJobRevisions(archive::Archive& archive, const v1::ListJobRevisionsRequest& request,
                              v1::ListJobRevisionsResponse* response);
absl::Status ReachStage(archive::Archive& archive, const v1::ReachStageRequest& request,
                        v1::ReachStageResponse* response);
absl::Status ChoosePlan(archive::Archive& archive, const v1::ChoosePlanRequest& request,
                        v1::ChoosePlanResponse* response);
absl::Status AddReadings(archive::Archive& archive, const v1::AddReadingsRequest& request,
                         v1::AddReadingsResponse* response);
absl::Status GetReadings(archive::Archive& archive, const v1::GetReadingsRequest& request,
                         v1::GetReadingsResponse* response);
absl::Status ListReadings(archive::Archive& archive, const v1::ListReadingsRequest& request,
                          v1::ListReadingsResponse* response);
absl::Status SignOffJob(archive::Archive& archive, const v1::SignOffJobRequest& request,
                        v1::SignOffJobResponse* response);
absl::Status GetMegohmTrend(archive::Archive& archive, const v1::GetMegohmTrendRequest& request,
                            v1::GetMegohmTrendResponse* response);

absl::Status GetArchive(archive::Archive& archive, const v1::GetArchiveRequest& request,
                        v1::GetArchiveResponse* response);
absl::Status ExportEntries(archive::Archive& archive, const v1::ExportEntriesRequest& request,
                           v1::ExportEntriesResponse* response);
absl::Status ImportEntries(archive::Archive& archive, const v1::ImportEntriesRequest& request,
                           v1::ImportEntriesResponse* response);

// Documents of a job, or of what is sent; the archive is null where the service keeps none.
absl::Status MakeRewindSheet(archive::Archive* archive, const v1::MakeRewindSheetRequest& request,
                             v1::MakeRewindSheetResponse* response);
absl::Status MakeTestCertificate(archive::Archive* archive, const v1::MakeTestCertificateRequest& request,
                                 v1::MakeTestCertificateResponse* response);
absl::Status MakeConnectionLabel(archive::Archive* archive, const v1::MakeConnectionLabelRequest& request,
                                 v1::MakeConnectionLabelResponse* response);

}  // namespace coilwright::rpc
