#include "sheet/slot_drawing.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "sheet/draw.h"
#include "sheet/slot_contour.h"
#include "sheet/slot_packing.h"

namespace coilwright::sheet {
namespace {

constexpr double kScales[] = {100, 50, 40, 30, 20, 15, 10, 8, 6, 5, 4, 3, 2, 1, 0.5, 0.2, 0.1};
constexpr double kFactsMm = 66;     // width of the words, beside the slot or in two columns below it
constexpr double kBelowMm = 64;     // height of them below
constexpr double kLabelsMm = 30;    // of what is written beside the slot
constexpr double kUnderMm = 24;     // of it under coils that lie side by side
constexpr double kIronMm = 5;       // of iron shown round the slot
constexpr double kScaleBarMm = 14;  // height of the scale bar with its numbers
constexpr int kMostWires = 4000;
constexpr double kThinnestDrawnMm = 0.4;  // of a wire on paper
const Stroke kWireEdge{0.13, {}, 1};
const Stroke kSlotEdge{0.35, {}, 1};

std::string ScaleInWords(double scale) {
  return scale >= 1 ? absl::StrFormat("%g:1", scale) : absl::StrFormat("1:%g", std::round(1 / scale));
}

std::string Mm(double mm) { return absl::StrFormat("%.6g mm", std::round(mm * 1e4) / 1e4); }

std::string InWords(const slot::ParallelSided& slot) {
  return absl::StrCat("parallel sides, ", Mm(slot.width_mm), " wide, ", Mm(slot.depth_mm),
                      " deep with the lip, opening ", Mm(slot.opening_mm), " wide and ", Mm(slot.opening_depth_mm),
                      " deep");
}
std::string InWords(const slot::ParallelTooth& slot) {
  return absl::StrCat("teeth of ", Mm(slot.tooth_width_mm), ", ", slot.slots, " slots in a bore of ", Mm(slot.bore_mm),
                      ", ", Mm(slot.depth_mm), " deep with the lip, opening ", Mm(slot.opening_mm), " wide and ",
                      Mm(slot.opening_depth_mm), " deep");
}
std::string InWords(const slot::RoundBottomed& slot) {
  return absl::StrCat("round bottom of ", Mm(slot.bottom_diameter_mm), ", ", Mm(slot.top_width_mm),
                      " wide at the opening side, ", Mm(slot.depth_mm), " deep with the lip, opening ",
                      Mm(slot.opening_mm), " wide and ", Mm(slot.opening_depth_mm), " deep");
}
std::string InWords(const slot::Round& slot) {
  return absl::StrCat("round, ", Mm(slot.diameter_mm), ", opening ", Mm(slot.opening_mm), " wide");
}
std::string InWords(const slot::MeasuredArea& slot) {
  return absl::StrFormat("not recorded: a square of the measured %.4g mm\u00B2 stands for it", slot.gross_mm2);
}

class SlotView {
 public:
  SlotView(const SlotDrawing& drawing, const Frame& frame, Canvas& canvas)
      : drawing_(drawing),
        frame_(frame),
        canvas_(canvas),
        parts_(PartsOf(drawing.shape, drawing.insulation, drawing.turns, drawing.side_by_side)) {
    // Beside the words, or above them where the slot is the larger for it.
    const double labels = LabelsUnder() ? 0 : kLabelsMm;
    const double width = frame.width_mm() - labels - 2 * kIronMm - 4;
    const double height = frame.height_mm() - kScaleBarMm - kIronMm - 8 - (LabelsUnder() ? kUnderMm : 0);
    const double beside = GreatestScale(width - kFactsMm, height);
    const double above = GreatestScale(width, height - kBelowMm);
    below_ = above > beside;
    scale_ = std::max(above, beside);
    const double half = scale_ * parts_.contour.greatest_width_mm / 2;
    const double rest = below_ ? width / 2 - half : 0;  // on either side of a slot that has the width by itself
    origin_ = {frame.left_mm + kIronMm + half + rest, frame.top_mm + 7};
  }

  bool fits() const { return scale_ * parts_.contour.depth_mm >= 5; }

