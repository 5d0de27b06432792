#pragma once

#include <string>

#include "coilwright/v1/reading_service.pb.h"
#include "sheet/document.h"

// Readings as a person took them, in words and units as read: what a certificate says before it judges.
namespace coilwright::rpc {

// A row for every reading: what it is, what was read, under what it was read.
sheet::Table ReadingsTable(const v1::JudgeReadingsRequest& request);
// What a test was judged by, as read: "1800 V ac rms for 60 s", "mean 0.412 ohms"; empty where nothing was.
std::string JudgedReadingWords(const v1::JudgedTest& test, const v1::JudgeReadingsRequest& request);

}  // namespace coilwright::rpc
