#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "sheet/winding_views.h"
#include "standards/units.h"

namespace coilwright::sheet {
namespace {

using standards::kRadiansPerDegree;

const Stroke kOutline{0.25, {}, 1};

class StatorView {
 public:
  StatorView(const WindingDrawing& drawing, const Frame& frame, Canvas& canvas, LeftOut* left_out)
      : drawing_(drawing), layout_(drawing.layout), canvas_(canvas), left_out_(left_out) {
    centre_ = {(frame.left_mm + frame.right_mm) / 2, (frame.top_mm + frame.bottom_mm) / 2 + 2};
    all_ = std::min(frame.width_mm(), frame.height_mm() - 4) / 2;
    outer_ = all_ - 9.5;
    slot_bottom_ = outer_ - 0.09 * all_;
    bore_ = 0.635 * all_;
    slot_top_ = bore_ + 0.02 * all_;
    pitch_degrees_ = 360.0 / layout_.slots;
    // A slot of the same number of degrees at every depth, no wider than it is deep.
    half_slot_degrees_ = std::min((drawing.form == winding::CoilForm::kToothCoil ? 0.36 : 0.31) * pitch_degrees_,
                                  (slot_bottom_ - slot_top_) / (2 * slot_bottom_) / kRadiansPerDegree * 1.15);
  }

  void Draw() {
    DrawIron();
    sides_ = winding::SlotSides(layout_);
    for (int slot = 1; slot <= layout_.slots; ++slot) DrawSlot(slot);
    DrawNumbers();
    DrawEndTurns();
    DrawGroupNumbers();
    DrawAxisAndRotation();
    if (letters_left_out_) left_out_->push_back("in the view of the stator: the letters of the phases in the slots");
  }

 private:
  Point At(double radius_mm, double degrees) const { return Polar(centre_, radius_mm, degrees); }

  void DrawIron() {
    const double half_opening = 0.35 * half_slot_degrees_;
    Path iron;
    for (int slot = 1; slot <= layout_.slots; ++slot) {
      const double middle = SlotDegrees(layout_, slot);
      iron.Arc(centre_, bore_, middle - pitch_degrees_ + half_opening, middle - half_opening);
      iron.Line(At(slot_top_, middle - half_opening)).Line(At(slot_top_, middle - half_slot_degrees_));
      iron.Arc(centre_, slot_bottom_, middle - half_slot_degrees_, middle + half_slot_degrees_);
      iron.Line(At(slot_top_, middle + half_slot_degrees_)).Line(At(slot_top_, middle + half_opening));
    }
    iron.Close().Move(At(outer_, 0)).Arc(centre_, outer_, 0, 360).Close();
    canvas_.Draw(iron, &kOutline, Fill::kLightGrey);
  }

  // A part of a slot between two depths and two angles, with its phase and the way of its current.
  void DrawSide(const winding::SlotSide& side, double top, double bottom, double from, double to, bool lower = false) {
    const Path outline = Path().Arc(centre_, top, from, to).Arc(centre_, bottom, to, from).Close();
    canvas_.Draw(outline, &kThin, PhaseFill(side.phase));
    const double depth = bottom - top, middle = (from + to) / 2;
    const auto width_at = [&](double radius) { return 2 * radius * std::sin((to - from) / 2 * kRadiansPerDegree); };
    // The letter lies towards the bottom of the slot, where that is widest, and the mark towards the bore.
    const double spread = std::min(0.245 * depth, 2.4);
    const double letter_radius = (top + bottom) / 2 + spread - (lower ? 2.2 : 0);
    const double mark_radius = (top + bottom) / 2 - spread - (lower ? 1.1 : 0);
    // W is the widest letter, a little wider than its size, and needs its place in any position round the bore: where
    // the slot lies on its side, letter and mark stand beside each other.
    const double size = std::min({3.0, 0.98 * width_at(letter_radius), 0.44 * depth});
    const double mark = std::min({2.6, 0.86 * width_at(mark_radius), 0.36 * depth});
    CurrentMark(canvas_, At(mark_radius, middle), mark, side.sense > 0);
    if (size < kLeastTextMm) {
      letters_left_out_ = true;
      return;
    }
    const Point letter = At(letter_radius, middle);
    if (PhaseFill(side.phase) != Fill::kWhite) {
      canvas_.Draw(Circle(letter, std::min(0.6 * size, 0.47 * width_at(letter_radius))), nullptr, Fill::kWhite);
    }
    CentredText(canvas_, letter, std::string(1, PhaseLetter(side.phase)), size, true);
  }