  void Draw(std::vector<std::string>* left_out) {
    DrawIron();
    DrawPart(parts_.coating, Fill::kDarkGrey);
    DrawPart(parts_.liner, Fill::kHatched);
    DrawPart(parts_.wedge, Fill::kCrossHatched);
    DrawPart(parts_.separator, Fill::kDotted);
    for (size_t layer = 0; layer < parts_.rooms.size(); ++layer) DrawLayer(layer, left_out);
    DrawScaleBar();
    DrawFacts(*left_out);
  }

 private:
  // What is said of the layers stands at the right of the slot, of coils side by side under it.
  bool LabelsUnder() const { return drawing_.side_by_side && drawing_.turns.size() > 1; }

  // 0 where none is small enough.
  double GreatestScale(double width_mm, double height_mm) const {
    for (const double scale : kScales) {
      if (scale * parts_.contour.greatest_width_mm <= width_mm && scale * parts_.contour.depth_mm <= height_mm)
        return scale;
    }
    return 0;
  }

  Point OnPaper(Point slot) const { return {origin_.x_mm + scale_ * slot.x_mm, origin_.y_mm + scale_ * slot.y_mm}; }
  Path PathOf(const Outline& outline) const {
    Path path;
    for (const Point& point : outline) path.Line(OnPaper(point));
    return path;
  }

  void DrawIron() {
    const SlotContour& contour = parts_.contour;
    const double left = origin_.x_mm - scale_ * contour.greatest_width_mm / 2 - kIronMm;
    const double right = origin_.x_mm + scale_ * contour.greatest_width_mm / 2 + kIronMm;
    const double bottom = origin_.y_mm + scale_ * contour.depth_mm + kIronMm;
    const double half = contour.half_opening_mm;
    Path iron;
    iron.Line({left, origin_.y_mm}).Line(OnPaper({-half, 0}));
    for (const Point& point : contour.wall) iron.Line(OnPaper(point));
    iron.Line(OnPaper({half, 0})).Line({right, origin_.y_mm}).Line({right, bottom}).Line({left, bottom}).Close();
    canvas_.Draw(iron, nullptr, Fill::kLightGrey);
    const Stroke outline{kSlotEdge.width_mm, contour.shape_known ? std::vector<double>{} : std::vector<double>{2, 1},
                         1};
    Path edge;
    edge.Line({left, origin_.y_mm}).Line(OnPaper({-half, 0}));
    for (const Point& point : contour.wall) edge.Line(OnPaper(point));
    edge.Line(OnPaper({half, 0})).Line({right, origin_.y_mm});
    canvas_.Draw(edge, &outline, Fill::kNone);
    canvas_.Text({left, origin_.y_mm - 1.6}, contour.shape_known ? "bore" : "opening side", {2.4});
    labels_left_ = right + 3;
  }

  void DrawPart(const Outline& outline, Fill fill) {
    if (outline.size() >= 3) canvas_.Draw(PathOf(outline).Close(), &kWireEdge, fill);
  }

  int WiresInHand() const {
    return std::accumulate(drawing_.bundle.begin(), drawing_.bundle.end(), 0,
                           [](int sum, const slot::Bundle& size) { return sum + size.wires; });
  }

  std::string LayerName(size_t layer) const {
    if (drawing_.turns.size() < 2) return "wires";
    if (drawing_.side_by_side) return layer == 0 ? "left side" : "right side";
    return layer == 0 ? "top layer" : "bottom layer";
  }

