#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "plan/steps.h"
#include "winding/field.h"

namespace coilwright::plan {
namespace {

constexpr double kSameAxis = 1e-6;

double Wrapped(double degrees) {
  const double wrapped = std::remainder(degrees, 360);
  return std::abs(wrapped) < kSameAxis ? 0 : wrapped;
}

// Axis of lead U with its first coil in slot 1.
std::optional<double> LeadAxis(const winding::Pattern& pattern, electric::Connection connection) {
  const absl::StatusOr<winding::Layout> layout = winding::LaidOut({pattern});
  if (!layout.ok()) return std::nullopt;
  const winding::Field field = winding::FieldOf(*layout);
  return connection == electric::Connection::kDelta ? field.delta_axis_electrical_degrees[0]
                                                    : field.axis_electrical_degrees[0];
}

// Slots to start later so that the axis comes nearest to where it was, the fewest of those that come as near.
int SlotsLater(const winding::Pattern& pattern, double moved) {
  const double slot_degrees = 180.0 * pattern.poles / pattern.slots;
  int best = 0;
  for (int way = 1; way <= pattern.slots / 2; ++way) {
    for (const int later : {way, -way}) {
      if (std::abs(Wrapped(moved + later * slot_degrees)) <
          std::abs(Wrapped(moved + best * slot_degrees)) - kSameAxis) {
        best = later;
      }
    }
  }
  return best;
}

std::string Slots(int count) {
  return absl::StrCat(std::abs(count), std::abs(count) == 1 ? " slot " : " slots ", count > 0 ? "later" : "earlier");
}

}  // namespace

std::vector<std::string> AxisNotes(const Record& record, const PatternSummary& pattern, const Redesign& redesign) {
  std::vector<std::string> notes;
  if (record.kind != MachineKind::kPermanentMagnet) return notes;
  notes.emplace_back("Poles, phase order and the axis of U must not move: the drive and its feedback depend on them.");
  const electric::Connection was = record.winding.connection, is = redesign.record.winding.connection;
  if (was != is) {
    notes.emplace_back(
        "Between star and delta the axis that the drive sees moves by 30 electrical degrees: in delta it lies 30 "
        "towards "
        "V of the star's where U1 is joined with W2, 30 the other way where it is joined with V2. Have the feedback "
        "set "
        "anew, or start the coils so much further round.");
  }
  const winding::Pattern &before = pattern.pattern, &after = redesign.pattern.pattern;
  const std::optional<double> old_axis = LeadAxis(before, was), new_axis = LeadAxis(after, is);
  if (!old_axis || !new_axis) return notes;
  const double moved = Wrapped(*new_axis - *old_axis);
  if (moved == 0) return notes;
  const int later = SlotsLater(after, moved);
  const double left = Wrapped(moved + later * 180.0 * after.poles / after.slots);
  std::string keeps = absl::StrFormat("starting it %s keeps it", Slots(later));
  if (left != 0) {
    keeps = later == 0 ? std::string("no other first slot comes nearer")
                       : absl::StrFormat("no first slot keeps it; %s leaves %.4g", Slots(later), std::abs(left));
  }
  notes.push_back(absl::StrFormat(
      "With the first coil of U in the slot it was in, the axis of U moves by %.4g electrical degrees %s; %s.",
      std::abs(moved), moved > 0 ? "towards rising slot numbers" : "towards falling slot numbers", keeps));
  return notes;
}

}  // namespace coilwright::plan
