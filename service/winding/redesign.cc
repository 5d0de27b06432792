#include "winding/redesign.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "standards/range_check.h"

namespace coilwright::winding {
namespace {

using standards::RangeCheck;

void CheckSide(absl::string_view path, const Side& side, RangeCheck* check) {
  const auto field = [&](absl::string_view name) { return absl::StrCat(path, ".", name); };
  check->Within(field("line_volts"), side.line_volts, 1, 50000, "V");
  check->Within(field("frequency_hz"), side.frequency_hz, kLeastHz, kMostHz, "Hz");
  check->Within(field("circuits"), side.circuits, 1, 120, "parallel circuits");
  check->Above(field("winding_factor"), side.winding_factor, 0, 1, "");
  if (check->Within(field("coils"), side.coils, 3, 720, "coils") && side.coils % 3 != 0) {
    check->Refuse(field("coils"), absl::StrCat(side.coils, " coils"), "a multiple of 3: three equal phases");
  }
  check->Above(field("flux_ratio"), side.flux_ratio, 0, 10, "");
}

// Turns per coil for a given reference flux, up to a constant that both sides share.
double TurnsScale(const Side& side) {
  const double phase_volts =
      side.connection == electric::Connection::kStar ? side.line_volts / std::sqrt(3.0) : side.line_volts;
  return phase_volts * side.circuits / (side.frequency_hz * side.winding_factor * side.coils * side.flux_ratio);
}

}  // namespace

absl::StatusOr<Rescaled> RescaledTurns(double turns_per_coil, const Side& from, const Side& to) {
  RangeCheck check;
  check.Above("turns_per_coil", turns_per_coil, 0, 10000, "turns");
  CheckSide("from", from, &check);
  CheckSide("to", to, &check);
  if (!check.ok()) return check.status();

  Rescaled rescaled;
  rescaled.exact_turns = turns_per_coil * TurnsScale(to) / TurnsScale(from);
  if (rescaled.exact_turns > 1e6) {
    return standards::InvalidField("to", standards::WithUnit(rescaled.exact_turns, "turns per coil"),
                                   "a change that needs at most 1000000 turns per coil");
  }
  rescaled.whole_turns = std::max(1, static_cast<int>(std::lround(rescaled.exact_turns)));
  rescaled.rounding_flux_ratio = rescaled.exact_turns / rescaled.whole_turns;
  rescaled.achieved_flux_ratio = rescaled.rounding_flux_ratio * to.flux_ratio / from.flux_ratio;
  rescaled.strand_area_ratio = turns_per_coil * from.coils / (static_cast<double>(rescaled.whole_turns) * to.coils);
  return rescaled;
}

}  // namespace coilwright::winding
