#pragma once

#include "coilwright/v1/core_test_service.grpc.pb.h"
#include "coilwright/v1/drive_stress_service.grpc.pb.h"
#include "coilwright/v1/insulation_run_service.grpc.pb.h"
#include "coilwright/v1/layout_service.grpc.pb.h"
#include "coilwright/v1/megohm_service.grpc.pb.h"
#include "coilwright/v1/reading_service.grpc.pb.h"
#include "coilwright/v1/record_check_service.grpc.pb.h"
#include "coilwright/v1/rewind_plan_service.grpc.pb.h"
#include "coilwright/v1/rule_service.grpc.pb.h"
#include "coilwright/v1/test_limit_service.grpc.pb.h"
#include "coilwright/v1/wire_service.grpc.pb.h"
#include "rpc/arena.h"
#include "rpc/call.h"
#include "rpc/methods.h"
#include "rpc/stream.h"

// The shell of every service: which thread answers a method, and where its messages live. Nothing else.
namespace coilwright::rpc {

class RuleService final : public v1::RuleService::CallbackService {
 public:
  explicit RuleService(Calls& calls) : calls_(calls) {}

 private:
  grpc::ServerUnaryReactor* GetRule(grpc::CallbackServerContext* context, const v1::GetRuleRequest* request,
                                    v1::GetRuleResponse* response) override {
    return Answer(calls_, context, rpc::GetRule, request, response);
  }
  grpc::ServerUnaryReactor* ListRules(grpc::CallbackServerContext* context, const v1::ListRulesRequest* request,
                                      v1::ListRulesResponse* response) override {
    return Answer(calls_, context, rpc::ListRules, request, response);
  }

  Calls& calls_;
};

class WireService final : public v1::WireService::CallbackService {
 public:
  WireService(Calls& calls, Workers& workers) : calls_(calls), workers_(workers) {
    SetMessageAllocatorFor_ListWires(&list_);
    SetMessageAllocatorFor_IdentifyWire(&identify_);
    SetMessageAllocatorFor_ChooseStrands(&choose_);
  }

 private:
  grpc::ServerUnaryReactor* LookUpWire(grpc::CallbackServerContext* context, const v1::LookUpWireRequest* request,
                                       v1::LookUpWireResponse* response) override {
    return Answer(calls_, context, rpc::LookUpWire, request, response);
  }
  grpc::ServerUnaryReactor* ListWires(grpc::CallbackServerContext* context, const v1::ListWiresRequest* request,
                                      v1::ListWiresResponse* response) override {
    return Answer(calls_, context, rpc::ListWires, request, response);
  }
  grpc::ServerUnaryReactor* IdentifyWire(grpc::CallbackServerContext* context, const v1::IdentifyWireRequest* request,
                                         v1::IdentifyWireResponse* response) override {
    return AnswerLater(calls_, workers_, context, rpc::IdentifyWire, request, response);
  }
  grpc::ServerUnaryReactor* ChooseStrands(grpc::CallbackServerContext* context, const v1::ChooseStrandsRequest* request,
                                          v1::ChooseStrandsResponse* response) override {
    return AnswerLater(calls_, workers_, context, rpc::ChooseStrands, request, response);
  }

  Calls& calls_;
  Workers& workers_;
  ArenaAllocator<v1::ListWiresRequest, v1::ListWiresResponse> list_;
  ArenaAllocator<v1::IdentifyWireRequest, v1::IdentifyWireResponse> identify_;
  ArenaAllocator<v1::ChooseStrandsRequest, v1::ChooseStrandsResponse> choose_;
};

// Streams come as bytes: see BytesSession.
using TestLimitMethods =
    v1::TestLimitService::WithCallbackMethod_GetTestLimits<v1::TestLimitService::WithCallbackMethod_GetTestProgramme<
        v1::TestLimitService::WithRawCallbackMethod_StreamTestLimits<v1::TestLimitService::Service>>>;

class TestLimitService final : public TestLimitMethods {
 public:
  TestLimitService(Calls& calls, Streams& streams) : calls_(calls), streams_(streams) {
    SetMessageAllocatorFor_GetTestLimits(&limits_);
    SetMessageAllocatorFor_GetTestProgramme(&programme_);
  }