  void DrawLayer(size_t layer, std::vector<std::string>* left_out) {
    const int64_t wires = int64_t{drawing_.turns[layer]} * WiresInHand();
    const std::string name = LayerName(layer);
    std::string missing;
    double thinnest = drawing_.bundle[0].overall_mm;
    for (const slot::Bundle& size : drawing_.bundle) thinnest = std::min(thinnest, size.overall_mm);
    std::optional<std::vector<PackedWire>> packed;
    if (wires > kMostWires || thinnest * scale_ < kThinnestDrawnMm) {
      missing = wires > kMostWires ? "too many to be drawn" : "too thin to be drawn at this scale";
    } else if (packed = Pack(parts_.rooms[layer], drawing_.bundle, drawing_.turns[layer]); !packed) {
      missing = "do not fit as round wires laid in order; see the fullness";
    }
    DrawPart(parts_.rooms[layer], Fill::kNone);
    if (packed) {
      for (const PackedWire& wire : *packed) {
        canvas_.Draw(Circle(OnPaper(wire.centre), scale_ * wire.overall_mm / 2), &kWireEdge, Fill::kWhite);
        canvas_.Draw(Circle(OnPaper(wire.centre), scale_ * wire.bare_mm / 2), nullptr,
                     layer == 0 ? Fill::kDarkGrey : Fill::kLightGrey);
        canvas_.Draw(Circle(OnPaper(wire.centre), scale_ * wire.bare_mm / 2), &kWireEdge, Fill::kNone);
      }
    } else {
      left_out->push_back(absl::StrCat("the wires of the ", drawing_.turns.size() < 2 ? "slot" : name, ": ", wires,
                                       " wires ", missing));
    }
    const Outline& room = parts_.rooms[layer];
    double x = 0, top = room.empty() ? 0 : room[0].y_mm, bottom = top;
    for (const Point& point : room) {
      x = std::max(x, point.x_mm);
      top = std::min(top, point.y_mm);
      bottom = std::max(bottom, point.y_mm);
    }
    Point label = OnPaper({x, (top + bottom) / 2});
    if (LabelsUnder()) {
      // Under the slot, each by a line down from its side.
      const double aside = (layer == 0 ? -0.25 : 0.25) * parts_.contour.greatest_width_mm;
      label = OnPaper({aside, parts_.contour.depth_mm});
      label.y_mm += kIronMm + 4;
      canvas_.Draw(Polyline({OnPaper({aside, bottom - 0.06 * (bottom - top)}), {label.x_mm, label.y_mm - 3}}),
                   &kWireEdge, Fill::kNone);
      label.x_mm = layer == 0 ? std::min(label.x_mm, origin_.x_mm - kLabelsMm) : std::max(label.x_mm, origin_.x_mm + 1);
      label.y_mm += 1;
    } else {
      canvas_.Draw(Polyline({label, {labels_left_ - 1, label.y_mm}}), &kWireEdge, Fill::kNone);
      label = {labels_left_, label.y_mm - 1.2};
    }
    double y = label.y_mm;
    for (const std::string& line :
         {name, absl::StrCat(drawing_.turns[layer], drawing_.turns[layer] == 1 ? " turn, " : " turns,"),
          absl::StrCat(wires, wires == 1 ? " wire" : " wires")}) {
      canvas_.Text({label.x_mm, y}, line, {2.6, line == name});
      y += 3.6;
    }
    if (!packed) Paragraph(canvas_, {label.x_mm, y}, absl::StrCat("not drawn: ", missing), 2.2, kLabelsMm - 2, 4);
  }

  void DrawScaleBar() {
    // As long as fits in the width of the slot, of round numbers.
    double length = 1000;
    for (int i = 0; length * scale_ > 70 && i < 30; ++i) length /= i % 3 == 1 ? 2.5 : 2;
    const double y = frame_.bottom_mm - 6, x = frame_.left_mm;
    constexpr int kParts = 5;
    for (int i = 0; i < kParts; ++i) {
      canvas_.Draw(Rectangle({x + i * length * scale_ / kParts, y - 1.2}, length * scale_ / kParts, 1.2), &kWireEdge,
                   i % 2 == 0 ? Fill::kBlack : Fill::kWhite);
    }
    canvas_.Text({x, y + 3.2}, "0", {2.4, false, Anchor::kMiddle, 0, 1});
    canvas_.Text({x + length * scale_, y + 3.2}, Mm(length), {2.4, false, Anchor::kMiddle, 0, 1});
    canvas_.Text({x, y - 3}, absl::StrCat("Scale ", ScaleInWords(scale_), ", printed at full size"), {2.8, true});
  }

