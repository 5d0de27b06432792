#pragma once

#include "testing/readings.h"

namespace coilwright::testing {

// Readings that name a fault other readings rule out lose their suspect: the test stays failed, its reading is taken
// again, and the winding is not decided. Turns of one phase that the resistances miss and that the surge waves of all
// three phases, valid and lying on each other, do not show; turns of one phase by the back-EMF where the resistances
// balance and the waves lie on each other, or where it would have more turns than the others, which no balance allows.
void SetAgainstEachOther(WindingJudgement& judgement);

}  // namespace coilwright::testing
