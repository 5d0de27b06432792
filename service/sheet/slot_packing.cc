#include "sheet/slot_packing.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace coilwright::sheet {
namespace {

constexpr double kNowhere = -std::numeric_limits<double>::infinity();
constexpr int kColumns = 320;
constexpr double kSlack = 1e-9;

// For wires of one radius: how deep their centre can lie in each column, by the walls and by what lies there already.
struct Columns {
  double radius = 0;
  std::vector<double> highest;  // by the walls above
  std::vector<double> deepest;  // by the walls and wires below
};

double SquareOfDistance(Point point, Point from, Point to) {
  const double x = to.x_mm - from.x_mm, y = to.y_mm - from.y_mm;
  const double square = x * x + y * y;
  const double along =
      square == 0 ? 0 : std::clamp(((point.x_mm - from.x_mm) * x + (point.y_mm - from.y_mm) * y) / square, 0.0, 1.0);
  const double off_x = point.x_mm - from.x_mm - along * x, off_y = point.y_mm - from.y_mm - along * y;
  return off_x * off_x + off_y * off_y;
}

class Packing {
 public:
  explicit Packing(const Outline& room) : room_(room) {
    left_ = right_ = room[0].x_mm;
    top_ = bottom_ = room[0].y_mm;
    for (const Point& point : room) {
      left_ = std::min(left_, point.x_mm);
      right_ = std::max(right_, point.x_mm);
      top_ = std::min(top_, point.y_mm);
      bottom_ = std::max(bottom_, point.y_mm);
    }
  }

  // Lays one wire; false where it finds no place.
  bool Lay(double overall_mm, double bare_mm) {
    Columns& columns = ColumnsFor(overall_mm / 2);
    size_t best = kColumns;
    for (size_t i = 0; i < kColumns; ++i) {
      // Of places equally deep the one nearer to a wall: a row is begun there.
      if (columns.deepest[i] < columns.highest[i] || columns.deepest[i] == kNowhere) continue;
      if (best == kColumns || columns.deepest[i] > columns.deepest[best] + kSlack) best = i;
    }
    if (best == kColumns) return false;
    const PackedWire wire{{X(best), columns.deepest[best]}, overall_mm, bare_mm};
    wires_.push_back(wire);
    for (auto& [size, other] : columns_) Cover(wire, &other);
    return true;
  }

  std::vector<PackedWire> Take() { return std::move(wires_); }

 private:
  double X(size_t column) const { return left_ + (right_ - left_) * static_cast<double>(column) / (kColumns - 1); }

  // Whether the whole wire lies in the room.
  bool Fits(Point centre, double radius) const {
    bool inside = false;
    const double least = (radius - kSlack) * (radius - kSlack);
    for (size_t i = 0, j = room_.size() - 1; i < room_.size(); j = i++) {
      const Point a = room_[i], b = room_[j];
      if (SquareOfDistance(centre, a, b) < least) return false;
      if ((a.y_mm > centre.y_mm) != (b.y_mm > centre.y_mm) &&
          centre.x_mm < (b.x_mm - a.x_mm) * (centre.y_mm - a.y_mm) / (b.y_mm - a.y_mm) + a.x_mm) {
        inside = !inside;
      }
    }
    return inside;
  }

  Columns& ColumnsFor(double radius) {
    Columns& columns = columns_[radius];
    if (!columns.deepest.empty()) return columns;
    columns.radius = radius;
    for (size_t i = 0; i < kColumns; ++i) {
      const auto [high, deep] = Between(X(i), radius);
      columns.highest.push_back(high);
      columns.deepest.push_back(deep);
    }
    for (const PackedWire& wire : wires_) Cover(wire, &columns);
    return columns;
  }

  // The uppermost and the deepest centre in a column, {0, kNowhere} where there is none. The walls of a slot leave one
  // stretch.
  std::pair<double, double> Between(double x, double radius) const {
    constexpr int kSteps = 48;
    const auto y = [&](int step) { return top_ + (bottom_ - top_) * step / kSteps; };
    const auto edge = [&](double fits, double fails) {
      for (int i = 0; i < 28; ++i) {
        const double middle = (fits + fails) / 2;
        (Fits({x, middle}, radius) ? fits : fails) = middle;
      }
      return fits;
    };
    int first = 0, last = kSteps;
    while (first <= kSteps && !Fits({x, y(first)}, radius)) ++first;
    if (first > kSteps) return {0, kNowhere};
    while (!Fits({x, y(last)}, radius)) --last;
    return {first == 0 ? top_ : edge(y(first), y(first - 1)), last == kSteps ? bottom_ : edge(y(last), y(last + 1))};
  }

  // A wire bears what comes to lie over it.
  void Cover(const PackedWire& wire, Columns* columns) const {
    const double reach = wire.overall_mm / 2 + columns->radius;
    for (size_t i = 0; i < kColumns; ++i) {
      const double aside = X(i) - wire.centre.x_mm;
      if (std::abs(aside) >= reach) continue;
      columns->deepest[i] = std::min(columns->deepest[i], wire.centre.y_mm - std::sqrt(reach * reach - aside * aside));
    }
  }

  const Outline& room_;
  double left_, right_, top_, bottom_;
  std::map<double, Columns> columns_;
  std::vector<PackedWire> wires_;
};

}  // namespace

std::optional<std::vector<PackedWire>> Pack(const Outline& room, const std::vector<slot::Bundle>& bundle, int turns) {
  if (room.size() < 3) return std::nullopt;
  std::vector<slot::Bundle> sizes = bundle;
  std::sort(sizes.begin(), sizes.end(),
            [](const slot::Bundle& a, const slot::Bundle& b) { return a.overall_mm > b.overall_mm; });
  for (const bool thickest_first : {false, true}) {
    Packing packing(room);
    bool all = true;
    const auto lay = [&](const slot::Bundle& size, int wires) {
      for (int i = 0; i < wires && all; ++i) all = packing.Lay(size.overall_mm, size.bare_mm);
    };
    if (thickest_first) {
      for (const slot::Bundle& size : sizes) lay(size, size.wires * turns);
    } else {
      for (int turn = 0; turn < turns && all; ++turn) {
        for (const slot::Bundle& size : sizes) lay(size, size.wires);
      }
    }
    if (all) return packing.Take();
  }
  return std::nullopt;
}

}  // namespace coilwright::sheet