  void DrawFacts(const std::vector<std::string>& left_out) {
    const double width = below_ ? (frame_.width_mm() - 8) / 2 : kFactsMm;
    const double right = frame_.right_mm - width;
    const double left = below_ ? frame_.left_mm : right;
    const double under = origin_.y_mm + scale_ * parts_.contour.depth_mm + kIronMm + (LabelsUnder() ? kUnderMm : 0);
    const double top = below_ ? under + 10 : frame_.top_mm + 3;
    double y = top;
    const auto fact = [&](absl::string_view label, absl::string_view text) {
      canvas_.Text({left, y}, label, {2.6, true});
      y = Paragraph(canvas_, {left, y + 3.7}, text, 2.6, width, 6) + 1.4;
    };
    fact("Slot", std::visit([](const auto& slot) { return InWords(slot); }, drawing_.shape));
    fact("Area", absl::StrFormat("%.4g mm\u00B2 gross, %.4g mm\u00B2 for wire", drawing_.area.gross_mm2,
                                 drawing_.area.net_mm2));
    std::string turn;
    for (const std::string& wire : drawing_.wires) absl::StrAppend(&turn, turn.empty() ? "" : " + ", wire);
    fact("One turn", turn);
    std::string overall;
    for (const slot::Bundle& size : drawing_.bundle) {
      absl::StrAppend(&overall, overall.empty() ? "" : ", ", Mm(size.overall_mm), " over ", Mm(size.bare_mm));
    }
    fact("Over the film, over the bare wire", overall);
    if (drawing_.fill) {
      fact("Fill",
           absl::StrFormat("fullness %.1f %% (squares over the film in the room for wire), copper %.1f %% of the "
                           "slot",
                           100 * drawing_.fill->fullness_ratio, 100 * drawing_.fill->bare_copper_gross_ratio));
    }
    const slot::Insulation& insulation = drawing_.insulation;
    if (below_) y = top;
    Swatch("coating", insulation.coating_mm, Fill::kDarkGrey, right, &y);
    Swatch("liner", insulation.liner_mm, Fill::kHatched, right, &y);
    Swatch("wedge", insulation.wedge_mm, Fill::kCrossHatched, right, &y);
    if (drawing_.turns.size() > 1) Swatch("separator", insulation.separator_mm, Fill::kDotted, right, &y);
    y += 2;
    std::vector<std::string> notes = drawing_.notes;
    notes.push_back("The wires lie as they would settle one by one; a hand lays them otherwise.");
    for (const std::string& what : left_out) notes.push_back(absl::StrCat("Not drawn: ", what, "."));
    for (const std::string& note : notes) y = Paragraph(canvas_, {right, y}, note, 2.4, width, 6) + 1;
  }

  void Swatch(absl::string_view name, double thickness_mm, Fill fill, double left, double* y) {
    if (thickness_mm <= 0) return;
    canvas_.Draw(Rectangle({left, *y - 2.9}, 7, 3.6), &kWireEdge, fill);
    canvas_.Text({left + 9, *y}, absl::StrCat(name, ", ", Mm(thickness_mm)), {2.6});
    *y += 5;
  }

  const SlotDrawing& drawing_;
  const Frame& frame_;
  Canvas& canvas_;
  const SlotParts parts_;
  Point origin_;
  double scale_ = 0, labels_left_ = 0;
  bool below_ = false;  // the words
};

}  // namespace

absl::StatusOr<std::vector<std::string>> DrawSlot(const SlotDrawing& drawing, Paper paper, Canvas& canvas) {
  const PageSize size = SizeOf(paper, false);
  const Frame frame = BeginFramedPage(canvas, size, {drawing.title, "Slot drawing", drawing.data_revision, 1, 1});
  SlotView view(drawing, frame, canvas);
  if (!view.fits()) {
    return absl::FailedPreconditionError(
        "the slot is too small or too large to be drawn at any scale from 1:10 to 100:1");
  }
  std::vector<std::string> left_out;
  view.Draw(&left_out);
  return left_out;
}

}  // namespace coilwright::sheet
