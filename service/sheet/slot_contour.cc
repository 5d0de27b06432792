#include "sheet/slot_contour.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>

#include "standards/units.h"

namespace coilwright::sheet {
namespace {

using standards::kPi;

constexpr int kArcSteps = 24;

// The other half of a line that was drawn from the opening to the middle of the bottom.
void Mirror(Outline* half) {
  for (size_t i = half->size(); i-- > 0;) {
    const Point point = (*half)[i];
    if (point.x_mm != 0) half->push_back({-point.x_mm, point.y_mm});
  }
}

// The left half of the wall, from the edge of the opening down.
Outline HalfWall(const slot::ParallelSided& slot) {
  const double half = slot.width_mm / 2, top = slot.opening_depth_mm;
  return {{-slot.opening_mm / 2, top}, {-half, top}, {-half, slot.depth_mm}, {0, slot.depth_mm}};
}

Outline HalfWall(const slot::ParallelTooth& slot) {
  const double bore = slot.bore_mm / 2, top = bore + slot.opening_depth_mm, bottom = bore + slot.depth_mm;
  const auto flank = [&](double r) { return kPi / slot.slots - std::asin(slot.tooth_width_mm / 2 / r); };
  const auto at = [&](double r, double angle) { return Point{-r * std::sin(angle), r * std::cos(angle) - bore}; };
  Outline half;
  const double edge = std::asin(std::min(slot.opening_mm / 2 / top, std::sin(flank(top))));
  for (int i = 0; i <= kArcSteps; ++i) half.push_back(at(top, edge + (flank(top) - edge) * i / kArcSteps));
  for (int i = 0; i <= kArcSteps; ++i) half.push_back(at(bottom, flank(bottom) * (kArcSteps - i) / kArcSteps));
  half.back().x_mm = 0;
  return half;
}

Outline HalfWall(const slot::RoundBottomed& slot) {
  const double radius = slot.bottom_diameter_mm / 2, centre = slot.depth_mm - radius;
  Outline half = {{-slot.opening_mm / 2, slot.opening_depth_mm}, {-slot.top_width_mm / 2, slot.opening_depth_mm}};
  for (int i = 0; i <= kArcSteps; ++i) {
    const double angle = kPi / 2 * i / kArcSteps;
    half.push_back({-radius * std::cos(angle), centre + radius * std::sin(angle)});
  }
  half.back().x_mm = 0;
  return half;
}

Outline HalfWall(const slot::Round& slot) {
  const double radius = slot.diameter_mm / 2;
  const double edge = std::asin(slot.opening_mm / slot.diameter_mm);
  const double centre = radius * std::cos(edge);
  Outline half;
  for (int i = 0; i <= 2 * kArcSteps; ++i) {
    const double angle = edge + (kPi - edge) * i / (2 * kArcSteps);
    half.push_back({-radius * std::sin(angle), centre - radius * std::cos(angle)});
  }
  half.back().x_mm = 0;
  return half;
}

Outline HalfWall(const slot::MeasuredArea& slot) {
  const double side = std::sqrt(slot.gross_mm2);
  return {{-side / 100, 0}, {-side / 2, 0}, {-side / 2, side}, {0, side}};
}

// Sutherland and Hodgman against one line; `inside` is zero on it and positive on the side that is kept.
Outline Clip(const Outline& outline, const std::function<double(Point)>& inside) {
  Outline kept;
  for (size_t i = 0; i < outline.size(); ++i) {
    const Point from = outline[i], to = outline[(i + 1) % outline.size()];
    const double a = inside(from), b = inside(to);
    if (a >= 0) kept.push_back(from);
    if ((a < 0) != (b < 0)) {
      const double share = a / (a - b);
      kept.push_back({from.x_mm + share * (to.x_mm - from.x_mm), from.y_mm + share * (to.y_mm - from.y_mm)});
    }
  }
  return kept;
}

// Between an open line and the same moved inwards.
Outline Band(const Outline& outer, const Outline& inner) {
  Outline band = outer;
  band.insert(band.end(), inner.rbegin(), inner.rend());
  return band;
}

}  // namespace

SlotContour ContourOf(const slot::Shape& shape) {
  SlotContour contour;
  contour.wall = std::visit([](const auto& slot) { return HalfWall(slot); }, shape);
  contour.half_opening_mm = -contour.wall.front().x_mm;
  contour.top_mm = contour.wall.front().y_mm;
  Mirror(&contour.wall);
  // Points that fall together have no direction to move them in.
  contour.wall.erase(std::unique(contour.wall.begin(), contour.wall.end(),
                                 [](Point a, Point b) { return std::hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) < 1e-9; }),
                     contour.wall.end());
  for (const Point& point : contour.wall) {
    contour.depth_mm = std::max(contour.depth_mm, point.y_mm);
    contour.greatest_width_mm = std::max(contour.greatest_width_mm, 2 * point.x_mm);
  }
  contour.shape_known = !std::holds_alternative<slot::MeasuredArea>(shape);
  return contour;
}