 private:
  grpc::ServerUnaryReactor* GetTestLimits(grpc::CallbackServerContext* context, const v1::GetTestLimitsRequest* request,
                                          v1::GetTestLimitsResponse* response) override {
    return Answer(calls_, context, rpc::GetTestLimits, request, response);
  }
  grpc::ServerUnaryReactor* GetTestProgramme(grpc::CallbackServerContext* context,
                                             const v1::GetTestProgrammeRequest* request,
                                             v1::GetTestProgrammeResponse* response) override {
    return Answer(calls_, context, rpc::GetTestProgramme, request, response);
  }
  BytesReactor* StreamTestLimits(grpc::CallbackServerContext* context) override {
    return streams_.Open(context, rpc::StreamTestLimits());
  }

  Calls& calls_;
  Streams& streams_;
  ArenaAllocator<v1::GetTestLimitsRequest, v1::GetTestLimitsResponse> limits_;
  ArenaAllocator<v1::GetTestProgrammeRequest, v1::GetTestProgrammeResponse> programme_;
};

class InsulationRunService final
    : public v1::InsulationRunService::WithRawCallbackMethod_RunInsulationTest<v1::InsulationRunService::Service> {
 public:
  explicit InsulationRunService(Streams& streams) : streams_(streams) {}

 private:
  BytesReactor* RunInsulationTest(grpc::CallbackServerContext* context) override {
    return streams_.Open(context, rpc::RunInsulationTest());
  }

  Streams& streams_;
};

class MegohmService final : public v1::MegohmService::CallbackService {
 public:
  explicit MegohmService(Calls& calls) : calls_(calls) { SetMessageAllocatorFor_JudgeMegohms(&judge_); }

 private:
  grpc::ServerUnaryReactor* JudgeMegohms(grpc::CallbackServerContext* context, const v1::JudgeMegohmsRequest* request,
                                         v1::JudgeMegohmsResponse* response) override {
    return Answer(calls_, context, rpc::JudgeMegohms, request, response);
  }

  Calls& calls_;
  ArenaAllocator<v1::JudgeMegohmsRequest, v1::JudgeMegohmsResponse> judge_;
};

class ReadingService final : public v1::ReadingService::CallbackService {
 public:
  ReadingService(Calls& calls, Workers& workers) : calls_(calls), workers_(workers) {
    SetMessageAllocatorFor_JudgeReadings(&judge_);
  }

 private:
  grpc::ServerUnaryReactor* JudgeReadings(grpc::CallbackServerContext* context, const v1::JudgeReadingsRequest* request,
                                          v1::JudgeReadingsResponse* response) override {
    return AnswerLater(calls_, workers_, context, rpc::JudgeReadings, request, response);
  }

  Calls& calls_;
  Workers& workers_;
  ArenaAllocator<v1::JudgeReadingsRequest, v1::JudgeReadingsResponse> judge_;
};

class CoreTestService final : public v1::CoreTestService::CallbackService {
 public:
  explicit CoreTestService(Calls& calls) : calls_(calls) {}

 private:
  grpc::ServerUnaryReactor* PlanCoreTest(grpc::CallbackServerContext* context, const v1::PlanCoreTestRequest* request,
                                         v1::PlanCoreTestResponse* response) override {
    return Answer(calls_, context, rpc::PlanCoreTest, request, response);
  }
  grpc::ServerUnaryReactor* CompareCoreTests(grpc::CallbackServerContext* context,
                                             const v1::CompareCoreTestsRequest* request,
                                             v1::CompareCoreTestsResponse* response) override {
    return Answer(calls_, context, rpc::CompareCoreTests, request, response);
  }
  grpc::ServerUnaryReactor* GetOvenLimit(grpc::CallbackServerContext* context, const v1::GetOvenLimitRequest* request,
                                         v1::GetOvenLimitResponse* response) override {
    return Answer(calls_, context, rpc::GetOvenLimit, request, response);
  }

  Calls& calls_;
};

class DriveStressService final : public v1::DriveStressService::CallbackService {
 public:
  explicit DriveStressService(Calls& calls) : calls_(calls) {}

