#include "sheet/winding_drawing.h"

#include <algorithm>

#include "absl/strings/str_cat.h"
#include "sheet/winding_views.h"

namespace coilwright::sheet {
namespace {

constexpr int kMostSlotsInARow = 72;
constexpr double kBetweenMm = 4;

}  // namespace

absl::StatusOr<std::vector<std::string>> DrawWinding(const WindingDrawing& drawing, Paper paper, Canvas& canvas) {
  const int slots = drawing.layout.slots;
  if (slots > kMostSlotsDrawn) {
    return absl::FailedPreconditionError(absl::StrCat("a winding is drawn up to ", kMostSlotsDrawn,
                                                      " slots, which stay legible on a page; this one has ", slots));
  }
  LeftOut left_out;
  const PageSize size = SizeOf(paper, true);
  const double body = size.height_mm - 2 * kMarginMm - kHeadAndFootMm;
  const int rows = (slots + kMostSlotsInARow - 1) / kMostSlotsInARow;
  const int slots_in_row = (slots + rows - 1) / rows;
  const HeightWanted connections = ConnectionHeight(drawing);
  const HeightWanted developed = DevelopedHeight(drawing, slots_in_row, size.width_mm - 2 * kMarginMm);
  const bool drawable = connections.least_mm <= body;
  // The connections share the page of the developed view where that leaves enough for both.
  const bool shared = rows == 1 && developed.least_mm + kBetweenMm + connections.least_mm <= body;
  Heading heading{drawing.title, "Winding drawing", drawing.data_revision, 1,
                  1 + (rows + 1) / 2 + (drawable && !shared ? 1 : 0)};

  const Frame first = BeginFramedPage(canvas, size, heading);
  const double split = first.left_mm + std::min(first.height_mm(), 0.64 * first.width_mm()) + 4;
  DrawStator(drawing, {first.left_mm, first.top_mm, split - 4, first.bottom_mm}, canvas, &left_out);
  canvas.Text({first.left_mm, first.top_mm + 3}, "The stator from the connection end", {3, true});
  DrawWindingFacts(drawing, {split, first.top_mm, first.right_mm, first.top_mm + 62}, canvas);
  DrawStarOfSlots(drawing, {split, first.top_mm + 63, first.right_mm, first.bottom_mm}, canvas, &left_out);

  Frame page;
  for (int row = 0; row < rows; ++row) {
    if (row % 2 == 0) ++heading.page;
    if (row % 2 == 0) page = BeginFramedPage(canvas, size, heading);
    Frame frame = page;
    if (shared) {
      const double least = std::min(connections.best_mm, body - kBetweenMm - developed.least_mm);
      frame.bottom_mm = frame.top_mm + std::min(developed.best_mm, body - kBetweenMm - least);
    } else if (rows > 1) {
      const double middle = (page.top_mm + page.bottom_mm) / 2;
      (row % 2 == 0 ? frame.bottom_mm : frame.top_mm) = row % 2 == 0 ? middle - 2 : middle + 2;
    }
    DrawDeveloped(drawing, row * slots_in_row + 1, std::min(slots, (row + 1) * slots_in_row), frame, canvas, &left_out);
    if (shared) {
      DrawConnections(drawing, {page.left_mm, frame.bottom_mm + kBetweenMm, page.right_mm, page.bottom_mm}, canvas,
                      &left_out);
    }
  }
  if (!shared && drawable) {
    ++heading.page;
    DrawConnections(drawing, BeginFramedPage(canvas, size, heading), canvas, &left_out);
  } else if (!shared) {
    DrawConnections(drawing, first, canvas, &left_out);
  }
  return left_out;
}

}  // namespace coilwright::sheet
