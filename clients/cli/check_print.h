#pragma once

#include <string>

#include "coilwright/v1/record_check_service.pb.h"
#include "page.h"
#include "units.h"

namespace coilwright::cli {

// kExitDoubtful where it may not be wound.
int ExitStatusOf(const v1::RecordCheck& check);

// What the check concludes, with explanations and what to do next where the record is not sound.
void PrintConclusion(const v1::RecordCheck& check, Page* page);

// The whole check, and the estimates.
std::string PrintCheck(const std::string& title, const v1::RecordCheck& check, const Units& units);
std::string PrintEstimates(const v1::EstimateMissingResponse& answer, const Units& units);

}  // namespace coilwright::cli
