#include <algorithm>
#include <cmath>

#include "sheet/canvas.h"
#include "standards/units.h"

namespace coilwright::sheet {
namespace {

using standards::kRadiansPerDegree;

}  // namespace

Path& Path::Move(Point to) {
  parts.push_back({Step::kMove, to, {}, {}});
  return *this;
}

Path& Path::Line(Point to) {
  parts.push_back({parts.empty() ? Step::kMove : Step::kLine, to, {}, {}});
  return *this;
}

Path& Path::Curve(Point first_control, Point second_control, Point to) {
  if (parts.empty()) Move(first_control);
  parts.push_back({Step::kCurve, to, first_control, second_control});
  return *this;
}

// A curve over a quarter leaves the circle by 0.03 % of its radius at most.
Path& Path::Arc(Point centre, double radius_mm, double from_degrees, double to_degrees) {
  const auto at = [&](double radians) {
    return Point{centre.x_mm + radius_mm * std::cos(radians), centre.y_mm + radius_mm * std::sin(radians)};
  };
  const double from = from_degrees * kRadiansPerDegree;
  Line(at(from));
  // An angle that is no number gives one curve that is none either, which the canvas refuses.
  const double quarters = std::ceil(std::abs(to_degrees - from_degrees) / 90);
  const int curves = quarters <= 64 ? std::max(1, static_cast<int>(quarters)) : 1;
  const double step = (to_degrees - from_degrees) * kRadiansPerDegree / curves;
  const double reach = 4.0 / 3.0 * std::tan(step / 4) * radius_mm;
  for (int i = 0; i < curves; ++i) {
    const double start = from + i * step;
    const double end = start + step;
    const Point first = at(start);
    const Point last = at(end);
    Curve({first.x_mm - reach * std::sin(start), first.y_mm + reach * std::cos(start)},
          {last.x_mm + reach * std::sin(end), last.y_mm - reach * std::cos(end)}, last);
  }
  return *this;
}

Path& Path::Close() {
  if (!parts.empty()) parts.push_back({Step::kClose, {}, {}, {}});
  return *this;
}

Path Polyline(const std::vector<Point>& points) {
  Path path;
  for (const Point& point : points) path.Line(point);
  return path;
}

Path Rectangle(Point corner, double width_mm, double height_mm) {
  return Polyline({corner,
                   {corner.x_mm + width_mm, corner.y_mm},
                   {corner.x_mm + width_mm, corner.y_mm + height_mm},
                   {corner.x_mm, corner.y_mm + height_mm}})
      .Close();
}

Path Circle(Point centre, double radius_mm) { return Path().Arc(centre, radius_mm, 0, 360).Close(); }

PageSize SizeOf(Paper paper, bool landscape) {
  const PageSize upright = paper == Paper::kLetter ? PageSize{215.9, 279.4} : PageSize{210, 297};
  return landscape ? PageSize{upright.height_mm, upright.width_mm} : upright;
}

}  // namespace coilwright::sheet
