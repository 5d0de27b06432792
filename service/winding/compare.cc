#include "winding/compare.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <tuple>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "standards/rule_ids.h"
#include "winding/field.h"

namespace coilwright::winding {
namespace {

constexpr double kSameAxisDegrees = 1e-6;
constexpr std::array<std::array<int, 3>, 6> kNamings = {
    {{0, 1, 2}, {1, 2, 0}, {2, 0, 1}, {0, 2, 1}, {1, 0, 2}, {2, 1, 0}}};

// Slot from 0 of the second in which the first's `slot` comes to lie.
int Moved(const Transform& transform, int slot, int slots) {
  return ((transform.mirrored ? slots - slot : slot) + transform.slots) % slots;
}

int TotalCurrent(const SlotCurrents& currents) {
  int total = 0;
  for (const auto& slot : currents) {
    for (const int current : slot) total += std::abs(current);
  }
  return total;
}

// The transform with its signs where the currents fall on each other up to turns.
std::optional<Transform> Match(const SlotCurrents& a, int total_a, const SlotCurrents& b, int total_b,
                               Transform transform) {
  const int slots = static_cast<int>(a.size());
  transform.signs = {0, 0, 0};
  for (int slot = 0; slot < slots; ++slot) {
    const auto& from = a[static_cast<size_t>(slot)];
    const auto& to = b[static_cast<size_t>(Moved(transform, slot, slots))];
    for (size_t phase = 0; phase < 3; ++phase) {
      // Mirroring lets a coil magnetise as before, which turns the currents of its slots round.
      const int current = (transform.mirrored ? -1 : 1) * from[phase] * total_b;
      const int wanted = to[static_cast<size_t>(transform.phase_of[phase])] * total_a;
      if (std::abs(current) != std::abs(wanted)) return std::nullopt;
      if (current == 0) continue;
      int& sign = transform.signs[phase];
      if (sign == 0) sign = current == wanted ? 1 : -1;
      if (sign * current != wanted) return std::nullopt;
    }
  }
  for (int& sign : transform.signs) sign = sign == 0 ? 1 : sign;
  return transform;
}

using PlacedCoil = std::tuple<int, int, int>;  // phase, slot of positive current, slot of its return

std::vector<PlacedCoil> Placed(const Layout& layout, const Transform& transform) {
  std::vector<PlacedCoil> placed;
  for (const Coil& coil : layout.coils) {
    const size_t phase = static_cast<size_t>(coil.phase);
    int go = Moved(transform, coil.go_slot - 1, layout.slots),
        back = Moved(transform, coil.return_slot - 1, layout.slots);
    if (transform.mirrored != (coil.sign * transform.signs[phase] < 0)) std::swap(go, back);
    placed.emplace_back(transform.phase_of[phase], go, back);
  }
  std::sort(placed.begin(), placed.end());
  return placed;
}

// Spans of all coils in order, each the shorter way round.
std::vector<int> Spans(const Layout& layout) {
  std::vector<int> spans;
  for (const Coil& coil : layout.coils) {
    const int span = std::abs(coil.return_slot - coil.go_slot);
    spans.push_back(std::min(span, layout.slots - span));
  }
  std::sort(spans.begin(), spans.end());
  return spans;
}

// What of the coils is not alike, where no transform lays them on each other.
std::string CoilsDiffer(const Layout& first, const Layout& second) {
  std::vector<int> a = Spans(first), b = Spans(second);
  std::string text;
  if (a.size() != b.size()) {
    text = absl::StrCat("the first has ", a.size(), a.size() == 1 ? " coil" : " coils", ", the second ", b.size());
  }
  const bool same_numbers = a == b;
  for (std::vector<int>* spans : {&a, &b}) spans->erase(std::unique(spans->begin(), spans->end()), spans->end());
  if (a != b) {
    return absl::StrCat(text, text.empty() ? "" : "; ",
                        "the coils span other slots: mean turn and resistance are not the same");
  }
  if (!text.empty()) return absl::StrCat(text, a.size() == 1 ? " of the same span" : " of the same spans");
  return same_numbers ? "coils of the same spans join the slots in other pairs"
                      : "coils of the same spans occur in other numbers: resistance is not the same";
}

double Wrapped(double degrees) {
  degrees = std::fmod(degrees, 360);
  if (degrees > 180 + kSameAxisDegrees) degrees -= 360;
  if (degrees <= -180 + kSameAxisDegrees) degrees += 360;
  return std::abs(degrees) < kSameAxisDegrees ? 0 : degrees;
}

// With every axis kept, one phase cannot be reversed beside another: it would lie half a turn off.
bool KeepsPhases(const Transform& transform) {
  return !transform.mirrored && transform.phase_of == std::array<int, 3>{0, 1, 2};
}

// Lower is nearer to no change.
auto Change(const Transform& t, int slots) {
  const int reversed = (t.signs[0] < 0) + (t.signs[1] < 0) + (t.signs[2] < 0);
  return std::tuple(t.mirrored, t.phase_of != std::array<int, 3>{0, 1, 2}, reversed, std::min(t.slots, slots - t.slots),
                    t.slots, t.phase_of);
}

const std::array<double, 3>& LeadAxes(const Field& field, PhaseEnds ends) {
  return ends == PhaseEnds::kDelta ? field.delta_axis_electrical_degrees : field.axis_electrical_degrees;
}

void SayDifferences(const Field& a, const Field& b, const std::string& coils, Comparison* comparison) {
  const Transform& t = comparison->transform;
  auto& said = comparison->differences;
  if (t.mirrored) said.push_back("the second is the first wound mirror-wise");
  if (t.phase_of != std::array<int, 3>{0, 1, 2}) {
    const auto name = [&](size_t phase) { return "UVW"[t.phase_of[phase]]; };
    said.push_back(absl::StrFormat("phases are renamed: U, V, W of the first are %c, %c, %c of the second", name(0),
                                   name(1), name(2)));
  }
  if (a.clockwise_from_drive_end != b.clockwise_from_drive_end) {
    said.push_back("it turns the other way for the same phase order");
  }
  for (size_t phase = 0; phase < 3; ++phase) {
    const double shift = comparison->axis_shift_electrical_degrees[phase];
    if (shift != 0) {
      said.push_back(absl::StrFormat("the axis of %c moves by %.4g electrical degrees", "UVW"[phase], shift));
    }
  }
  if (!comparison->same_coils) said.push_back(coils);
  if (std::abs(comparison->turns_ratio - 1) > 1e-12) {
    said.push_back(
        absl::StrFormat("one turn of a coil of the first is %.4g turns of one of the second", comparison->turns_ratio));
  }
}

}  // namespace

Layout FromOtherEnd(const Layout& layout) {
  Layout seen = layout;
  seen.connection_end = layout.connection_end == MachineEnd::kDrive ? MachineEnd::kNonDrive : MachineEnd::kDrive;
  // Slot numbers run the other way and currents away from one end come towards the other.
  const auto mirrored = [&](int slot) { return (layout.slots - slot + 1) % layout.slots + 1; };
  for (Coil& coil : seen.coils) {
    const int go = coil.go_slot;
    coil.go_slot = mirrored(coil.return_slot);
    coil.return_slot = mirrored(go);
  }
  return seen;
}

Comparison CompareLayouts(const Layout& first, const Layout& given, PhaseEnds first_ends, PhaseEnds second_ends) {
  Comparison comparison;
  comparison.rules = {rules::winding_same_layout};
  if (first.slots != given.slots || first.poles != given.poles) {
    comparison.differences.push_back(absl::StrCat("the first has ", first.slots, " slots and ", first.poles,
                                                  " poles, the second ", given.slots, " and ", given.poles));
    return comparison;
  }
  const Layout second = first.connection_end == given.connection_end ? given : FromOtherEnd(given);
  const SlotCurrents a = CurrentsOf(first), b = CurrentsOf(second);
  const int total_a = TotalCurrent(a), total_b = TotalCurrent(b);
  if (total_a == 0 || total_b == 0) {
    comparison.differences.push_back("the coil sides of a layout cancel in every slot");
    return comparison;
  }
  const Field field_a = FieldOf(first), field_b = FieldOf(second);
  const std::string uneven_a = WhyUneven(first, field_a), uneven_b = WhyUneven(given, FieldOf(given));
  if (!uneven_a.empty()) comparison.differences.push_back(absl::StrCat("of the first layout, ", uneven_a));
  if (!uneven_b.empty()) comparison.differences.push_back(absl::StrCat("of the second layout, ", uneven_b));
  const bool delta_a = first_ends == PhaseEnds::kDelta, delta_b = second_ends == PhaseEnds::kDelta;
  const auto &axes_a = LeadAxes(field_a, first_ends), &axes_b = LeadAxes(field_b, second_ends);
  bool axes_kept = true;
  for (size_t phase = 0; phase < 3; ++phase) {
    double& shift = comparison.axis_shift_electrical_degrees[phase];
    shift = Wrapped(axes_b[phase] - axes_a[phase]);
    axes_kept = axes_kept && shift == 0;
  }
  comparison.axes_known = true;
  comparison.same_sense = field_a.clockwise_from_drive_end == field_b.clockwise_from_drive_end;
  comparison.rules.push_back(rules::winding_magnetic_axis);
  comparison.rules.push_back(rules::winding_rotation);
  if (delta_a || delta_b) comparison.rules.push_back(rules::winding_delta_axis);
  if (delta_a != delta_b) {
    comparison.differences.push_back(absl::StrFormat(
        "%s: for the same voltage a coil in delta has 1.732 times the turns, and the axis of a lead lies 30 electrical "
        "degrees from that of its phase",
        delta_b ? "the first is in star, the second in delta" : "the first is in delta, the second in star"));
  }
  const std::vector<PlacedCoil> target = Placed(second, Transform{});
  const auto rank = [&](const Transform& t, bool same_coils) {
    return std::tuple(!(axes_kept && KeepsPhases(t)), !same_coils, Change(t, first.slots));
  };
  const bool same_spans = Spans(first) == Spans(second);
  for (const bool mirrored : {false, true}) {
    for (const auto& naming : kNamings) {
      for (int turned = 0; turned < first.slots; ++turned) {
        const auto match = Match(a, total_a, b, total_b, {mirrored, turned, naming, {1, 1, 1}});
        const auto worse = [&](bool same_coils) {
          return comparison.electrically_equivalent &&
                 rank(comparison.transform, comparison.same_coils) <= rank(*match, same_coils);
        };
        if (!match.has_value() || worse(same_spans)) continue;
        const bool same_coils = same_spans && Placed(first, *match) == target;
        if (worse(same_coils)) continue;
        comparison.electrically_equivalent = true;
        comparison.transform = *match;
        comparison.same_coils = same_coils;
      }
    }
  }
  if (!comparison.electrically_equivalent) {
    comparison.differences.push_back(
        "the slots carry other currents, however the second is turned, mirrored or renamed");
    return comparison;
  }
  comparison.turns_ratio = static_cast<double>(total_a) / total_b;
  if (delta_a != delta_b) comparison.turns_ratio *= delta_b ? std::sqrt(3.0) : 1 / std::sqrt(3.0);
  comparison.drop_in = axes_kept && KeepsPhases(comparison.transform);
  SayDifferences(field_a, field_b, CoilsDiffer(first, second), &comparison);
  return comparison;
}

}  // namespace coilwright::winding
