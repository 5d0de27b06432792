#pragma once

#include <string>
#include <utility>
#include <vector>

#include "coilwright/v1/machine.pb.h"
#include "coilwright/v1/testing.pb.h"
#include "print/units.h"

// Parts of records and programmes in words that only documents say; words.h has those that the command line says too.
namespace coilwright::rpc {

using FactList = std::vector<std::pair<std::string, std::string>>;

// "pin A, black"
std::string LeadWords(const v1::Lead& lead);
// Pins that several leads are recorded on, a text for each: no drive or plug is joined by it before that is settled.
std::vector<std::string> SharedPinWords(const v1::Machine& machine);
// As it was read: "12.5 mm"; for a shop of inches millimetres and metres in inches; empty where it was not read.
std::string LengthWords(const v1::Length& length, const print::Units& units);
// What the plate gives: "190 V, 5.4 A rms, 1.5 kW, 3000 rpm"
std::string RatedWords(const v1::Nameplate& plate);
// "1500 V ac rms", "at least 100 megohms"; "look" or "note" where there is no figure to hold a reading against.
std::string StepWords(const v1::TestStep& step);

// Kind, plate and what is fitted.
FactList MachineFacts(const v1::Machine& machine);
// Coil heads and their limit, slot opening, liner, separator, wedge: what the coils must fit.
FactList CoilRoomFacts(const v1::Machine& machine, const print::Units& units);

}  // namespace coilwright::rpc
