#pragma once

#include "testing/readings.h"

namespace coilwright::testing {

// The verdict of the winding from the readings judged, in order of testing/readings.h; internal to this room.
void DecideWinding(const JudgeCase& c, const Programme& programme, WindingJudgement& judgement);

}  // namespace coilwright::testing
