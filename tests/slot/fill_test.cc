#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "slot/slot.h"
#include "standards/errors.h"
#include "standards/units.h"

namespace coilwright::slot {
namespace {

using standards::kPi;

Fill In(double net_mm2, const std::vector<Bundle>& bundle, double turns) {
  Area area;
  area.gross_mm2 = area.net_mm2 = net_mm2;
  const absl::StatusOr<Fill> fill = SlotFill(area, bundle, turns);
  EXPECT_TRUE(fill.ok()) << fill.status();
  return fill.value_or(Fill{});
}

// A square lattice fills pi/4 and has fullness one: 100 wires of 1 mm in 10 mm x 10 mm.
TEST(SlotFill, OfASquareLattice) {
  const Fill fill = In(100, {{0.9, 1.0, 1}}, 100);
  EXPECT_NEAR(fill.fullness_ratio, 1, 1e-12);
  EXPECT_NEAR(fill.insulated_wire_ratio, kPi / 4, 1e-12);
  EXPECT_NEAR(fill.bare_copper_net_ratio, kPi / 4 * 0.81, 1e-12);
}

// Thue: the hexagonal lattice fills pi/(2 sqrt 3) = 0.9069, fullness 2/sqrt 3 = 1.1547.
TEST(SlotFill, KnowsTheHexagonalLimit) {
  const Fill fill = In(100, {{1, 1, 1}}, 100 * 2 / std::sqrt(3.0));
  EXPECT_NEAR(fill.fullness_ratio, fill.hexagonal_limit_ratio, 1e-12);
  EXPECT_NEAR(fill.insulated_wire_ratio, 0.906900, 1e-6);
  EXPECT_NEAR(fill.hexagonal_limit_ratio, 1.1547, 1e-4);
}

// AWG 18 heavy, 0.0403 in bare and 0.0431 in over the film (NEMA MW 1000): bare copper over net area at a fullness of
// 0.65, 0.70, 0.75 and 0.80, by hand pi/4 (d/D)^2.
TEST(SlotFill, BridgesFullnessAndCopper) {
  const double bare = 0.0403 * 25.4, overall = 0.0431 * 25.4;
  for (const auto& [fullness, copper] : {std::pair{0.65, 0.446}, {0.70, 0.481}, {0.75, 0.515}, {0.80, 0.549}}) {
    const Fill fill = In(50, {{bare, overall, 1}}, fullness * 50 / (overall * overall));
    EXPECT_NEAR(fill.fullness_ratio, fullness, 1e-9);
    EXPECT_NEAR(fill.bare_copper_net_ratio, copper, 6e-4);
  }
}

struct Packing {
  int circles;
  double container_over_circle;  // radii
  double density;
};

// Best known packings of equal circles in a circle, as in the published packing tables (Packomania). 19 circles and
// fewer are proved or long standing; 61 is Lubachevsky and Graham, Curved hexagonal packings, D/d = 8.6612975755404.
TEST(SlotFill, HasTheDensityOfKnownPackings) {
  for (const Packing& packing : {Packing{2, 2, 0.5},
                                 {3, 2.154700538379, 0.6461709275},
                                 {4, 2.414213562373, 0.686291501},
                                 {5, 2.701301616704, 0.6852102443},
                                 {7, 3, 0.7777777778},
                                 {8, 3.304764870962, 0.7325020694},
                                 {12, 4.029601930116, 0.7390212975},
                                 {14, 4.328428554861, 0.7472527617},
                                 {19, 4.863703305156, 0.8031921446},
                                 {61, 8.6612975755404, 61 / 75.0180756913}}) {
    const absl::StatusOr<Area> area = NetArea(Round{2 * packing.container_over_circle, 0}, {});
    ASSERT_TRUE(area.ok());
    const absl::StatusOr<Fill> fill = SlotFill(*area, {{2, 2, 1}}, packing.circles);
    ASSERT_TRUE(fill.ok());
    EXPECT_NEAR(fill->insulated_wire_ratio, packing.density, 1e-9) << packing.circles;
    EXPECT_NE(Judge(*fill, {}), FillVerdict::kImpossible) << packing.circles;  // it has been packed
  }
}

// The same in a unit square: radius of the circles.
TEST(SlotFill, HasTheDensityOfPackingsInASquare) {
  for (const Packing& packing : {Packing{4, 0.25, 0.7853981634},
                                 {5, 0.207106781187, 0.6737651056},
                                 {9, 1 / 6.0, 0.7853981634},
                                 {10, 0.148204322565, 0.6900357853},
                                 {16, 0.125, 0.7853981634},
                                 {19, 0.112265437571, 0.7523078967}}) {
    const Fill fill = In(100, {{1, 20 * packing.container_over_circle, 1}}, packing.circles);
    EXPECT_NEAR(fill.insulated_wire_ratio, packing.density, 1e-9) << packing.circles;
    EXPECT_NE(Judge(fill, {}), FillVerdict::kImpossible);
  }
}

TEST(SlotFill, AddsSizesAndWires) {
  const Fill mixed = In(80, {{0.71, 0.789, 2}, {0.75, 0.832, 1}}, 40);
  EXPECT_NEAR(mixed.fullness_ratio, 40 * (2 * 0.789 * 0.789 + 0.832 * 0.832) / 80, 1e-12);
  EXPECT_FALSE(mixed.one_size);
  EXPECT_TRUE(In(80, {{0.71, 0.789, 2}, {0.71, 0.789, 1}}, 40).one_size);
  const Fill one = In(80, {{0.71, 0.789, 1}}, 40), two = In(80, {{0.71, 0.789, 2}}, 40);
  EXPECT_NEAR(two.fullness_ratio, 2 * one.fullness_ratio, 1e-12);
  EXPECT_NEAR(In(80, {{0.71, 0.789, 1}}, 80).fullness_ratio, two.fullness_ratio, 1e-12);
}

TEST(Judge, GoesByTheShopsLevelsAndTheHexagonalLimit) {
  const auto judge = [](double fullness, bool one_size) {
    Fill fill;
    fill.fullness_ratio = fullness;
    fill.hexagonal_limit_ratio = 2 / std::sqrt(3.0);
    fill.one_size = one_size;
    return Judge(fill, {0.75, 0.82});
  };
  EXPECT_EQ(judge(0.7499, true), FillVerdict::kOk);
  EXPECT_EQ(judge(0.75, true), FillVerdict::kWatch);
  EXPECT_EQ(judge(0.8199, true), FillVerdict::kWatch);
  EXPECT_EQ(judge(0.82, true), FillVerdict::kAct);
  EXPECT_EQ(judge(1.1547, true), FillVerdict::kAct);
  EXPECT_EQ(judge(1.1548, true), FillVerdict::kImpossible);
  EXPECT_EQ(judge(1.3, false), FillVerdict::kAct);  // small wires may lie in the gaps of large ones
}

TEST(SlotFill, RefusesWhatIsNoBundle) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  Area area;
  area.gross_mm2 = area.net_mm2 = 80;
  const auto wrong = [&](const std::vector<Bundle>& bundle, double turns) {
    std::vector<std::string> fields;
    for (const auto& error : standards::FieldErrorsOf(SlotFill(area, bundle, turns).status()))
      fields.push_back(error.field);
    return fields;
  };
  using testing::ElementsAre;
  EXPECT_THAT(wrong({}, 40), ElementsAre("bundle"));
  EXPECT_THAT(wrong({{0.71, 0.70, 1}}, 40), ElementsAre("bundle[0].overall_mm"));
  EXPECT_THAT(wrong({{0.71, 0.71, 1}}, 40), testing::IsEmpty());
  EXPECT_THAT(wrong({{0.71, 0.8, 1}, {nan, 0.8, 0}}, 0),
              ElementsAre("turns_in_slot", "bundle[1].bare_mm", "bundle[1].wires"));
  EXPECT_THAT(wrong({{-1, 0.8, 1000000000}}, 1e9),
              ElementsAre("turns_in_slot", "bundle[0].bare_mm", "bundle[0].wires"));
  area.net_mm2 = 0;
  EXPECT_THAT(wrong({{0.71, 0.8, 1}}, 40), ElementsAre("net_mm2"));
}

TEST(SlotOpening, LetsPassWhatLinerAndClearanceLeave) {
  EXPECT_NEAR(GreatestWireThroughOpeningMm(2.5, 0.25, 0.3), 1.7, 1e-12);
  EXPECT_EQ(GreatestWireThroughOpeningMm(0.5, 0.25, 0), 0);
  EXPECT_EQ(GreatestWireThroughOpeningMm(0.5, 0.25, 0.3), 0);
}

}  // namespace
}  // namespace coilwright::slot