Outline Inset(const Outline& wall, double distance_mm) {
  // The wall runs down the left side: the slot lies to the left hand of its direction as y points down.
  const auto normal = [&](size_t i) {
    const double x = wall[i + 1].x_mm - wall[i].x_mm, y = wall[i + 1].y_mm - wall[i].y_mm, length = std::hypot(x, y);
    return Point{y / length, -x / length};
  };
  Outline moved;
  for (size_t i = 0; i < wall.size(); ++i) {
    const Point before = normal(i == 0 ? 0 : i - 1), after = normal(i + 1 == wall.size() ? i - 1 : i);
    // Along the bisector, far enough to be off both lines; no farther than a sharp corner asks for.
    const double cosine = before.x_mm * after.x_mm + before.y_mm * after.y_mm;
    const double reach = distance_mm / std::max(0.3, 1 + cosine);
    moved.push_back(
        {wall[i].x_mm + reach * (before.x_mm + after.x_mm), wall[i].y_mm + reach * (before.y_mm + after.y_mm)});
  }
  return moved;
}

double AreaOf(const Outline& outline) {
  double twice = 0;
  for (size_t i = 0; i < outline.size(); ++i) {
    const Point from = outline[i], to = outline[(i + 1) % outline.size()];
    twice += from.x_mm * to.y_mm - to.x_mm * from.y_mm;
  }
  return std::abs(twice) / 2;
}

Outline Below(const Outline& outline, double y_mm) {
  return Clip(outline, [y_mm](Point point) { return point.y_mm - y_mm; });
}
Outline Above(const Outline& outline, double y_mm) {
  return Clip(outline, [y_mm](Point point) { return y_mm - point.y_mm; });
}
Outline LeftOf(const Outline& outline, double x_mm) {
  return Clip(outline, [x_mm](Point point) { return x_mm - point.x_mm; });
}
Outline RightOf(const Outline& outline, double x_mm) {
  return Clip(outline, [x_mm](Point point) { return point.x_mm - x_mm; });
}

SlotParts PartsOf(const slot::Shape& shape, const slot::Insulation& insulation, const std::vector<int>& turns,
                  bool side_by_side) {
  SlotParts parts;
  parts.contour = ContourOf(shape);
  const Outline& wall = parts.contour.wall;
  const Outline coated = Inset(wall, insulation.coating_mm);
  const Outline lined = Inset(wall, insulation.coating_mm + insulation.liner_mm);
  if (insulation.coating_mm > 0) parts.coating = Band(wall, coated);
  if (insulation.liner_mm > 0) parts.liner = Band(coated, lined);
  Outline room = lined;
  if (insulation.wedge_mm > 0) {
    const double under_wedge = lined.front().y_mm + insulation.wedge_mm;
    parts.wedge = Above(room, under_wedge);
    room = Below(room, under_wedge);
  }
  if (turns.size() < 2) {
    parts.rooms = {room};
    return parts;
  }
  const double half = insulation.separator_present ? insulation.separator_mm / 2 : 0;
  if (side_by_side) {
    parts.rooms = {LeftOf(room, -half), RightOf(room, half)};
    if (half > 0) parts.separator = LeftOf(RightOf(room, -half), half);
    return parts;
  }
  const double share = static_cast<double>(turns[0]) / std::accumulate(turns.begin(), turns.end(), 0);
  double low = parts.contour.top_mm, high = parts.contour.depth_mm;
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    const double top = AreaOf(Above(room, middle - half)), bottom = AreaOf(Below(room, middle + half));
    (top < share * (top + bottom) ? low : high) = middle;
  }
  parts.rooms = {Above(room, low - half), Below(room, low + half)};
  if (half > 0) parts.separator = Above(Below(room, low - half), low + half);
  return parts;
}

}  // namespace coilwright::sheet
