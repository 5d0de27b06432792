#pragma once

#include <string>
#include <vector>

#include "archive/archive.h"
#include "archive/entry.h"

namespace coilwright::archive {

// A new winding as a caller would keep it, with a payload that tells whose it is.
NewEntry NewWinding(const std::string& id, const std::string& request_id = "");

// The whole log, in pages.
std::vector<Entry> WholeLog(Archive& archive);

// What is wrong with a log, empty where nothing is: sequences from 1 without gaps, no name and revision twice, no
// request id twice, every revision after the one before it, every payload that of its name.
std::string WrongIn(const std::vector<Entry>& log);

// What was acknowledged and is not there once, as it was told.
std::string LostOf(const std::vector<Entry>& acknowledged, const std::vector<Entry>& log);

}  // namespace coilwright::archive