 private:
  grpc::ServerUnaryReactor* AssessDriveStress(grpc::CallbackServerContext* context,
                                              const v1::AssessDriveStressRequest* request,
                                              v1::AssessDriveStressResponse* response) override {
    return Answer(calls_, context, rpc::AssessDriveStress, request, response);
  }

  Calls& calls_;
};

class RecordCheckService final : public v1::RecordCheckService::CallbackService {
 public:
  RecordCheckService(Calls& calls, Workers& workers) : calls_(calls), workers_(workers) {
    SetMessageAllocatorFor_CheckRecord(&check_);
    SetMessageAllocatorFor_EstimateMissing(&estimate_);
  }

 private:
  grpc::ServerUnaryReactor* CheckRecord(grpc::CallbackServerContext* context, const v1::CheckRecordRequest* request,
                                        v1::CheckRecordResponse* response) override {
    return AnswerLater(calls_, workers_, context, rpc::CheckRecord, request, response);
  }
  grpc::ServerUnaryReactor* EstimateMissing(grpc::CallbackServerContext* context,
                                            const v1::EstimateMissingRequest* request,
                                            v1::EstimateMissingResponse* response) override {
    return AnswerLater(calls_, workers_, context, rpc::EstimateMissing, request, response);
  }

  Calls& calls_;
  Workers& workers_;
  ArenaAllocator<v1::CheckRecordRequest, v1::CheckRecordResponse> check_;
  ArenaAllocator<v1::EstimateMissingRequest, v1::EstimateMissingResponse> estimate_;
};

class RewindPlanService final : public v1::RewindPlanService::CallbackService {
 public:
  RewindPlanService(Calls& calls, Workers& workers) : calls_(calls), workers_(workers) {
    SetMessageAllocatorFor_PlanRewind(&plan_);
    SetMessageAllocatorFor_ListReconnections(&reconnections_);
  }

 private:
  grpc::ServerUnaryReactor* PlanRewind(grpc::CallbackServerContext* context, const v1::PlanRewindRequest* request,
                                       v1::PlanRewindResponse* response) override {
    return AnswerLater(calls_, workers_, context, rpc::PlanRewind, request, response);
  }
  grpc::ServerUnaryReactor* ListReconnections(grpc::CallbackServerContext* context,
                                              const v1::ListReconnectionsRequest* request,
                                              v1::ListReconnectionsResponse* response) override {
    return AnswerLater(calls_, workers_, context, rpc::ListReconnections, request, response);
  }

  Calls& calls_;
  Workers& workers_;
  ArenaAllocator<v1::PlanRewindRequest, v1::PlanRewindResponse> plan_;
  ArenaAllocator<v1::ListReconnectionsRequest, v1::ListReconnectionsResponse> reconnections_;
};

class LayoutService final : public v1::LayoutService::CallbackService {
 public:
  LayoutService(Calls& calls, Workers& workers) : calls_(calls), workers_(workers) {
    SetMessageAllocatorFor_DescribeLayout(&describe_);
    SetMessageAllocatorFor_CompareLayouts(&compare_);
  }

 private:
  grpc::ServerUnaryReactor* DescribeLayout(grpc::CallbackServerContext* context,
                                           const v1::DescribeLayoutRequest* request,
                                           v1::DescribeLayoutResponse* response) override {
    return AnswerLater(calls_, workers_, context, rpc::DescribeLayout, request, response);
  }
  grpc::ServerUnaryReactor* CompareLayouts(grpc::CallbackServerContext* context,
                                           const v1::CompareLayoutsRequest* request,
                                           v1::CompareLayoutsResponse* response) override {
    return AnswerLater(calls_, workers_, context, rpc::CompareLayouts, request, response);
  }

  Calls& calls_;
  Workers& workers_;
  ArenaAllocator<v1::DescribeLayoutRequest, v1::DescribeLayoutResponse> describe_;
  ArenaAllocator<v1::CompareLayoutsRequest, v1::CompareLayoutsResponse> compare_;
};

}  // namespace coilwright::rpc
