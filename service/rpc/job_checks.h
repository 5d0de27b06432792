#pragma once

#include "coilwright/v1/reading_service.pb.h"
#include "rpc/reader.h"

// What a job and its readings are held to, from whoever they come.
namespace coilwright::rpc {

inline constexpr int kMostStages = 100;
inline constexpr int kMostSignOffs = 50;
inline constexpr size_t kMostStageNoteBytes = 500;

// What a caller may say of a v1::Job.
void ReadJob(const Reader& job);
// What the calls of its work have added to it.
void ReadWorkDone(const Reader& job);

// Wrong values, and readings without a value, are slips to be put right at once; what else is missing is no reason to
// lose a reading.
void RefuseWrongReadings(const Reader& parent, absl::string_view field, const v1::JudgeReadingsRequest& request);

}  // namespace coilwright::rpc
