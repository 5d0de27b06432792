#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "sheet/winding_views.h"
#include "standards/units.h"

namespace coilwright::sheet {
namespace {

using standards::kRadiansPerDegree;

// Slots at one electrical angle.
struct Ray {
  std::vector<int> slots;
  std::vector<int> belts;  // of each slot: phase and sense of the side that counts, -1 for an empty slot
  // The belt of all of them; -1 where they differ or are empty.
  int belt() const {
    const bool alike = std::all_of(belts.begin(), belts.end(), [&](int other) { return other == belts[0]; });
    return alike ? belts[0] : -1;
  }
};

int BeltOf(const std::vector<winding::SlotSide>& sides) {
  return sides.empty() ? -1 : 2 * sides[0].phase + (sides[0].sense > 0 ? 0 : 1);
}

std::string BeltName(int belt) {
  return absl::StrCat(belt % 2 == 0 ? "+" : "\u2212", std::string(1, PhaseLetter(belt / 2)));
}

// The rays by rising angle.
std::vector<Ray> RaysOf(const winding::Layout& layout) {
  const std::vector<std::vector<winding::SlotSide>> sides = winding::SlotSides(layout);
  const int pairs = layout.poles / 2;
  const int rays = layout.slots / std::gcd(layout.slots, pairs);
  std::vector<Ray> star(static_cast<size_t>(rays));
  for (int slot = 1; slot <= layout.slots; ++slot) {
    // (slot - 1) pairs / slots of a turn, in whole rays.
    const int place = static_cast<int>(static_cast<int64_t>(slot - 1) * pairs % layout.slots) * rays / layout.slots;
    Ray& ray = star[static_cast<size_t>(place)];
    ray.slots.push_back(slot);
    ray.belts.push_back(BeltOf(sides[static_cast<size_t>(slot - 1)]));
  }
  return star;
}

class StarView {
 public:
  StarView(const WindingDrawing& drawing, const Frame& frame, Canvas& canvas)
      : drawing_(drawing), frame_(frame), canvas_(canvas), rays_(RaysOf(drawing.layout)) {
    radius_ = std::min(frame.width_mm() / 2, (frame.height_mm() - 18) / 2);
    centre_ = {(frame.left_mm + frame.right_mm) / 2, frame.top_mm + 8 + radius_};
  }

  void Draw(LeftOut* left_out) {
    canvas_.Text({frame_.left_mm, frame_.top_mm + 3}, "Star of slots", {3, true});
    DrawNumbers(left_out);
    for (size_t i = 0; i < rays_.size(); ++i) DrawRay(i);
    DrawBelts();
    DrawWords();
  }

 private:
  double DegreesOf(double ray) const { return -90 + 360 * ray / static_cast<double>(rays_.size()); }

  void DrawRay(size_t index) {
    const int belt = rays_[index].belt();
    const double degrees = DegreesOf(static_cast<double>(index)), tip = radius_ - 13;
    const double width = rays_.size() > 40 ? 0.2 : 0.3;
    const Stroke line = belt < 0 ? Stroke{width, {0.3, 0.5}, 1} : PhaseStroke(belt / 2, width);
    canvas_.Draw(Polyline({centre_, Polar(centre_, tip - 1, degrees)}), &line, Fill::kNone);
    ArrowHead(canvas_, Polar(centre_, tip, degrees), degrees, rays_.size() > 40 ? 1.3 : 1.8);
  }

  void DrawNumbers(LeftOut* left_out) {
    const double ring = radius_ - 10.4;
    const double room = 2 * ring * std::sin(180.0 / static_cast<double>(rays_.size()) * kRadiansPerDegree);
    double size = 2.4;
    const auto widest = [&] { return canvas_.WidthMm(absl::StrCat(drawing_.layout.slots), {size}); };
    if (widest() + 0.4 > room) size = kLeastTextMm + 0.1;
    size_t step = 1;
    while (static_cast<double>(step) * room < widest() + 0.4 && step < rays_.size()) ++step;
    if (step > 1)
      left_out->push_back(absl::StrCat("in the star of slots: the numbers of all but one in ", step, " rays"));
    for (size_t i = 0; i < rays_.size(); i += step) {
      if (i + step > rays_.size() && i > 0) break;  // it would stand against the first
      CentredText(canvas_, Polar(centre_, ring, DegreesOf(static_cast<double>(i))), absl::StrCat(rays_[i].slots[0]),
                  size);
    }
  }

  // Neighbouring rays of one phase and sense make a belt.
  void DrawBelts() {
    const size_t count = rays_.size();
    const double ring = radius_ - 6.8, half = 180.0 / static_cast<double>(count);
    const auto belt_at = [&](size_t i) { return rays_[i % count].belt(); };
    size_t first = 0;
    while (first < count && belt_at(first) == belt_at(first + count - 1)) ++first;
    if (first == count) return;
    for (size_t from = first, to; from < first + count; from = to) {
      for (to = from + 1; to < first + count && belt_at(to) == belt_at(from);) ++to;
      if (belt_at(from) < 0) continue;
      const double gap = std::min(1.2, 0.3 * half);
      const double start = DegreesOf(static_cast<double>(from)) - half + gap;
      const double end = DegreesOf(static_cast<double>(to - 1)) + half - gap;
      const Stroke line = PhaseStroke(belt_at(from) / 2, 0.35);
      canvas_.Draw(Path().Arc(centre_, ring, start, end), &line, Fill::kNone);
      // Belts of single rays may stand too close for their names.
      const double room = 2 * radius_ * std::sin((end - start) / 2 * kRadiansPerDegree);
      if (room >= 4.6) {
        CentredText(canvas_, Polar(centre_, radius_ - 2.8, (start + end) / 2), BeltName(belt_at(from)), 2.6, true);
      }
    }
  }

  void DrawWords() {
    const size_t on_a_ray = rays_[0].slots.size();
    std::string words =
        "Electrical angles of the slots, clockwise from slot 1; phase and sense are those of the go side where a slot "
        "holds two.";
    if (on_a_ray > 1) {
      absl::StrAppend(&words, " Slots ", rays_.size(), " apart lie on one ray, which names the first of ", on_a_ray,
                      ".");
    }
    if (std::any_of(rays_.begin(), rays_.end(), [](const Ray& ray) { return ray.belt() < 0; })) {
      words += " On dotted rays their phases differ.";
    }
    Paragraph(canvas_, {frame_.left_mm, centre_.y_mm + radius_ + 3.2}, words, 2.2, frame_.width_mm(), 3);
  }

  const WindingDrawing& drawing_;
  const Frame& frame_;
  Canvas& canvas_;
  const std::vector<Ray> rays_;
  Point centre_;
  double radius_ = 0;
};

}  // namespace

void DrawStarOfSlots(const WindingDrawing& drawing, const Frame& frame, Canvas& canvas, LeftOut* left_out) {
  StarView(drawing, frame, canvas).Draw(left_out);
}

}  // namespace coilwright::sheet
