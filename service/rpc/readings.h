#pragma once

#include <vector>

#include "coilwright/v1/reading_service.pb.h"
#include "rpc/reader.h"
#include "testing/readings.h"

// Readings of a stage between the contract and the engine.
namespace coilwright::rpc {

testing::JudgeCase ReadJudgeCase(const Reader& reader);
std::vector<testing::Reading> ReadReadings(const Reader& reader);

// `request` gives the labels.
void Write(const testing::WindingJudgement& judgement, const v1::JudgeReadingsRequest& request,
           v1::JudgeReadingsResponse* out);

}  // namespace coilwright::rpc
