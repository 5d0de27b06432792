#pragma once

#include <vector>

#include "coilwright/v1/rewind_plan_service.pb.h"
#include "coilwright/v1/wire_service.pb.h"
#include "plan/plan.h"

namespace coilwright::rpc {

void Write(const plan::RewindPlan& plan, const plan::Record& record, v1::PlanRewindResponse* out);

// Wires of one turn with their area; fullness and warnings are left to the caller.
void WriteStrands(const std::vector<plan::RecordedStrand>& strands, double area_error_ratio, v1::StrandChoice* out);

}  // namespace coilwright::rpc
