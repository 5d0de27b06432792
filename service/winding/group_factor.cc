#include "winding/group_factor.h"

#include <cmath>

#include "standards/units.h"

namespace coilwright::winding {

double ConcentricGroupFactor(int slots, int poles, const std::vector<SpanTurns>& coils) {
  double effective = 0;
  double turns = 0;
  for (const SpanTurns& coil : coils) {
    effective += coil.turns * std::sin(standards::kPi / 2.0 * coil.span_slots * poles / slots);
    turns += coil.turns;
  }
  return turns > 0 ? std::abs(effective) / turns : 0.0;
}

}  // namespace coilwright::winding
