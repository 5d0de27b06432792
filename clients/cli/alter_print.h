#pragma once

#include <string>

#include "coilwright/v1/rewind_plan_service.pb.h"
#include "units.h"

namespace coilwright::cli {

// A changed winding: before and after side by side, what to look at, ways to wind it.
std::string PrintAlteration(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan,
                            const Units& units);

std::string PrintReconnections(const v1::ListReconnectionsRequest& request, const v1::ListReconnectionsResponse& answer,
                               const Units& units);

}  // namespace coilwright::cli
