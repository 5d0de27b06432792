#pragma once

#include <memory>

#include "absl/status/status.h"
#include "coilwright/v1/core_test_service.pb.h"
#include "coilwright/v1/drive_stress_service.pb.h"
#include "coilwright/v1/insulation_run_service.pb.h"
#include "coilwright/v1/layout_service.pb.h"
#include "coilwright/v1/megohm_service.pb.h"
#include "coilwright/v1/reading_service.pb.h"
#include "coilwright/v1/record_check_service.pb.h"
#include "coilwright/v1/rewind_plan_service.pb.h"
#include "coilwright/v1/rule_service.pb.h"
#include "coilwright/v1/sheet_service.pb.h"
#include "coilwright/v1/test_limit_service.pb.h"
#include "coilwright/v1/wire_service.pb.h"
#include "rpc/session.h"

// The bodies of all calls: message in, engine call, message out. One file per service implements them. The response is
// empty on entry and is to be ignored when the status is not OK. A stream's body is a session.
namespace coilwright::rpc {

absl::Status GetRule(const v1::GetRuleRequest& request, v1::GetRuleResponse* response);
absl::Status ListRules(const v1::ListRulesRequest& request, v1::ListRulesResponse* response);

absl::Status LookUpWire(const v1::LookUpWireRequest& request, v1::LookUpWireResponse* response);
absl::Status ListWires(const v1::ListWiresRequest& request, v1::ListWiresResponse* response);
absl::Status IdentifyWire(const v1::IdentifyWireRequest& request, v1::IdentifyWireResponse* response);
absl::Status ChooseStrands(const v1::ChooseStrandsRequest& request, v1::ChooseStrandsResponse* response);

absl::Status GetTestLimits(const v1::GetTestLimitsRequest& request, v1::GetTestLimitsResponse* response);
absl::Status GetTestProgramme(const v1::GetTestProgrammeRequest& request, v1::GetTestProgrammeResponse* response);
std::unique_ptr<Session<v1::StreamTestLimitsRequest, v1::StreamTestLimitsResponse>> StreamTestLimits();

std::unique_ptr<Session<v1::RunInsulationTestRequest, v1::RunInsulationTestResponse>> RunInsulationTest();

absl::Status JudgeMegohms(const v1::JudgeMegohmsRequest& request, v1::JudgeMegohmsResponse* response);

absl::Status JudgeReadings(const v1::JudgeReadingsRequest& request, v1::JudgeReadingsResponse* response);

absl::Status PlanCoreTest(const v1::PlanCoreTestRequest& request, v1::PlanCoreTestResponse* response);
absl::Status CompareCoreTests(const v1::CompareCoreTestsRequest& request, v1::CompareCoreTestsResponse* response);
absl::Status GetOvenLimit(const v1::GetOvenLimitRequest& request, v1::GetOvenLimitResponse* response);

absl::Status AssessDriveStress(const v1::AssessDriveStressRequest& request, v1::AssessDriveStressResponse* response);

absl::Status CheckRecord(const v1::CheckRecordRequest& request, v1::CheckRecordResponse* response);
absl::Status EstimateMissing(const v1::EstimateMissingRequest& request, v1::EstimateMissingResponse* response);

absl::Status PlanRewind(const v1::PlanRewindRequest& request, v1::PlanRewindResponse* response);
absl::Status ListReconnections(const v1::ListReconnectionsRequest& request, v1::ListReconnectionsResponse* response);

absl::Status DescribeLayout(const v1::DescribeLayoutRequest& request, v1::DescribeLayoutResponse* response);
absl::Status CompareLayouts(const v1::CompareLayoutsRequest& request, v1::CompareLayoutsResponse* response);

absl::Status MakeWindingDrawing(const v1::MakeWindingDrawingRequest& request, v1::MakeWindingDrawingResponse* response);
absl::Status MakeSlotDrawing(const v1::MakeSlotDrawingRequest& request, v1::MakeSlotDrawingResponse* response);

}  // namespace coilwright::rpc
