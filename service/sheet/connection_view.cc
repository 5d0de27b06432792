#include <algorithm>

#include "absl/strings/str_cat.h"
#include "sheet/winding_views.h"

namespace coilwright::sheet {
namespace {

constexpr double kHeadMm = 8, kLeastRowMm = 3.4, kBestRowMm = 9, kDenseRowMm = 4.6, kBetweenPhasesMm = 3, kFootMm = 5;
constexpr double kTerminalMm = 11;  // for the name of a lead at either side
const Stroke kLine{0.25, {}, 1};

class ConnectionView {
 public:
  ConnectionView(const WindingDrawing& drawing, const Frame& frame, Canvas& canvas)
      : list_(drawing.connections), layout_(drawing.layout), frame_(frame), canvas_(canvas) {
    size_t most = 1;
    for (const winding::CircuitPath& path : list_.paths) most = std::max(most, path.passes.size());
    left_bus_ = frame.left_mm + kTerminalMm;
    right_bus_ = frame.right_mm - kTerminalMm - 6;
    cell_ = (right_bus_ - left_bus_ - 4) / static_cast<double>(most);
    const double rows = 3.0 * list_.circuits;
    row_ = std::min(kBestRowMm + 3, (frame.height_mm() - kHeadMm - kFootMm - 2 * kBetweenPhasesMm) / rows);
    text_ = std::clamp(0.5 * row_, kLeastTextMm, 2.6);
    // Beside a box stand the slots its ends come out of, where there is room for them.
    slots_named_ = cell_ >= 20 && row_ >= 3.9;
    box_ = std::min(11.0, slots_named_ ? cell_ - 12 : cell_ - 2);
  }

  void Draw() {
    canvas_.Text({frame_.left_mm, frame_.top_mm + 3}, "Connections", {3, true});
    canvas_.Text({frame_.left_mm + 34, frame_.top_mm + 3},
                 absl::StrCat("boxes: groups of coils; the dot is at the start of the first coil, the other end is the "
                              "finish of the last",
                              slots_named_ ? "; beside a box: the slot its end comes out of" : ""),
                 {2.2});
    for (const winding::CircuitPath& path : list_.paths) DrawCircuit(path);
    for (int phase = 0; phase < 3; ++phase) DrawPhaseEnds(phase);
    list_.ends == winding::PhaseEnds::kDelta ? DrawDelta() : DrawEnds();
  }

 private:
  double RowY(int phase, double circuit) const {
    return frame_.top_mm + kHeadMm + phase * (list_.circuits * row_ + kBetweenPhasesMm) + (circuit + 0.5) * row_;
  }
  double MiddleY(int phase) const { return RowY(phase, (list_.circuits - 1) / 2.0); }

  void Line(const std::vector<Point>& points) { canvas_.Draw(Polyline(points), &kLine, Fill::kNone); }
  void Dot(Point at) { canvas_.Draw(Circle(at, 0.55), nullptr, Fill::kBlack); }

  void DrawCircuit(const winding::CircuitPath& path) {
    const double y = RowY(path.phase, path.circuit);
    const double height = std::min(5.0, row_ - 1);
    double x = left_bus_;
    for (const winding::GroupPass& pass : path.passes) {
      const winding::Group& group = list_.groups[static_cast<size_t>(pass.group)];
      const double from = x + (cell_ - box_) / 2 + 2, to = from + box_;
      Line({{x, y}, {from, y}});
      const Stroke outline = PhaseStroke(path.phase, 0.3);
      canvas_.Draw(Rectangle({from, y - height / 2}, box_, height), &outline, Fill::kWhite);
      CentredText(canvas_, {(from + to) / 2, y}, absl::StrCat(pass.group + 1), std::min(text_, box_ / 2));
      canvas_.Draw(Circle({pass.reversed ? to - 0.9 : from + 0.9, y - height / 2 + 0.9}, 0.55), nullptr, Fill::kBlack);
      if (slots_named_) {
        const int start = SlotOf(layout_, {group.coils.front(), false});
        const int finish = SlotOf(layout_, {group.coils.back(), true});
        const TextStyle left{2, false, Anchor::kEnd, 0, 1}, right{2, false, Anchor::kStart, 0, 1};
        canvas_.Text({from - 0.6, y - 0.6}, absl::StrCat(pass.reversed ? finish : start), left);
        canvas_.Text({to + 0.6, y - 0.6}, absl::StrCat(pass.reversed ? start : finish), right);
      }
      x = left_bus_ + (x - left_bus_) + cell_;
      Line({{to, y}, {x, y}});
    }
    Line({{x, y}, {right_bus_, y}});
  }

