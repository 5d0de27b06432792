#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "sheet/winding_views.h"

namespace coilwright::sheet {
namespace {

constexpr double kWordsMm = 6, kLeadsMm = 10, kGroupsMm = 6;
constexpr double kStripMm = 3.2;                               // of a row that names the phases of the sides
constexpr double kBestStraightMm = 48, kLeastStraightMm = 24;  // of the lines of the slots
constexpr double kGreatestRiseMm = 40, kLeastRiseMm = 20;      // of the coil ends over them

// Rows of the strip under the view: one for each layer.
int StripsOf(const WindingDrawing& drawing) {
  if (drawing.form == winding::CoilForm::kToothCoil) return 1;
  const auto slots = winding::SlotSides(drawing.layout);
  return std::any_of(slots.begin(), slots.end(), [](const auto& sides) { return sides.size() > 1; }) ? 2 : 1;
}

double RiseWanted(const WindingDrawing& drawing, double pitch_mm) {
  return std::min(0.95 * GreatestSpan(drawing.layout) * pitch_mm / 2, kGreatestRiseMm);
}

// A line of few points cut to what lies between two edges of the page.
std::vector<std::vector<Point>> Between(const std::vector<Point>& line, double left, double right) {
  std::vector<std::vector<Point>> pieces;
  bool open = false;
  for (size_t i = 1; i < line.size(); ++i) {
    Point a = line[i - 1], b = line[i];  // x never falls along a line
    if (b.x_mm < left || a.x_mm > right) {
      open = false;
      continue;
    }
    const auto at = [&](double x) {
      return Point{x, b.x_mm == a.x_mm ? a.y_mm : a.y_mm + (b.y_mm - a.y_mm) * (x - a.x_mm) / (b.x_mm - a.x_mm)};
    };
    const bool enters = a.x_mm<left, leaves = b.x_mm> right;
    const Point from = enters ? at(left) : a, to = leaves ? at(right) : b;
    if (!open) pieces.push_back({from});
    pieces.back().push_back(to);
    open = !leaves;
  }
  return pieces;
}

class DevelopedView {
 public:
  DevelopedView(const WindingDrawing& drawing, int first, int last, const Frame& frame, Canvas& canvas)
      : drawing_(drawing), layout_(drawing.layout), first_(first), last_(last), frame_(frame), canvas_(canvas) {
    pitch_ = frame.width_mm() / (last - first + 1);
    strip_top_ = frame.bottom_mm - StripsOf(drawing) * kStripMm;
    const double free = strip_top_ - 1 - frame.top_mm - kLeadsMm - kGroupsMm - kWordsMm;
    rise_ = std::min(RiseWanted(drawing, frame.width_mm() / (last - first + 1)), 0.34 * free);
    top_ = frame.top_mm + kWordsMm + kLeadsMm + kGroupsMm + rise_;
    bottom_ = strip_top_ - 1 - rise_;
    aside_ = std::min(0.16 * pitch_, 1.1);
  }

  void Draw(LeftOut* left_out) {
    const bool part = last_ - first_ + 1 < layout_.slots;
    const std::string name =
        absl::StrCat("Developed view", part ? absl::StrCat(", slots ", first_, " to ", last_) : "");
    canvas_.Text({frame_.left_mm, frame_.top_mm + 3}, name, {3, true});
    canvas_.Text({frame_.left_mm + (part ? 68 : 34), frame_.top_mm + 3}, Words(), {2.2});
    sides_ = winding::SlotSides(layout_);
    for (const winding::Coil& coil : layout_.coils) DrawEnds(coil);
    for (int slot = first_; slot <= last_; ++slot) {
      DrawSlot(slot, left_out);
      DrawStrip(slot, left_out);
    }
    DrawLeads();
    DrawGroupNumbers(left_out);
  }

 private:
  std::string Words() const {
    std::string words = "seen from the bore, connection end up; arrows: positive current; bold: leads";
    if (drawing_.connections.ends == winding::PhaseEnds::kStar) words += "; Y: to the star point";
    if (drawing_.form == winding::CoilForm::kToothCoil) {
      words += "; the sides of a slot lie side by side";
    } else if (drawing_.form) {
      for (const auto& sides : winding::SlotSides(layout_)) {
        if (sides.size() == 2) return words + "; left line of a slot and upper strip: top layer, next to the opening";
      }
    }
    return words;
  }

  double X(double slot) const { return frame_.left_mm + (slot - first_ + 0.5) * pitch_; }

