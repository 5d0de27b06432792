#include "sheet/canvas/checked_canvas.h"

#include <cmath>

#include "absl/strings/str_cat.h"
#include "sheet/canvas/patterns.h"

namespace coilwright::sheet {
namespace {

// Ten metres: far off any page, and far from what a format could no longer write.
constexpr double kFarthestMm = 10000;
constexpr double kLargestTextMm = 1000;

bool IsLength(double mm) { return std::abs(mm) <= kFarthestMm; }  // false for what is no number
bool IsPlace(Point point) { return IsLength(point.x_mm) && IsLength(point.y_mm); }
bool IsDarkness(double darkness) { return darkness >= 0 && darkness <= 1; }

bool IsSound(const Path& path) {
  if (!path.parts.empty() && path.parts.front().step != Path::Step::kMove) return false;
  for (const Path::Part& part : path.parts) {
    if (part.step == Path::Step::kClose) continue;
    if (!IsPlace(part.to)) return false;
    if (part.step == Path::Step::kCurve && !(IsPlace(part.first_control) && IsPlace(part.second_control))) return false;
  }
  return true;
}

bool IsSound(const Stroke& stroke) {
  double sum = 0;
  for (const double dash : stroke.dashes_mm) {
    if (!(IsLength(dash) && dash >= 0)) return false;
    sum += dash;
  }
  return IsLength(stroke.width_mm) && stroke.width_mm >= 0 && IsDarkness(stroke.darkness) &&
         (stroke.dashes_mm.empty() || sum > 0);
}

bool IsSound(const TextStyle& style) {
  return style.size_mm > 0 && style.size_mm <= kLargestTextMm && std::isfinite(style.degrees) &&
         IsDarkness(style.darkness);
}

}  // namespace

bool CheckedCanvas::Allow(bool sound, absl::string_view reason) {
  if (sound && began_ && problem_.ok()) return true;
  if (problem_.ok()) {
    problem_ = sound ? absl::FailedPreconditionError("something was drawn before the first page was begun")
                     : absl::InvalidArgumentError(absl::StrCat(reason, " that cannot be drawn"));
  }
  return false;
}

void CheckedCanvas::BeginPage(PageSize size) {
  began_ = true;
  const bool sound = IsLength(size.width_mm) && IsLength(size.height_mm) && size.width_mm > 0 && size.height_mm > 0;
  if (Allow(sound, "a page has a size")) StartPage(size);
}

void CheckedCanvas::Draw(const Path& path, const Stroke* stroke, Fill fill) {
  if (!Allow(IsSound(path), "a figure has a point, or a beginning,")) return;
  if (!Allow(stroke == nullptr || IsSound(*stroke), "a line has a width, dashes or a darkness")) return;
  if (path.parts.empty()) return;
  if (fill != Fill::kNone) {
    const Pattern pattern = PatternOf(fill, path);
    FillFigure(path, pattern.ground_darkness);
    if (!pattern.lines.parts.empty()) DrawWithin(path, pattern.lines, pattern.line_width_mm);
  }
  if (stroke != nullptr) DrawLines(path, *stroke);
}

void CheckedCanvas::Text(Point at, absl::string_view text, const TextStyle& style) {
  if (!Allow(IsPlace(at), "a text has a place") || !Allow(IsSound(style), "a text has a size, turn or darkness"))
    return;
  const std::string drawable = fonts_.Drawable(text, style.bold, &lacking_);
  if (!drawable.empty()) DrawText(at, drawable, style, typesetter_.Set(drawable, style).get());
}

double CheckedCanvas::WidthMm(absl::string_view text, const TextStyle& style) {
  if (!IsSound(style)) return 0;
  const std::string drawable = fonts_.Drawable(text, style.bold);
  return drawable.empty() ? 0 : Typesetter::WidthMm(typesetter_.Set(drawable, style).get());
}

absl::StatusOr<std::vector<std::string>> CheckedCanvas::Finish() {
  if (!Allow(true, "")) return problem_;
  problem_ = absl::FailedPreconditionError("the document is finished");
  return Make();
}

}  // namespace coilwright::sheet
