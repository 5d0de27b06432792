#pragma once

#include <vector>

namespace coilwright::winding {

// Coils of one span and their turns in all.
struct SpanTurns {
  double span_slots = 0;
  double turns = 0;
};

// Winding factor of concentric groups, each centred on its own axis and the groups of a phase 180 electrical degrees
// apart: sum of T sin(90 y / tau) over sum of T, with y the span and tau = slots / poles. Whole slots per pole and
// phase. Identity: a double-layer group of equal turns whose spans average to the pitch of a lap winding has that
// winding's factor. Zero for no turns.
double ConcentricGroupFactor(int slots, int poles, const std::vector<SpanTurns>& coils);

}  // namespace coilwright::winding