  void DrawSlot(int slot) {
    const std::vector<winding::SlotSide>& sides = sides_[static_cast<size_t>(slot - 1)];
    const double middle = SlotDegrees(layout_, slot);
    const double from = middle - half_slot_degrees_, to = middle + half_slot_degrees_;
    if (sides.size() == 1) {
      DrawSide(sides[0], slot_top_, slot_bottom_, from, to);
    } else if (sides.size() == 2 && drawing_.form == winding::CoilForm::kToothCoil) {
      // The letters of both stand at two depths: side by side there is no room for them.
      for (const winding::SlotSide& side : sides) {
        DrawSide(side, slot_top_, slot_bottom_, side.go ? middle : from, side.go ? to : middle, !side.go);
      }
    } else if (sides.size() == 2) {
      const double half = (slot_top_ + slot_bottom_) / 2;
      DrawSide(sides[0], slot_top_, half, from, to);
      DrawSide(sides[1], half, slot_bottom_, from, to);
    }
  }

  void DrawNumbers() {
    const double radius = outer_ + 3;
    const double size = layout_.slots > 60 ? 2.2 : 2.6;
    const double room = 2 * radius * std::sin(pitch_degrees_ / 2 * kRadiansPerDegree);
    const double widest = canvas_.WidthMm(absl::StrCat(layout_.slots), {size});
    int step = 1;
    while (step * room < widest + 0.6) step = step == 1 ? 2 : step == 2 ? 5 : step + 5;
    for (int slot = 1; slot <= layout_.slots; ++slot) {
      if (slot != 1 && slot % step != 0) continue;
      CentredText(canvas_, At(radius, SlotDegrees(layout_, slot)), absl::StrCat(slot), size, slot == 1);
    }
    const Point mark = At(outer_ + 5.2, -90);
    ArrowHead(canvas_, mark, 90, 3);
    canvas_.Text({mark.x_mm + 2.2, mark.y_mm - 0.6}, "mark at the lead exit", {2.4});
  }

  // Ends of the coils as they lie before the bore: rising to a nose and back, those with the greatest span the
  // farthest.
  void DrawEndTurns() {
    const double greatest = GreatestSpan(layout_) * pitch_degrees_ * kRadiansPerDegree;
    const bool tooth = drawing_.form == winding::CoilForm::kToothCoil;
    depth_ = std::clamp((tooth ? 0.3 : 0.55) * greatest * bore_, 6.0, (tooth ? 0.2 : 0.44) * bore_);
    // Coils that lie over each other run straight to the nose, those within each other round about it.
    const double sharpness = tooth ? 5 : drawing_.form == winding::CoilForm::kConcentric ? 2.4 : 1.3;
    const double width = layout_.coils.size() > 40 ? 0.22 : 0.3;
    for (const winding::Coil& coil : layout_.coils) {
      const int span = SpanOf(layout_, coil);
      const double aside =
          tooth && sides_[static_cast<size_t>(coil.go_slot - 1)].size() == 2 ? half_slot_degrees_ / 2 : 0;
      const double from = SlotDegrees(layout_, coil.go_slot) + aside;
      const double sweep = span * pitch_degrees_ - 2 * aside;
      const double depth = depth_ * span / GreatestSpan(layout_);
      const int steps = std::max(24, 2 * static_cast<int>(sweep / 4));
      Path end;
      for (int i = 0; i <= steps; ++i) {
        const double across = 2.0 * i / steps - 1;
        const double rise = 1 - std::pow(std::abs(across), sharpness);
        end.Line(At(bore_ - 0.5 - depth * rise, from + sweep * i / steps));
      }
      const Stroke line = PhaseStroke(coil.phase, width);
      canvas_.Draw(end, &line, Fill::kNone);
    }
  }

