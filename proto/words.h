#pragma once

#include <string>

#include "coilwright/v1/machine.pb.h"
#include "coilwright/v1/reading_service.pb.h"
#include "coilwright/v1/record_check_service.pb.h"
#include "coilwright/v1/rewind_plan_service.pb.h"
#include "coilwright/v1/testing.pb.h"
#include "coilwright/v1/winding.pb.h"
#include "coilwright/v1/wire_service.pb.h"

// Parts of messages in words, and what they come to, the same on a screen and on paper.
namespace coilwright {

// False where the check found the record wrong: a plan of it is nothing to wind by. A record that cannot be decided is
// nobody's accusation; the page says so.
bool MayBeWound(const v1::RecordCheck& check);
// False also where the new winding at a glance stops it.
bool MayBeWound(const v1::PlanRewindResponse& plan);

// The way that is wound, null where no wire makes it.
const v1::WindingOption* WoundOption(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan);

// "2 parallel circuits"
std::string CircuitWords(int circuits);
// "star, 2 parallel circuits"
std::string ConnectionWords(v1::Connection connection, int circuits);
// "4 groups: 9 turns over 5 slots, 9 turns over 7 slots": coil by coil where coils differ.
std::string GroupWords(const v1::CoilGroup& group);
// "36 coils, lap, double layer"
std::string CoilWords(const v1::PatternSummary& pattern);
// "5 slots, throw 1-6"
std::string PitchWords(const v1::PatternSummary& pattern);
// "2 x AWG 18 heavy + 1 x AWG 19 heavy"
std::string StrandWords(const v1::StrandChoice& choice);
// What stands on a plate beside figures: maker, model, serial number, frame.
std::string PlateWords(const std::string& maker, const std::string& model, const std::string& serial,
                       const std::string& frame);
std::string PlateWords(const v1::Nameplate& plate);

// "1500 V ac rms"
std::string LevelWords(double volts, v1::VoltageShape shape);
// "at least 5 megohms at 40 C"; empty where a reading is looked at and not compared.
std::string LimitWords(const v1::AcceptanceLimit& limit);
// "Surge comparison of the turn insulation (after the oven)"
std::string TestWords(const v1::JudgedTest& test);
bool IsWithstand(const v1::JudgedTest& test);
// What it had to reach or hold: its limit, of a withstand with the voltage in words.
std::string AskedWords(const v1::JudgedTest& test);
// "1.325 percent", "at least 2000 megohms"; empty where nothing was read.
std::string AsReadWords(const v1::JudgedTest& test);
// "664 megohms at 40 C"; empty where nothing was corrected.
std::string CorrectedWords(const v1::JudgedTest& test);
// "not read of this stage: Winding resistance, balance (decides)"; empty where nothing is missing.
std::string MissingWords(const v1::JudgeReadingsResponse& judged);

}  // namespace coilwright
