#include "slot/shapes.h"

#include <cmath>

#include "absl/strings/str_cat.h"
#include "standards/units.h"

namespace coilwright::slot {
namespace {

using standards::kPi;
using standards::RangeCheck;
using standards::WithUnit;

constexpr double kGreatestMm = 1000, kGreatestBoreMm = 10000, kGreatestMm2 = 1e6;
constexpr int kMostSlots = 720;

// The lip: how wide the slot opens to the bore and how deep that neck is.
bool CheckLip(double opening_mm, double opening_depth_mm, double depth_mm, RangeCheck* check) {
  const bool opening = check->Within("opening_mm", opening_mm, 0, kGreatestMm, "mm");
  const bool depth = check->Above("depth_mm", depth_mm, 0, kGreatestMm, "mm");
  if (!check->Within("opening_depth_mm", opening_depth_mm, 0, kGreatestMm, "mm") || !depth) return false;
  if (opening_depth_mm < depth_mm) return opening;
  check->Refuse("opening_depth_mm", WithUnit(opening_depth_mm, "mm"),
                absl::StrCat("less than the depth of the slot, ", WithUnit(depth_mm, "mm")));
  return false;
}

bool CheckOpeningFits(double opening_mm, double top_width_mm, RangeCheck* check) {
  if (opening_mm <= top_width_mm) return true;
  check->Refuse("opening_mm", WithUnit(opening_mm, "mm"),
                absl::StrCat("at most the width of the slot below it, ", WithUnit(top_width_mm, "mm")));
  return false;
}

std::optional<Outline> Of(const ParallelSided& slot, RangeCheck* check) {
  const bool width = check->Above("width_mm", slot.width_mm, 0, kGreatestMm, "mm");
  if (!CheckLip(slot.opening_mm, slot.opening_depth_mm, slot.depth_mm, check) || !width) return std::nullopt;
  if (!CheckOpeningFits(slot.opening_mm, slot.width_mm, check)) return std::nullopt;
  Outline outline;
  outline.depth_mm = slot.depth_mm - slot.opening_depth_mm;
  outline.area_mm2 = slot.width_mm * outline.depth_mm;
  outline.wall_mm = 2 * (outline.depth_mm + slot.width_mm) - slot.opening_mm;
  outline.top_width_mm = outline.mean_width_mm = slot.width_mm;
  return outline;
}

// Area within a circle of radius `r` about the shaft centre that a tooth of constant width covers.
double ToothAreaWithin(double r, double tooth_width) {
  const double half = tooth_width / 2;
  return half * std::sqrt(r * r - half * half) + r * r * std::asin(half / r);
}

std::optional<Outline> Of(const ParallelTooth& slot, RangeCheck* check) {
  const bool bore = check->Above("bore_mm", slot.bore_mm, 0, kGreatestBoreMm, "mm");
  const bool slots = check->Within("slots", slot.slots, 3, kMostSlots, "slots");
  const bool tooth = check->Above("tooth_width_mm", slot.tooth_width_mm, 0, kGreatestMm, "mm");
  if (!CheckLip(slot.opening_mm, slot.opening_depth_mm, slot.depth_mm, check) || !bore || !slots || !tooth) {
    return std::nullopt;
  }
  const double top = slot.bore_mm / 2 + slot.opening_depth_mm;
  const double bottom = slot.bore_mm / 2 + slot.depth_mm;
  const double half_tooth = slot.tooth_width_mm / 2;
  const double tooth_limit = 2 * top * std::sin(kPi / slot.slots);  // where neighbouring teeth touch
  if (slot.tooth_width_mm >= tooth_limit) {
    check->Refuse("tooth_width_mm", WithUnit(slot.tooth_width_mm, "mm"),
                  absl::StrCat("less than ", WithUnit(tooth_limit, "mm"), ", where neighbouring teeth touch"));
    return std::nullopt;
  }
  const auto width_at = [&](double r) { return 2 * r * (kPi / slot.slots - std::asin(half_tooth / r)); };
  const auto along_tooth = [&](double r) { return std::sqrt(r * r - half_tooth * half_tooth); };
  if (!CheckOpeningFits(slot.opening_mm, width_at(top), check)) return std::nullopt;
  Outline outline;
  outline.depth_mm = bottom - top;
  outline.area_mm2 = kPi * (bottom * bottom - top * top) / slot.slots -
                     (ToothAreaWithin(bottom, slot.tooth_width_mm) - ToothAreaWithin(top, slot.tooth_width_mm));
  outline.top_width_mm = width_at(top);
  outline.wall_mm =
      2 * (along_tooth(bottom) - along_tooth(top)) + width_at(bottom) + outline.top_width_mm - slot.opening_mm;
  outline.mean_width_mm = outline.area_mm2 / outline.depth_mm;
  return outline;
}

std::optional<Outline> Of(const RoundBottomed& slot, RangeCheck* check) {
  const bool width = check->Above("top_width_mm", slot.top_width_mm, 0, kGreatestMm, "mm");
  const bool bottom = check->Above("bottom_diameter_mm", slot.bottom_diameter_mm, 0, kGreatestMm, "mm");
  if (!CheckLip(slot.opening_mm, slot.opening_depth_mm, slot.depth_mm, check) || !width || !bottom) return std::nullopt;
  if (!CheckOpeningFits(slot.opening_mm, slot.top_width_mm, check)) return std::nullopt;
  Outline outline;
  outline.depth_mm = slot.depth_mm - slot.opening_depth_mm;
  const double flank_depth = outline.depth_mm - slot.bottom_diameter_mm / 2;
  if (flank_depth < 0) {
    check->Refuse("bottom_diameter_mm", WithUnit(slot.bottom_diameter_mm, "mm"),
                  absl::StrCat("at most twice the depth below the lip, ", WithUnit(2 * outline.depth_mm, "mm")));
    return std::nullopt;
  }
  const double flank = std::hypot(flank_depth, (slot.bottom_diameter_mm - slot.top_width_mm) / 2);
  outline.area_mm2 = (slot.top_width_mm + slot.bottom_diameter_mm) / 2 * flank_depth +
                     standards::CircleAreaMm2(slot.bottom_diameter_mm) / 2;
  outline.wall_mm = 2 * flank + kPi / 2 * slot.bottom_diameter_mm + slot.top_width_mm - slot.opening_mm;
  outline.top_width_mm = slot.top_width_mm;
  outline.mean_width_mm = outline.area_mm2 / outline.depth_mm;
  return outline;
}

std::optional<Outline> Of(const Round& slot, RangeCheck* check) {
  const bool diameter = check->Above("diameter_mm", slot.diameter_mm, 0, kGreatestMm, "mm");
  if (!check->Within("opening_mm", slot.opening_mm, 0, kGreatestMm, "mm") || !diameter) return std::nullopt;
  if (!CheckOpeningFits(slot.opening_mm, slot.diameter_mm, check)) return std::nullopt;
  Outline outline;
  outline.depth_mm = slot.diameter_mm;
  outline.area_mm2 = standards::CircleAreaMm2(slot.diameter_mm);
  outline.wall_mm = slot.diameter_mm * (kPi - std::asin(slot.opening_mm / slot.diameter_mm));
  outline.mean_width_mm = outline.area_mm2 / outline.depth_mm;
  outline.top_width_mm = outline.mean_width_mm;
  return outline;
}

std::optional<Outline> Of(const MeasuredArea& slot, RangeCheck* check) {
  if (!check->Above("gross_mm2", slot.gross_mm2, 0, kGreatestMm2, "mm2")) return std::nullopt;
  Outline outline;
  const double side = std::sqrt(slot.gross_mm2);
  outline.area_mm2 = slot.gross_mm2;
  outline.wall_mm = 4 * side;
  outline.top_width_mm = outline.mean_width_mm = outline.depth_mm = side;
  outline.shape_known = false;
  return outline;
}

}  // namespace

std::optional<Outline> OutlineOf(const Shape& shape, RangeCheck* check) {
  return std::visit([&](const auto& slot) { return Of(slot, check); }, shape);
}

}  // namespace coilwright::slot
