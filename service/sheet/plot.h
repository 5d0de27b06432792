#pragma once

#include <string>
#include <vector>

#include "sheet/canvas.h"

namespace coilwright::sheet {

// A figure with axes. Values that are none, and those of no more than 0 on a logarithmic axis, are left out.
struct Plot {
  struct Axis {
    std::string label;  // with its unit
    bool logarithmic = false;
  };
  // A ring is a bound, a cross what counts for nothing.
  enum class Mark { kNone, kDot, kRing, kCross };
  struct Series {
    std::string label;
    std::vector<std::pair<double, double>> points;
    bool line = true;
    Mark mark = Mark::kDot;
    std::vector<double> dashes_mm;
  };
  struct Limit {
    std::string label;
    double value = 0;  // of y
  };
  Axis x, y;
  std::vector<Series> series;
  std::vector<Limit> limits;
  double height_mm = 50;
};

// Round values from `low` to `high`, both within: steps of 1, 2 or 5 times a power of ten, about `wanted` of them; on a
// logarithmic axis powers of ten and, where these are few, 2 and 5 times those.
std::vector<double> Ticks(double low, double high, bool logarithmic, int wanted);

// Draws it with its upper left corner at `corner`. `size_mm` is that of the text.
void DrawPlot(Canvas& canvas, const Plot& plot, Point corner, double width_mm, double size_mm);

}  // namespace coilwright::sheet
