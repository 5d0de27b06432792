#pragma once

#include "sheet/canvas.h"

namespace coilwright::sheet {

// How a figure is filled: a ground, and on it lines or dots that are drawn within its outline.
struct Pattern {
  double ground_darkness = 0;
  Path lines;  // far enough to cover the figure
  double line_width_mm = 0;
};
// A fill other than kNone. Lines stand on a grid of the page, so that neighbours run into each other without a step.
Pattern PatternOf(Fill fill, const Path& figure);

}  // namespace coilwright::sheet
