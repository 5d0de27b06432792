#pragma once

#include <string>
#include <vector>

namespace coilwright::cli {

// A point of a plot; `mark` is the character that stands for it.
struct PlotPoint {
  double x = 0, y = 0;
  char mark = 'o';
};

// A plot in plain characters: years along, a logarithmic scale up.
struct LogPlot {
  std::vector<PlotPoint> points;  // later ones stand over earlier ones
  // A level drawn across, 0 for none.
  double level = 0;
  // A straight line on the logarithmic scale: `line_y` at `line_x`, times `line_ratio` per year; 0 for none. Drawn with
  // '.' from the first point on.
  double line_x = 0, line_y = 0, line_ratio = 0;
  double last_x = 0;  // how far the axis goes, where that is beyond the points
};

// Lines of at most `width` characters. Empty where there is no point.
std::vector<std::string> DrawPlot(const LogPlot& plot, int width, int height);

}  // namespace coilwright::cli
