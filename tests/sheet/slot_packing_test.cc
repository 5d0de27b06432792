// The cross-section of a slot against the areas of the slot room, and wires that neither overlap nor leave their room.
#include "sheet/slot_packing.h"

#include <gtest/gtest.h>

#include <cmath>

namespace coilwright::sheet {
namespace {

const std::vector<slot::Shape>& ContourShapes() {
  static const auto& shapes = *new std::vector<slot::Shape>{
      slot::ParallelSided{8, 25, 2.5, 0.8},
      slot::ParallelSided{8, 25, 8, 0},  // open to the bore
      slot::ParallelTooth{80, 12, 9, 18, 3, 1},
      slot::ParallelTooth{100, 36, 4, 16, 2.2, 0.7},
      slot::RoundBottomed{6, 9, 22, 2.8, 0.9},
      slot::RoundBottomed{9, 6, 22, 2.8, 0.9},
      slot::Round{12, 2},
      slot::MeasuredArea{150},
  };
  return shapes;
}

// The slot room has the exact area of each shape; a contour of short straight lines comes within 0.2 % of it.
TEST(SlotContour, HasTheAreaOfItsShape) {
  for (const slot::Shape& shape : ContourShapes()) {
    const auto area = slot::NetArea(shape, {});
    ASSERT_TRUE(area.ok()) << area.status();
    EXPECT_NEAR(AreaOf(ContourOf(shape).wall), area->gross_mm2, 2e-3 * area->gross_mm2) << shape.index();
  }
}

// The parts fill the slot, and the rooms are the net area; the rule counts the corners of the liner twice, and the
// separator and wedge at mean and top width, so that the rooms drawn may be some percent larger or smaller.
TEST(SlotContour, PartsFillTheSlot) {
  const slot::Insulation insulation{0.25, 0.3, 1.5, 0.1, true};
  for (const slot::Shape& shape : ContourShapes()) {
    const auto area = slot::NetArea(shape, insulation);
    ASSERT_TRUE(area.ok()) << area.status();
    for (const bool side_by_side : {false, true}) {
      const SlotParts parts = PartsOf(shape, insulation, {20, 20}, side_by_side);
      const double rooms = AreaOf(parts.rooms[0]) + AreaOf(parts.rooms[1]);
      const double rest = AreaOf(parts.coating) + AreaOf(parts.liner) + AreaOf(parts.wedge) + AreaOf(parts.separator);
      EXPECT_NEAR(rooms + rest, area->gross_mm2, 0.012 * area->gross_mm2) << shape.index();
      EXPECT_NEAR(AreaOf(parts.rooms[0]), AreaOf(parts.rooms[1]), 1e-3 * rooms) << shape.index() << side_by_side;
      if (!side_by_side) {
        EXPECT_NEAR(rooms, area->net_mm2, 0.06 * area->net_mm2) << shape.index();
      }
    }
  }
}

TEST(SlotContour, LayersShareTheRoomByTheirTurns) {
  const SlotParts parts = PartsOf(ContourShapes()[0], {0.25, 0.3, 1.5, 0, true}, {10, 30}, false);
  EXPECT_NEAR(AreaOf(parts.rooms[1]), 3 * AreaOf(parts.rooms[0]), 0.01);
}

bool Within(const Outline& room, const PackedWire& wire) {
  constexpr int kAround = 48;
  for (int i = 0; i < kAround; ++i) {
    const double angle = 2 * 3.14159265358979 * i / kAround;
    const Point at{wire.centre.x_mm + (wire.overall_mm / 2 - 1e-6) * std::cos(angle),
                   wire.centre.y_mm + (wire.overall_mm / 2 - 1e-6) * std::sin(angle)};
    bool inside = false;
    for (size_t a = 0, b = room.size() - 1; a < room.size(); b = a++) {
      if ((room[a].y_mm > at.y_mm) != (room[b].y_mm > at.y_mm) &&
          at.x_mm <
              (room[b].x_mm - room[a].x_mm) * (at.y_mm - room[a].y_mm) / (room[b].y_mm - room[a].y_mm) + room[a].x_mm) {
        inside = !inside;
      }
    }
    if (!inside) return false;
  }
  return true;
}

// In every shape, with one size and with two, up to the fullness that the comment of Pack names.
TEST(SlotPacking, WiresLieApartAndInTheirRoomUpToAFullnessOfFourFifths) {
  const slot::Insulation insulation{0.25, 0.25, 1, 0, true};
  for (const slot::Shape& shape : ContourShapes()) {
    for (const bool two_sizes : {false, true}) {
      for (const double overall : {0.35, 0.6}) {
        std::vector<slot::Bundle> bundle = {{overall - 0.06, overall, 2}};
        if (two_sizes) bundle.push_back({0.8 * overall - 0.06, 0.8 * overall, 1});
        const SlotParts parts = PartsOf(shape, insulation, {1, 1}, false);
        double square = 0;
        int in_hand = 0;
        for (const slot::Bundle& size : bundle) {
          square += size.wires * size.overall_mm * size.overall_mm;
          in_hand += size.wires;
        }
        const int turns = static_cast<int>(0.8 * AreaOf(parts.rooms[1]) / square);
        const auto wires = Pack(parts.rooms[1], bundle, turns);
        ASSERT_TRUE(wires.has_value()) << shape.index() << " " << overall << two_sizes << " turns " << turns;
        EXPECT_EQ(wires->size(), static_cast<size_t>(turns * in_hand));
        for (size_t i = 0; i < wires->size(); ++i) {
          EXPECT_TRUE(Within(parts.rooms[1], (*wires)[i])) << shape.index() << " " << i;
          for (size_t j = 0; j < i; ++j) {
            const Point a = (*wires)[i].centre, b = (*wires)[j].centre;
            EXPECT_GE(std::hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm),
                      ((*wires)[i].overall_mm + (*wires)[j].overall_mm) / 2 - 1e-6);
          }
        }
      }
    }
  }
}

TEST(SlotPacking, NothingIsLaidWhereNotAllFits) {
  const SlotParts parts = PartsOf(slot::ParallelSided{8, 25, 2.5, 0.8}, {0.25, 0, 0, 0, false}, {1}, false);
  // 7.5 mm by 23.7 mm holds four wires of 1.8 mm beside each other in at most 15 rows.
  EXPECT_TRUE(Pack(parts.rooms[0], {{1.7, 1.8, 1}}, 30).has_value());
  EXPECT_FALSE(Pack(parts.rooms[0], {{1.7, 1.8, 1}}, 61).has_value());
  EXPECT_FALSE(Pack(parts.rooms[0], {{9, 9.1, 1}}, 1).has_value());
}

}  // namespace
}  // namespace coilwright::sheet
