#pragma once

#include <utility>

#include "coilwright/v1/archive_service.grpc.pb.h"
#include "coilwright/v1/job_service.grpc.pb.h"
#include "coilwright/v1/sheet_service.grpc.pb.h"
#include "coilwright/v1/winding_archive_service.grpc.pb.h"
#include "rpc/archive_methods.h"
#include "rpc/call.h"
#include "rpc/methods.h"

// The shells of the services that keep an archive: see services.h. Every method waits for the store, on threads of its
// own.
namespace coilwright::rpc {

class WindingArchiveService final : public v1::WindingArchiveService::CallbackService {
 public:
  explicit WindingArchiveService(ArchiveAccess access) : access_(std::move(access)) {}

 private:
  grpc::ServerUnaryReactor* CreateWinding(grpc::CallbackServerContext* context, const v1::CreateWindingRequest* request,
                                          v1::CreateWindingResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::CreateWinding, request, response);
  }
  grpc::ServerUnaryReactor* GetWinding(grpc::CallbackServerContext* context, const v1::GetWindingRequest* request,
                                       v1::GetWindingResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::GetWinding, request, response);
  }
  grpc::ServerUnaryReactor* ListWindings(grpc::CallbackServerContext* context, const v1::ListWindingsRequest* request,
                                         v1::ListWindingsResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::ListWindings, request, response);
  }
  grpc::ServerUnaryReactor* UpdateWinding(grpc::CallbackServerContext* context, const v1::UpdateWindingRequest* request,
                                          v1::UpdateWindingResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::UpdateWinding, request, response);
  }
  grpc::ServerUnaryReactor* DeleteWinding(grpc::CallbackServerContext* context, const v1::DeleteWindingRequest* request,
                                          v1::DeleteWindingResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::DeleteWinding, request, response);
  }
  grpc::ServerUnaryReactor* UndeleteWinding(grpc::CallbackServerContext* context,
                                            const v1::UndeleteWindingRequest* request,
                                            v1::UndeleteWindingResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::UndeleteWinding, request, response);
  }
  grpc::ServerUnaryReactor* ListWindingRevisions(grpc::CallbackServerContext* context,
                                                 const v1::ListWindingRevisionsRequest* request,
                                                 v1::ListWindingRevisionsResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::ListWindingRevisions, request, response);
  }
  grpc::ServerUnaryReactor* FindNearestWindings(grpc::CallbackServerContext* context,
                                                const v1::FindNearestWindingsRequest* request,
                                                v1::FindNearestWindingsResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::FindNearestWindings, request, response);
  }
  grpc::ServerUnaryReactor* CompareWindings(grpc::CallbackServerContext* context,
                                            const v1::CompareWindingsRequest* request,
                                            v1::CompareWindingsResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::CompareWindings, request, response);
  }

  const ArchiveAccess access_;
};

class JobService final : public v1::JobService::CallbackService {
 public:
  explicit JobService(ArchiveAccess access) : access_(std::move(access)) {}