  // Of two sides in a slot the go side of a lap coil is drawn left; of tooth coils each against its tooth.
  double Aside(int slot, bool go) const {
    if (sides_[static_cast<size_t>(slot - 1)].size() < 2) return 0;
    const bool tooth = drawing_.form == winding::CoilForm::kToothCoil;
    return (go != tooth ? -1 : 1) * (tooth ? 0.24 * pitch_ : aside_);
  }

  void DrawEnds(const winding::Coil& coil) {
    const int span = SpanOf(layout_, coil);
    const double height = rise_ * span / GreatestSpan(layout_);
    const double width = layout_.slots > 48 ? 0.22 : 0.3;
    const Stroke line = PhaseStroke(coil.phase, width);
    for (const int turn : {-1, 0, 1}) {
      const double from = X(coil.go_slot + turn * layout_.slots) + Aside(coil.go_slot, true);
      const double to = X(coil.go_slot + span + turn * layout_.slots) + Aside(coil.return_slot, false);
      // A flat nose tells it from the slanted parts of others that pass behind it.
      const double nose = std::min(0.35 * pitch_, 0.2 * (to - from));
      for (const int way : {-1, 1}) {
        const double edge = way < 0 ? top_ : bottom_;
        const std::vector<Point> shape = {{from, edge},
                                          {(from + to - nose) / 2, edge + way * height},
                                          {(from + to + nose) / 2, edge + way * height},
                                          {to, edge}};
        for (const std::vector<Point>& piece : Between(shape, frame_.left_mm, frame_.right_mm)) {
          canvas_.Draw(Polyline(piece), &line, Fill::kNone);
        }
      }
    }
  }

  void DrawSlot(int slot, LeftOut* left_out) {
    const std::vector<winding::SlotSide>& sides = sides_[static_cast<size_t>(slot - 1)];
    for (const winding::SlotSide& side : sides) {
      const Stroke line = PhaseStroke(side.phase, layout_.slots > 48 ? 0.25 : 0.35);
      const double x = X(slot) + Aside(slot, side.go);
      canvas_.Draw(Polyline({{x, top_}, {x, bottom_}}), &line, Fill::kNone);
      // Heads of neighbouring sides stand at two heights, so that they do not run into each other.
      const double length = std::min(1.8, 0.5 * pitch_ + 0.2);
      const double y = top_ + (bottom_ - top_) * (side.go ? 0.22 : 0.34);
      ArrowHead(canvas_, {x, y + (side.sense > 0 ? length : -length) / 2}, side.sense > 0 ? 90 : -90, length);
    }
    const double size = pitch_ >= 4.6 ? 2.4 : 2;
    const double widest = canvas_.WidthMm(absl::StrCat(layout_.slots), {size}) + 0.4;
    int step = 1;
    while (step * pitch_ < widest) step = step == 1 ? 2 : 5;
    if (slot == last_ && step > 1) {
      left_out->push_back(absl::StrCat("in the developed view: all but one in ", step, " slot numbers"));
    }
    if (slot % step != 0 && slot != first_) return;
    const std::string number = absl::StrCat(slot);
    const Point at{X(slot), (top_ + bottom_) / 2 + 0.1 * (bottom_ - top_)};
    const double width = canvas_.WidthMm(number, {size}) + 0.3;
    canvas_.Draw(Rectangle({at.x_mm - width / 2, at.y_mm - 0.6 * size}, width, 1.2 * size), nullptr, Fill::kWhite);
    CentredText(canvas_, at, number, size, slot == 1);
  }

  // Which phase lies in the slot: the top layer above the bottom layer, tooth coils side by side.
  void DrawStrip(int slot, LeftOut* left_out) {
    const std::vector<winding::SlotSide>& sides = sides_[static_cast<size_t>(slot - 1)];
    const bool beside = StripsOf(drawing_) == 1;
    for (size_t i = 0; i < sides.size(); ++i) {
      const bool halved = beside && sides.size() == 2;
      const double width = halved ? pitch_ / 2 : pitch_;
      const double left = X(slot) - pitch_ / 2 + (halved && sides[i].go ? width : 0);
      const double top = strip_top_ + (beside ? 0 : static_cast<double>(i) * kStripMm);
      canvas_.Draw(Rectangle({left, top}, width, kStripMm), &kThin, PhaseFill(sides[i].phase));
      const double size = std::min(2.4, width);
      if (size < kLeastTextMm) {
        if (slot == last_ && i == 0) left_out->push_back("in the developed view: the letters of the phases");
        continue;
      }
      const Point middle{left + width / 2, top + kStripMm / 2};
      if (PhaseFill(sides[i].phase) != Fill::kWhite) {
        canvas_.Draw(Circle(middle, std::min(1.3, 0.45 * width)), nullptr, Fill::kWhite);
      }
      CentredText(canvas_, middle, std::string(1, PhaseLetter(sides[i].phase)), size);
    }
  }

