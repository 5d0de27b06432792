#pragma once

#include <string>

#include "coilwright/v1/rewind_plan_service.pb.h"
#include "print/units.h"
#include "sheet/document.h"

namespace coilwright::rpc {

// The job of the archive that a plan was chosen for; nothing for a plan that is kept nowhere.
struct SheetJob {
  std::string name, title, customer;
  v1::Nameplate plate;  // of its own machine
};

// What the winder needs beside the stator, from a plan as it was asked for and answered. `code` stands in the box of
// the sheet.
sheet::Document RewindSheet(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan,
                            const std::string& code, const print::Units& units, const SheetJob& job = {});

// What the machine's label shows: how the winding is connected and what it must measure.
sheet::Document ConnectionLabel(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan,
                                const std::string& code, const print::Units& units, const SheetJob& job = {});

}  // namespace coilwright::rpc