 private:
  grpc::ServerUnaryReactor* CreateJob(grpc::CallbackServerContext* context, const v1::CreateJobRequest* request,
                                      v1::CreateJobResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::CreateJob, request, response);
  }
  grpc::ServerUnaryReactor* GetJob(grpc::CallbackServerContext* context, const v1::GetJobRequest* request,
                                   v1::GetJobResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::GetJob, request, response);
  }
  grpc::ServerUnaryReactor* ListJobs(grpc::CallbackServerContext* context, const v1::ListJobsRequest* request,
                                     v1::ListJobsResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::ListJobs, request, response);
  }
  grpc::ServerUnaryReactor* UpdateJob(grpc::CallbackServerContext* context, const v1::UpdateJobRequest* request,
                                      v1::UpdateJobResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::UpdateJob, request, response);
  }
  grpc::ServerUnaryReactor* DeleteJob(grpc::CallbackServerContext* context, const v1::DeleteJobRequest* request,
                                      v1::DeleteJobResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::DeleteJob, request, response);
  }
  grpc::ServerUnaryReactor* UndeleteJob(grpc::CallbackServerContext* context, const v1::UndeleteJobRequest* request,
                                        v1::UndeleteJobResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::UndeleteJob, request, response);
  }
  grpc::ServerUnaryReactor* ListJobRevisions(grpc::CallbackServerContext* context,
                                             const v1::ListJobRevisionsRequest* request,
                                             v1::ListJobRevisionsResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::ListJobRevisions, request, response);
  }
  grpc::ServerUnaryReactor* ReachStage(grpc::CallbackServerContext* context, const v1::ReachStageRequest* request,
                                       v1::ReachStageResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::ReachStage, request, response);
  }
  grpc::ServerUnaryReactor* ChoosePlan(grpc::CallbackServerContext* context, const v1::ChoosePlanRequest* request,
                                       v1::ChoosePlanResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::ChoosePlan, request, response);
  }
  grpc::ServerUnaryReactor* AddReadings(grpc::CallbackServerContext* context, const v1::AddReadingsRequest* request,
                                        v1::AddReadingsResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::AddReadings, request, response);
  }
  grpc::ServerUnaryReactor* GetReadings(grpc::CallbackServerContext* context, const v1::GetReadingsRequest* request,
                                        v1::GetReadingsResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::GetReadings, request, response);
  }
  grpc::ServerUnaryReactor* ListReadings(grpc::CallbackServerContext* context, const v1::ListReadingsRequest* request,
                                         v1::ListReadingsResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::ListReadings, request, response);
  }
  grpc::ServerUnaryReactor* SignOffJob(grpc::CallbackServerContext* context, const v1::SignOffJobRequest* request,
                                       v1::SignOffJobResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::SignOffJob, request, response);
  }
  grpc::ServerUnaryReactor* GetMegohmTrend(grpc::CallbackServerContext* context,
                                           const v1::GetMegohmTrendRequest* request,
                                           v1::GetMegohmTrendResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::GetMegohmTrend, request, response);
  }

  const ArchiveAccess access_;
};

class ArchiveService final : public v1::ArchiveService::CallbackService {
 public:
  explicit ArchiveService(ArchiveAccess access) : access_(std::move(access)) {}

 private:
  grpc::ServerUnaryReactor* GetArchive(grpc::CallbackServerContext* context, const v1::GetArchiveRequest* request,
                                       v1::GetArchiveResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::GetArchive, request, response);
  }
  grpc::ServerUnaryReactor* ExportEntries(grpc::CallbackServerContext* context, const v1::ExportEntriesRequest* request,
                                          v1::ExportEntriesResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::ExportEntries, request, response);
  }
  grpc::ServerUnaryReactor* ImportEntries(grpc::CallbackServerContext* context, const v1::ImportEntriesRequest* request,
                                          v1::ImportEntriesResponse* response) override {
    return AnswerFromArchive(access_, context, rpc::ImportEntries, request, response);
  }

  const ArchiveAccess access_;
};

// Drawings need no archive, documents may.
class SheetService final : public v1::SheetService::CallbackService {
 public:
  SheetService(Calls& calls, Workers& workers, ArchiveAccess access)
      : calls_(calls), workers_(workers), access_(std::move(access)) {}

 private:
  grpc::ServerUnaryReactor* MakeWindingDrawing(grpc::CallbackServerContext* context,
                                               const v1::MakeWindingDrawingRequest* request,
                                               v1::MakeWindingDrawingResponse* response) override {
    return AnswerLater(calls_, workers_, context, rpc::MakeWindingDrawing, request, response);
  }
  grpc::ServerUnaryReactor* MakeSlotDrawing(grpc::CallbackServerContext* context,
                                            const v1::MakeSlotDrawingRequest* request,
                                            v1::MakeSlotDrawingResponse* response) override {
    return AnswerLater(calls_, workers_, context, rpc::MakeSlotDrawing, request, response);
  }
  grpc::ServerUnaryReactor* MakeRewindSheet(grpc::CallbackServerContext* context,
                                            const v1::MakeRewindSheetRequest* request,
                                            v1::MakeRewindSheetResponse* response) override {
    return AnswerWithArchive(access_, context, rpc::MakeRewindSheet, request, response);
  }
  grpc::ServerUnaryReactor* MakeTestCertificate(grpc::CallbackServerContext* context,
                                                const v1::MakeTestCertificateRequest* request,
                                                v1::MakeTestCertificateResponse* response) override {
    return AnswerWithArchive(access_, context, rpc::MakeTestCertificate, request, response);
  }
  grpc::ServerUnaryReactor* MakeConnectionLabel(grpc::CallbackServerContext* context,
                                                const v1::MakeConnectionLabelRequest* request,
                                                v1::MakeConnectionLabelResponse* response) override {
    return AnswerWithArchive(access_, context, rpc::MakeConnectionLabel, request, response);
  }

  Calls& calls_;
  Workers& workers_;
  const ArchiveAccess access_;
};

}  // namespace coilwright::rpc
