#pragma once

#include <string>
#include <utility>
#include <vector>

#include "coilwright/v1/machine.pb.h"
#include "coilwright/v1/testing.pb.h"
#include "coilwright/v1/winding.pb.h"
#include "coilwright/v1/wire_service.pb.h"
#include "print/units.h"

// Parts of records, plans and programmes in words, for documents.
namespace coilwright::rpc {

using FactList = std::vector<std::pair<std::string, std::string>>;

// "2 parallel circuits"
std::string CircuitWords(int circuits);
// "6 groups: 40 turns over 5 slots, 44 turns over 7 slots"
std::string GroupWords(const v1::CoilGroup& group);
// "2 x AWG 18 heavy + 1 x AWG 19 heavy"
std::string StrandWords(const v1::StrandChoice& choice);
// "pin A, black"
std::string LeadWords(const v1::Lead& lead);
// As it was read: "12.5 mm"; empty where it was not.
std::string LengthWords(const v1::Length& length);
// "1500 V ac", "at least 100 megohms", "look" for what is only looked at.
std::string StepWords(const v1::TestStep& step);
// "at least 5 megohms at 40 C"; empty where there is no figure.
std::string LimitWords(const v1::AcceptanceLimit& limit);

// Kind, plate and what is fitted.
FactList MachineFacts(const v1::Machine& machine);
// Coil heads and their limit, slot opening, liner, separator, wedge: what the coils must fit.
FactList CoilRoomFacts(const v1::Machine& machine, const print::Units& units);

}  // namespace coilwright::rpc