  // Where the leads and the star point are tied on: a line up from the slot the end comes out of.
  void DrawLeads() {
    struct Label {
      double x_mm;
      std::string text;
      bool lead;
    };
    std::vector<Label> labels;
    for (const winding::Joint& joint : drawing_.connections.joints) {
      const bool star = joint.kind == winding::JointKind::kStarPoint;
      const bool second = joint.kind == winding::JointKind::kEndLead;
      if (!star && !second && joint.kind != winding::JointKind::kLead) continue;
      for (const winding::CoilEnd& end : joint.ends) {
        const winding::Coil& coil = layout_.coils[static_cast<size_t>(end.coil)];
        const int slot = end.finish ? coil.return_slot : coil.go_slot;
        if (slot < first_ || slot > last_) continue;
        labels.push_back({X(slot) + Aside(slot, !end.finish),
                          star ? "Y" : LeadName(drawing_.connections, joint.lead, second), !star});
      }
    }
    std::sort(labels.begin(), labels.end(), [](const Label& a, const Label& b) { return a.x_mm < b.x_mm; });
    constexpr double kSize = 2.6, kRowMm = 3.1;
    std::vector<double> free_from(3, 0);  // of each row of labels
    for (const Label& label : labels) {
      const double half = canvas_.WidthMm(label.text, {kSize, label.lead}) / 2 + 0.4;
      size_t row = 0;
      while (row + 1 < free_from.size() && free_from[row] > label.x_mm - half) ++row;
      free_from[row] = label.x_mm + half;
      const double y = frame_.top_mm + kWordsMm + kLeadsMm - 1.6 - kRowMm * static_cast<double>(row);
      const Stroke line{label.lead ? 0.4 : 0.2, {}, 1};
      canvas_.Draw(Polyline({{label.x_mm, top_}, {label.x_mm, y + 1.4}}), &line, Fill::kNone);
      canvas_.Draw(Circle({label.x_mm, top_}, 0.5), nullptr, Fill::kBlack);
      canvas_.Draw(Rectangle({label.x_mm - half, y - 1.5}, 2 * half, 3), nullptr, Fill::kWhite);
      CentredText(canvas_, {label.x_mm, y}, label.text, kSize, label.lead);
    }
  }

  void DrawGroupNumbers(LeftOut* left_out) {
    const std::vector<winding::Group>& groups = drawing_.connections.groups;
    const double y = frame_.top_mm + kWordsMm + kLeadsMm + kGroupsMm / 2;
    std::vector<std::pair<double, size_t>> places;
    for (size_t i = 0; i < groups.size(); ++i) {
      double slot = MiddleSlotOf(layout_, groups[i]);
      if (slot >= layout_.slots + 0.5) slot -= layout_.slots;
      const double x = X(slot);
      if (slot >= first_ - 0.5 && slot < last_ + 0.5) places.push_back({x, i});
    }
    std::sort(places.begin(), places.end());
    double free_from = -100;
    bool left = false;
    const double size = groups.size() > 40 ? 1.9 : 2.4;
    for (const auto& [x, group] : places) {
      const std::string number = absl::StrCat(group + 1);
      const double radius = std::max(0.86 * size, canvas_.WidthMm(number, {size}) / 2 + 0.2);
      if (x - radius < free_from) {
        left = true;
        continue;
      }
      free_from = x + radius;
      canvas_.Draw(Circle({x, y}, radius), &kThin, Fill::kWhite);
      CentredText(canvas_, {x, y}, number, size);
    }
    if (left) left_out->push_back("in the developed view: some group numbers");
  }

  const WindingDrawing& drawing_;
  const winding::Layout& layout_;
  const int first_, last_;
  const Frame& frame_;
  Canvas& canvas_;
  double pitch_, rise_, top_, bottom_, aside_, strip_top_;
  std::vector<std::vector<winding::SlotSide>> sides_;
};

}  // namespace

HeightWanted DevelopedHeight(const WindingDrawing& drawing, int slots, double width_mm) {
  const double rest = kWordsMm + kLeadsMm + kGroupsMm + StripsOf(drawing) * kStripMm + 1;
  const double rise = RiseWanted(drawing, width_mm / slots);
  return {rest + 2 * rise + kBestStraightMm, rest + 2 * std::min(rise, kLeastRiseMm) + kLeastStraightMm};
}

void DrawDeveloped(const WindingDrawing& drawing, int first, int last, const Frame& frame, Canvas& canvas,
                   LeftOut* left_out) {
  DevelopedView(drawing, first, last, frame, canvas).Draw(left_out);
}

}  // namespace coilwright::sheet