  void DrawGroupNumbers() {
    const size_t groups = drawing_.connections.groups.size();
    group_radius_ = bore_ - depth_ - 4.2;
    const double room = 2 * group_radius_ * std::sin(3.14159265 / static_cast<double>(groups));
    const double size = std::min(2.6, (room - 0.3) / 1.75);
    size_t step = 1;
    while (std::min(2.6, (static_cast<double>(step) * room - 0.3) / 1.75) < kLeastTextMm) ++step;
    if (step > 1)
      left_out_->push_back(absl::StrCat("in the view of the stator: all but one in ", step, " group numbers"));
    for (size_t i = 0; i < groups; i += step) {
      const Point at = At(group_radius_, SlotDegrees(layout_, MiddleSlotOf(layout_, drawing_.connections.groups[i])));
      const double text = std::max(size, kLeastTextMm);
      canvas_.Draw(Circle(at, 0.86 * text), &kThin, Fill::kWhite);
      CentredText(canvas_, at, absl::StrCat(i + 1), text);
    }
  }

  void DrawAxisAndRotation() {
    const double free = group_radius_ - 4.6;
    const bool delta = drawing_.connections.ends == winding::PhaseEnds::kDelta;
    const double pole_pairs = layout_.poles / 2.0;
    const double axis = SlotDegrees(layout_, 1) + (delta ? drawing_.field.delta_axis_electrical_degrees[0] / pole_pairs
                                                         : drawing_.field.axis_mechanical_degrees[0]);
    const Stroke chain{0.3, {3, 0.8, 0.5, 0.8}, 1};
    const double reach = std::min(free, 26.0);
    canvas_.Draw(Polyline({centre_, At(reach - 4.6, axis)}), &chain, Fill::kNone);
    ArrowHead(canvas_, At(reach - 4, axis), axis, 2.4);
    CentredText(canvas_, At(reach - 1.6, axis), LeadName(drawing_.connections, 0), 3, true);
    const bool clockwise = drawing_.field.clockwise_from_connection_end;
    const double from = axis + (clockwise ? 25 : -25), to = axis + (clockwise ? 325 : -325);
    const double radius = 0.48 * reach;
    canvas_.Draw(Path().Arc(centre_, radius, from, to), &kOutline, Fill::kNone);
    ArrowHead(canvas_, At(radius, to + (clockwise ? 5 : -5)), to + (clockwise ? 90 : -90), 2.4);
    canvas_.Draw(Circle(centre_, 0.5), nullptr, Fill::kBlack);
  }

  const WindingDrawing& drawing_;
  const winding::Layout& layout_;
  Canvas& canvas_;
  LeftOut* left_out_;
  Point centre_;
  double all_, outer_, slot_bottom_, slot_top_, bore_, pitch_degrees_, half_slot_degrees_;
  double depth_ = 0, group_radius_ = 0;
  std::vector<std::vector<winding::SlotSide>> sides_;
  bool letters_left_out_ = false;
};

}  // namespace

double SlotDegrees(const winding::Layout& layout, double slot) { return -90 + 360 * (slot - 1) / layout.slots; }

int SpanOf(const winding::Layout& layout, const winding::Coil& coil) {
  return (coil.return_slot - coil.go_slot + layout.slots) % layout.slots;
}

int GreatestSpan(const winding::Layout& layout) {
  int greatest = 1;
  for (const winding::Coil& coil : layout.coils) greatest = std::max(greatest, SpanOf(layout, coil));
  return greatest;
}

double MiddleSlotOf(const winding::Layout& layout, const winding::Group& group) {
  const winding::Coil& first = layout.coils[static_cast<size_t>(group.coils.front())];
  double sum = 0;
  for (const int index : group.coils) {
    const winding::Coil& coil = layout.coils[static_cast<size_t>(index)];
    sum += (coil.go_slot - first.go_slot + layout.slots) % layout.slots + SpanOf(layout, coil) / 2.0;
  }
  return std::fmod(first.go_slot - 1 + sum / static_cast<double>(group.coils.size()), layout.slots) + 1;
}

int SlotOf(const winding::Layout& layout, const winding::CoilEnd& end) {
  const winding::Coil& coil = layout.coils[static_cast<size_t>(end.coil)];
  return end.finish ? coil.return_slot : coil.go_slot;
}

std::string LeadName(const winding::ConnectionList& list, int phase, bool second) {
  const std::string letter(1, PhaseLetter(phase));
  return list.ends == winding::PhaseEnds::kOpen ? letter + (second ? "2" : "1") : letter;
}

void DrawStator(const WindingDrawing& drawing, const Frame& frame, Canvas& canvas, LeftOut* left_out) {
  StatorView(drawing, frame, canvas, left_out).Draw();
}

}  // namespace coilwright::sheet
