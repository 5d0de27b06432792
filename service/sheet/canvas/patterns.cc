#include "sheet/canvas/patterns.h"

#include <algorithm>
#include <cmath>

namespace coilwright::sheet {
namespace {

constexpr double kLineWidthMm = 0.13;
constexpr double kLineSpacingMm = 0.75;
constexpr double kDotWidthMm = 0.28;
constexpr double kDotSpacingMm = 0.8;

struct Box {
  double left, top, right, bottom;
};

// Of the ends and the controls: a curve stays between them.
Box BoxOf(const Path& figure) {
  Box box{1e9, 1e9, -1e9, -1e9};
  const auto add = [&](Point point) {
    box = {std::min(box.left, point.x_mm), std::min(box.top, point.y_mm), std::max(box.right, point.x_mm),
           std::max(box.bottom, point.y_mm)};
  };
  for (const Path::Part& part : figure.parts) {
    if (part.step == Path::Step::kClose) continue;
    add(part.to);
    if (part.step == Path::Step::kCurve) {
      add(part.first_control);
      add(part.second_control);
    }
  }
  return box;
}

// Lines at 45 degrees: x + y = constant rises to the right, x - y = constant falls.
void AddLines(const Box& box, bool rising, Path* lines) {
  const double step = kLineSpacingMm * std::sqrt(2.0);
  const double least = rising ? box.left + box.top : box.left - box.bottom;
  const double greatest = rising ? box.right + box.bottom : box.right - box.top;
  for (double i = std::ceil(least / step); i * step <= greatest; ++i) {
    const double sum = i * step;
    const double from = std::max(box.left, rising ? sum - box.bottom : sum + box.top);
    const double to = std::min(box.right, rising ? sum - box.top : sum + box.bottom);
    if (from > to) continue;
    lines->Move({from, rising ? sum - from : from - sum}).Line({to, rising ? sum - to : to - sum});
  }
}

// A dot is a line of next to no length with round ends. Every other row is moved by half a step.
void AddDots(const Box& box, Path* lines) {
  const double row_spacing = kDotSpacingMm / 2;
  for (double row = std::floor(box.top / row_spacing); row * row_spacing <= box.bottom + kDotWidthMm; ++row) {
    const double shift = std::fmod(std::abs(row), 2) / 2;
    for (double column = std::floor(box.left / kDotSpacingMm) - 1;
         (column + shift) * kDotSpacingMm <= box.right + kDotWidthMm; ++column) {
      const Point at{(column + shift) * kDotSpacingMm, row * row_spacing};
      lines->Move(at).Line({at.x_mm + 0.005, at.y_mm});
    }
  }
}

}  // namespace

Pattern PatternOf(Fill fill, const Path& figure) {
  switch (fill) {
    case Fill::kNone:
    case Fill::kWhite:
      return {0, {}, 0};
    case Fill::kLightGrey:
      return {0.15, {}, 0};
    case Fill::kDarkGrey:
      return {0.5, {}, 0};
    case Fill::kBlack:
      return {1, {}, 0};
    case Fill::kHatched:
    case Fill::kCrossHatched: {
      Pattern pattern{0, {}, kLineWidthMm};
      AddLines(BoxOf(figure), true, &pattern.lines);
      if (fill == Fill::kCrossHatched) AddLines(BoxOf(figure), false, &pattern.lines);
      return pattern;
    }
    case Fill::kDotted: {
      Pattern pattern{0, {}, kDotWidthMm};
      AddDots(BoxOf(figure), &pattern.lines);
      return pattern;
    }
  }
  return {0, {}, 0};
}

}  // namespace coilwright::sheet
