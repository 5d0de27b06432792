#pragma once

#include <string>

#include "coilwright/v1/archive.pb.h"
#include "coilwright/v1/job_service.pb.h"
#include "page.h"
#include "units.h"

namespace coilwright::cli {

// A job with its cautions, stages, plan, readings and releases; `readings` are all of it.
std::string PrintJob(const v1::GetJobResponse& answer, const v1::ListReadingsResponse& readings, const Units& units);
std::string PrintJobs(const v1::ListJobsResponse& list);
// The plan chosen.
void PrintChosenPlan(const v1::ChosenPlan& plan, const Units& units, Page* page);
void PrintReadingsList(const v1::ListReadingsResponse& readings, Page* page);
// One set of readings with its verdicts.
std::string PrintReadings(const v1::JobReadings& readings);

// What a release rests on; loud where that is not a sound verdict.
std::string VerdictText(const v1::SignOff& release);

// "assembled, 2026-11-28 14:30 by Ana Ruiz"; "none yet".
std::string LatestStage(const v1::Job& job);

}  // namespace coilwright::cli
