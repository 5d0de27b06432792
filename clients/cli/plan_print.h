#pragma once

#include <string>

#include "coilwright/v1/rewind_plan_service.pb.h"
#include "page.h"
#include "units.h"

namespace coilwright::cli {

// A plan in the order a winder works; the way that is wound is shown in full.
std::string PrintPlan(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan, const Units& units);

// kExitDoubtful where it may not be wound.
int ExitStatusOf(const v1::PlanRewindResponse& plan);

// Parts of it.
void PrintTurns(const v1::TurnsPlan& turns, Page* page);
void PrintOriginal(const v1::PlanRewindResponse& plan, const Units& units, Page* page);
void PrintOptions(const v1::PlanRewindResponse& plan, const Units& units, Page* page);
void PrintOption(const v1::WindingOption& option, const std::string& heading, const Units& units, Page* page);
void PrintLoadings(const v1::PlanRewindResponse& plan, const Units& units, Page* page);

void PrintFindings(const google::protobuf::RepeatedPtrField<v1::Finding>& findings, const std::string& heading,
                   const Units& units, Page* page);

// "ok", "look", "stop", "unchecked"
std::string Mark(v1::FindingLevel level);

}  // namespace coilwright::cli
