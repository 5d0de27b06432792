#pragma once

#include "coilwright/v1/rewind_plan_service.pb.h"
#include "print/units.h"
#include "sheet/document.h"

namespace coilwright::rpc {

// What the winder needs beside the stator, from a plan as it was asked for and answered; `way` from 1. `code` stands in
// the box of the sheet.
sheet::Document RewindSheet(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan, int way,
                            const std::string& code, const print::Units& units);

// What the machine's label shows: how the winding is connected and what it must measure.
sheet::Document ConnectionLabel(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan, int way,
                                const std::string& code, const print::Units& units);

}  // namespace coilwright::rpc
