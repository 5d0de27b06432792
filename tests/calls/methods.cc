#include "calls/methods.h"

#include <cstdlib>

#include "calls/lifted.h"
#include "calls/test_archive.h"
#include "rpc/archive_services.h"
#include "rpc/services.h"

namespace coilwright::calls {
namespace {

template <typename Service, auto kBody, auto kCall, typename Request, typename Response>
AnyMethod Erase(const char* name, absl::Status (*)(const Request&, Response*)) {
  AnyMethod method{};
  method.name = name;
  method.request = &Request::default_instance();
  method.response = &Response::default_instance();
  method.body = [](const Message& request, Message* response) {
    return rpc::Run<Request, Response>(kBody, static_cast<const Request&>(request), static_cast<Response*>(response));
  };
  method.stub = [](const std::shared_ptr<grpc::Channel>& channel, grpc::ClientContext* context, const Message& request,
                   Message* response) {
    const auto stub = Service::NewStub(channel);
    return (stub.get()->*kCall)(context, static_cast<const Request&>(request), static_cast<Response*>(response));
  };
  return method;
}

template <typename Service, auto kBody, auto kCall>
AnyMethod Erase(const char* name) {
  return Erase<Service, kBody, kCall>(name, kBody);
}

// A stream as a method of one message: opened, told it, closed, and what it answered put together. Where it refuses one
// of many things, that is the outcome.
template <typename Service, auto kOpen, auto kCall, typename Request, typename Response>
AnyMethod EraseStream(const char* name, std::unique_ptr<rpc::Session<Request, Response>> (*)()) {
  AnyMethod method{};
  method.name = name;
  method.request = &Request::default_instance();
  method.response = &Response::default_instance();
  method.body = [](const Message& request, Message* response) {
    const auto session = kOpen();
    auto* whole = static_cast<Response*>(response);
    absl::Status status;
    const auto add = [&](auto step) {
      Response part;
      absl::StatusOr<bool> answered = false;
      const absl::Status held = rpc::HoldBack([&] { return (answered = step(&part)).status(); });
      if (status.ok()) status = held;
      if (held.ok() && *answered) whole->MergeFrom(part);
    };
    add([&](Response* part) { return session->Take(static_cast<const Request&>(request), part); });
    add([&](Response* part) { return session->Finish(part); });
    return status.ok() ? Lifted(Request::descriptor(), *whole) : rpc::ToGrpcStatus(status);
  };
  method.stub = [](const std::shared_ptr<grpc::Channel>& channel, grpc::ClientContext* context, const Message& request,
                   Message* response) {
    const auto stub = Service::NewStub(channel);
    const auto stream = (stub.get()->*kCall)(context);
    auto* whole = static_cast<Response*>(response);
    stream->Write(static_cast<const Request&>(request));
    stream->WritesDone();
    for (Response part; stream->Read(&part);) whole->MergeFrom(part);
    const grpc::Status status = stream->Finish();
    return status.ok() ? Lifted(Request::descriptor(), *whole) : status;
  };
  return method;
}

template <typename Service, auto kOpen, auto kCall>
AnyMethod EraseStream(const char* name) {
  return EraseStream<Service, kOpen, kCall>(name, kOpen);
}

// A call to the archive of the tests.
template <typename Service, auto kBody, auto kCall, typename Request, typename Response>
AnyMethod EraseArchive(const char* name, absl::Status (*)(archive::Archive&, const Request&, Response*)) {
  AnyMethod method{};
  method.archived = true;
  method.name = name;
  method.request = &Request::default_instance();
  method.response = &Response::default_instance();
  method.body = [](const Message& request, Message* response) {
    const std::unique_ptr<Message> fresh = Fresh(request);
    return rpc::RunOnArchive<Request, Response>(TestArchive().get(), kBody, static_cast<const Request&>(*fresh),
                                                static_cast<Response*>(response));
  };
  method.stub = [](const std::shared_ptr<grpc::Channel>& channel, grpc::ClientContext* context, const Message& request,
                   Message* response) {
    const std::unique_ptr<Message> fresh = Fresh(request);
    const auto stub = Service::NewStub(channel);
    return (stub.get()->*kCall)(context, static_cast<const Request&>(*fresh), static_cast<Response*>(response));
  };
  return method;
}

template <typename Service, auto kBody, auto kCall>
AnyMethod EraseArchive(const char* name) {
  return EraseArchive<Service, kBody, kCall>(name, kBody);
}

// A call that may be asked of the archive of the tests, or of what is sent.
template <typename Service, auto kBody, auto kCall, typename Request, typename Response>
AnyMethod EraseSometimesArchive(const char* name, absl::Status (*)(archive::Archive*, const Request&, Response*)) {
  AnyMethod method{};
  method.name = name;
  method.request = &Request::default_instance();
  method.response = &Response::default_instance();
  method.body = [](const Message& request, Message* response) {
    return rpc::RunWithArchive<Request, Response>(TestArchive().get(), kBody, static_cast<const Request&>(request),
                                                  static_cast<Response*>(response));
  };
  method.stub = [](const std::shared_ptr<grpc::Channel>& channel, grpc::ClientContext* context, const Message& request,
                   Message* response) {
    const auto stub = Service::NewStub(channel);
    return (stub.get()->*kCall)(context, static_cast<const Request&>(request), static_cast<Response*>(response));
  };
  return method;
}

template <typename Service, auto kBody, auto kCall>
AnyMethod EraseSometimesArchive(const char* name) {
  return EraseSometimesArchive<Service, kBody, kCall>(name, kBody);
}

}  // namespace

const std::vector<AnyMethod>& Methods() {
  static const auto* const methods = new std::vector<AnyMethod>{
      Erase<v1::RuleService, &rpc::GetRule, &v1::RuleService::Stub::GetRule>("GetRule"),
      Erase<v1::RuleService, &rpc::ListRules, &v1::RuleService::Stub::ListRules>("ListRules"),
      Erase<v1::WireService, &rpc::LookUpWire, &v1::WireService::Stub::LookUpWire>("LookUpWire"),
      Erase<v1::WireService, &rpc::ListWires, &v1::WireService::Stub::ListWires>("ListWires"),
      Erase<v1::WireService, &rpc::IdentifyWire, &v1::WireService::Stub::IdentifyWire>("IdentifyWire"),
      Erase<v1::WireService, &rpc::ChooseStrands, &v1::WireService::Stub::ChooseStrands>("ChooseStrands"),
      Erase<v1::TestLimitService, &rpc::GetTestLimits, &v1::TestLimitService::Stub::GetTestLimits>("GetTestLimits"),
      Erase<v1::TestLimitService, &rpc::GetTestProgramme, &v1::TestLimitService::Stub::GetTestProgramme>(
          "GetTestProgramme"),
      EraseStream<v1::TestLimitService, &rpc::StreamTestLimits, &v1::TestLimitService::Stub::StreamTestLimits>(
          "StreamTestLimits"),
      Erase<v1::MegohmService, &rpc::JudgeMegohms, &v1::MegohmService::Stub::JudgeMegohms>("JudgeMegohms"),
      EraseStream<v1::InsulationRunService, &rpc::RunInsulationTest,
                  &v1::InsulationRunService::Stub::RunInsulationTest>("RunInsulationTest"),
      Erase<v1::CoreTestService, &rpc::PlanCoreTest, &v1::CoreTestService::Stub::PlanCoreTest>("PlanCoreTest"),
      Erase<v1::CoreTestService, &rpc::CompareCoreTests, &v1::CoreTestService::Stub::CompareCoreTests>(
          "CompareCoreTests"),
      Erase<v1::CoreTestService, &rpc::GetOvenLimit, &v1::CoreTestService::Stub::GetOvenLimit>("GetOvenLimit"),
      Erase<v1::DriveStressService, &rpc::AssessDriveStress, &v1::DriveStressService::Stub::AssessDriveStress>(
          "AssessDriveStress"),
      Erase<v1::RewindPlanService, &rpc::PlanRewind, &v1::RewindPlanService::Stub::PlanRewind>("PlanRewind"),
      Erase<v1::RewindPlanService, &rpc::ListReconnections, &v1::RewindPlanService::Stub::ListReconnections>(
          "ListReconnections"),
      Erase<v1::LayoutService, &rpc::DescribeLayout, &v1::LayoutService::Stub::DescribeLayout>("DescribeLayout"),
      Erase<v1::LayoutService, &rpc::CompareLayouts, &v1::LayoutService::Stub::CompareLayouts>("CompareLayouts"),
      Erase<v1::SheetService, &rpc::MakeWindingDrawing, &v1::SheetService::Stub::MakeWindingDrawing>(
          "MakeWindingDrawing"),
      Erase<v1::SheetService, &rpc::MakeSlotDrawing, &v1::SheetService::Stub::MakeSlotDrawing>("MakeSlotDrawing"),
      Erase<v1::RecordCheckService, &rpc::CheckRecord, &v1::RecordCheckService::Stub::CheckRecord>("CheckRecord"),
      Erase<v1::ReadingService, &rpc::JudgeReadings, &v1::ReadingService::Stub::JudgeReadings>("JudgeReadings"),
      Erase<v1::RecordCheckService, &rpc::EstimateMissing, &v1::RecordCheckService::Stub::EstimateMissing>(
          "EstimateMissing"),
      EraseArchive<v1::WindingArchiveService, &rpc::CreateWinding, &v1::WindingArchiveService::Stub::CreateWinding>(
          "CreateWinding"),
      EraseArchive<v1::WindingArchiveService, &rpc::GetWinding, &v1::WindingArchiveService::Stub::GetWinding>(
          "GetWinding"),
      EraseArchive<v1::WindingArchiveService, &rpc::ListWindings, &v1::WindingArchiveService::Stub::ListWindings>(
          "ListWindings"),
      EraseArchive<v1::WindingArchiveService, &rpc::UpdateWinding, &v1::WindingArchiveService::Stub::UpdateWinding>(
          "UpdateWinding"),
      EraseArchive<v1::WindingArchiveService, &rpc::DeleteWinding, &v1::WindingArchiveService::Stub::DeleteWinding>(
          "DeleteWinding"),
      EraseArchive<v1::WindingArchiveService, &rpc::UndeleteWinding, &v1::WindingArchiveService::Stub::UndeleteWinding>(
          "UndeleteWinding"),
      EraseArchive<v1::WindingArchiveService, &rpc::ListWindingRevisions,
                   &v1::WindingArchiveService::Stub::ListWindingRevisions>("ListWindingRevisions"),
      EraseArchive<v1::WindingArchiveService, &rpc::FindNearestWindings,
                   &v1::WindingArchiveService::Stub::FindNearestWindings>("FindNearestWindings"),
      EraseArchive<v1::WindingArchiveService, &rpc::CompareWindings, &v1::WindingArchiveService::Stub::CompareWindings>(
          "CompareWindings"),
      EraseArchive<v1::JobService, &rpc::CreateJob, &v1::JobService::Stub::CreateJob>("CreateJob"),
      EraseArchive<v1::JobService, &rpc::GetJob, &v1::JobService::Stub::GetJob>("GetJob"),
      EraseArchive<v1::JobService, &rpc::ListJobs, &v1::JobService::Stub::ListJobs>("ListJobs"),
      EraseArchive<v1::JobService, &rpc::UpdateJob, &v1::JobService::Stub::UpdateJob>("UpdateJob"),
      EraseArchive<v1::JobService, &rpc::DeleteJob, &v1::JobService::Stub::DeleteJob>("DeleteJob"),
      EraseArchive<v1::JobService, &rpc::UndeleteJob, &v1::JobService::Stub::UndeleteJob>("UndeleteJob"),
      EraseArchive<v1::JobService, &rpc::ListJobRevisions, &v1::JobService::Stub::ListJobRevisions>("ListJobRevisions"),
      EraseArchive<v1::JobService, &rpc::ReachStage, &v1::JobService::Stub::ReachStage>("ReachStage"),
      EraseArchive<v1::JobService, &rpc::ChoosePlan, &v1::JobService::Stub::ChoosePlan>("ChoosePlan"),
      EraseArchive<v1::JobService, &rpc::AddReadings, &v1::JobService::Stub::AddReadings>("AddReadings"),
      EraseArchive<v1::JobService, &rpc::GetReadings, &v1::JobService::Stub::GetReadings>("GetReadings"),
      EraseArchive<v1::JobService, &rpc::ListReadings, &v1::JobService::Stub::ListReadings>("ListReadings"),
      EraseArchive<v1::JobService, &rpc::SignOffJob, &v1::JobService::Stub::SignOffJob>("SignOffJob"),
      EraseArchive<v1::JobService, &rpc::GetMegohmTrend, &v1::JobService::Stub::GetMegohmTrend>("GetMegohmTrend"),
      EraseArchive<v1::ArchiveService, &rpc::GetArchive, &v1::ArchiveService::Stub::GetArchive>("GetArchive"),
      EraseArchive<v1::ArchiveService, &rpc::ExportEntries, &v1::ArchiveService::Stub::ExportEntries>("ExportEntries"),
      EraseArchive<v1::ArchiveService, &rpc::ImportEntries, &v1::ArchiveService::Stub::ImportEntries>("ImportEntries"),
      EraseSometimesArchive<v1::SheetService, &rpc::MakeRewindSheet, &v1::SheetService::Stub::MakeRewindSheet>(
          "MakeRewindSheet"),
      EraseSometimesArchive<v1::SheetService, &rpc::MakeTestCertificate, &v1::SheetService::Stub::MakeTestCertificate>(
          "MakeTestCertificate"),
      EraseSometimesArchive<v1::SheetService, &rpc::MakeConnectionLabel, &v1::SheetService::Stub::MakeConnectionLabel>(
          "MakeConnectionLabel"),
  };
  return *methods;
}

const AnyMethod& Named(const std::string& name) {
  for (const AnyMethod& method : Methods()) {
    if (method.name == name) return method;
  }
  std::abort();
}

}  // namespace coilwright::calls