  // The leads at the left, and the bars that tie parallel circuits.
  void DrawPhaseEnds(int phase) {
    const double y = MiddleY(phase);
    for (const double bus : {left_bus_, right_bus_}) {
      if (list_.circuits > 1) Line({{bus, RowY(phase, 0)}, {bus, RowY(phase, list_.circuits - 1)}});
      for (int circuit = 0; list_.circuits > 1 && circuit < list_.circuits; ++circuit) Dot({bus, RowY(phase, circuit)});
    }
    Line({{left_bus_, y}, {frame_.left_mm + 5.4, y}});
    canvas_.Draw(Circle({frame_.left_mm + 5, y}, 0.8), &kLine, Fill::kWhite);
    canvas_.Text({frame_.left_mm + 3.6, y + 1.1}, LeadName(list_, phase), {3, true, Anchor::kEnd, 0, 1});
  }

  void DrawEnds() {
    const double x = right_bus_ + 5;
    for (int phase = 0; phase < 3; ++phase) {
      const double y = MiddleY(phase);
      Line({{right_bus_, y}, {x, y}});
      if (list_.ends == winding::PhaseEnds::kStar) {
        Dot({x, y});
      } else {
        canvas_.Draw(Circle({x, y}, 0.8), &kLine, Fill::kWhite);
        canvas_.Text({x + 1.6, y + 1.1}, LeadName(list_, phase, true), {3, true});
      }
    }
    if (list_.ends != winding::PhaseEnds::kStar) return;
    Line({{x, MiddleY(0)}, {x, MiddleY(2)}});
    canvas_.Text({x + 1.6, MiddleY(1) - 0.4}, "star", {2.4});
    canvas_.Text({x + 1.6, MiddleY(1) + 2.6}, "point", {2.4});
  }

  // The end of each phase goes back to the lead of the next, that of W under all of them to U.
  void DrawDelta() {
    const double out = right_bus_ + 5, in = frame_.left_mm + 7.4;
    for (int phase = 0; phase < 3; ++phase) {
      const int next = (phase + 1) % 3;
      const double below = RowY(phase, list_.circuits - 0.5) + (phase < 2 ? kBetweenPhasesMm / 2 : 2.4);
      const double side = phase < 2 ? in : in - 1.2;
      Line({{right_bus_, MiddleY(phase)}, {out, MiddleY(phase)}, {out, below}, {side, below}, {side, MiddleY(next)}});
      Dot({side, MiddleY(next)});
    }
  }

  const winding::ConnectionList& list_;
  const winding::Layout& layout_;
  const Frame& frame_;
  Canvas& canvas_;
  double left_bus_, right_bus_, cell_, row_, text_, box_;
  bool slots_named_;
};

}  // namespace

HeightWanted ConnectionHeight(const WindingDrawing& drawing) {
  const int rows = 3 * drawing.connections.circuits;
  const double rest = kHeadMm + kFootMm + 2 * kBetweenPhasesMm;
  return {rest + std::min(rows * kBestRowMm, std::max(44.0, rows * kDenseRowMm)), rest + rows * kLeastRowMm};
}

void DrawConnections(const WindingDrawing& drawing, const Frame& frame, Canvas& canvas, LeftOut* left_out) {
  if (ConnectionHeight(drawing).least_mm > frame.height_mm()) {
    left_out->push_back(
        absl::StrCat("the connection diagram: ", drawing.connections.circuits,
                     " circuits a phase do not fit a page; the connection list of the layout has them"));
    return;
  }
  ConnectionView(drawing, frame, canvas).Draw();
}

}  // namespace coilwright::sheet
