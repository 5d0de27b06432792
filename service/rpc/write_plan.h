#pragma once

#include <vector>

#include "coilwright/v1/rewind_plan_service.pb.h"
#include "coilwright/v1/wire_service.pb.h"
#include "plan/plan.h"
#include "plan/reconnect.h"

namespace coilwright::rpc {

void Write(const plan::RewindPlan& plan, const plan::Record& record, v1::PlanRewindResponse* out);

void Write(const plan::TurnsPlan& turns, v1::TurnsPlan* out);
void Write(const plan::Reconnections& answer, v1::ListReconnectionsResponse* out);

// Wires of one turn with their area; fullness and warnings are left to the caller.
void WriteStrands(const std::vector<plan::RecordedStrand>& strands, double area_error_ratio, v1::StrandChoice* out);

}  // namespace coilwright::rpc
