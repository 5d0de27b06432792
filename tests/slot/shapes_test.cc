#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <limits>

#include "slot/slot.h"
#include "standards/errors.h"
#include "standards/units.h"

namespace coilwright::slot {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;
using testing::IsSupersetOf;

using standards::kPi;

Area Of(const Shape& shape, const Insulation& insulation = {}) {
  const absl::StatusOr<Area> area = NetArea(shape, insulation);
  EXPECT_TRUE(area.ok()) << area.status();
  return area.value_or(Area{});
}

std::vector<std::string> WrongFields(const Shape& shape, const Insulation& insulation = {}) {
  std::vector<std::string> fields;
  const absl::Status status = NetArea(shape, insulation).status();
  for (const standards::FieldError& error : standards::FieldErrorsOf(status)) fields.push_back(error.field);
  return fields;
}

double Integral(double from, double to, const std::function<double(double)>& f) {
  const int steps = 20000;
  double sum = 0;
  for (int i = 0; i < steps; ++i) sum += f(from + (i + 0.5) * (to - from) / steps);
  return sum * (to - from) / steps;
}

TEST(GrossArea, OfAParallelSlotIsWidthTimesDepthBelowTheLip) {
  const Area area = Of(ParallelSided{6, 20, 2.5, 0.8});
  EXPECT_NEAR(area.gross_mm2, 6 * 19.2, 1e-9);
  EXPECT_NEAR(*area.mean_width_mm, 6, 1e-9);
  EXPECT_DOUBLE_EQ(area.net_mm2, area.gross_mm2);
}

TEST(GrossArea, OfARoundSlotIsACircle) {
  EXPECT_NEAR(Of(Round{10, 2}).gross_mm2, kPi * 25, 1e-9);
  EXPECT_NEAR(Of(Round{10, 0}, {0.2, 0, 0, 0, false}).liner_mm2, kPi * 10 * 0.2, 1e-9);
}

TEST(GrossArea, OfARoundBottomedSlotIsTrapezoidAndHalfCircle) {
  const Area area = Of(RoundBottomed{5, 8, 18, 2, 1});
  EXPECT_NEAR(area.gross_mm2, (5 + 8) / 2.0 * 13 + kPi * 16 / 2, 1e-9);
  EXPECT_NEAR(Of(RoundBottomed{8, 8, 5, 2, 1}).gross_mm2, kPi * 16 / 2, 1e-9);  // nothing but the half circle
}

// Between parallel teeth, summed over thin arcs about the shaft: r (2 pi/Q - 2 asin(b/2r)).
TEST(GrossArea, OfASlotBetweenParallelTeethIsTheSumOfItsArcs) {
  for (const ParallelTooth& slot :
       {ParallelTooth{110, 36, 5, 18, 2.5, 0.8}, {60, 12, 7.85, 18, 2, 1}, {40, 9, 6, 12, 0, 0}}) {
    const double summed =
        Integral(slot.bore_mm / 2 + slot.opening_depth_mm, slot.bore_mm / 2 + slot.depth_mm,
                 [&](double r) { return r * (2 * kPi / slot.slots - 2 * std::asin(slot.tooth_width_mm / (2 * r))); });
    EXPECT_NEAR(Of(slot).gross_mm2, summed, 1e-6 * summed);
  }
}

// The wall from a polygon along the outline, less the opening.
TEST(Liner, FollowsTheWallWithoutTheOpening) {
  const Insulation liner = {0.25, 0, 0, 0, false};
  EXPECT_NEAR(Of(ParallelSided{6, 20, 2.5, 0.8}, liner).liner_mm2, 0.25 * (2 * 19.2 + 6 + 3.5), 1e-9);
  EXPECT_NEAR(Of(RoundBottomed{5, 8, 18, 2, 1}, liner).liner_mm2, 0.25 * (2 * std::hypot(13, 1.5) + kPi * 4 + 5 - 2),
              1e-9);
  const double r1 = 55.8, r2 = 73, half = 2.5;
  const double arcs = (r1 + r2) * 2 * kPi / 36 - 2 * r1 * std::asin(half / r1) - 2 * r2 * std::asin(half / r2);
  const double flanks = 2 * (std::sqrt(r2 * r2 - half * half) - std::sqrt(r1 * r1 - half * half));
  EXPECT_NEAR(Of(ParallelTooth{110, 36, 5, 18, 2.5, 0.8}, liner).liner_mm2, 0.25 * (arcs + flanks - 2.5), 1e-9);
}

// Against the exact room left: a rectangle shrunk by the liner. The approximation errs by the square corners only.
TEST(NetArea, LeavesTheInnerRectangle) {
  const double t = 0.25;
  const Area open = Of(ParallelSided{6, 20, 6, 0}, {t, 0, 0, 0, false});
  const double exact = (6 - 2 * t) * (20 - t);
  EXPECT_NEAR(open.net_mm2, exact, 2 * t * t + 1e-9);
  EXPECT_LE(open.net_mm2, exact);
}

TEST(NetArea, TakesOffSeparatorAndWedge) {
  const Area area = Of(ParallelSided{6, 20, 2.5, 0.8}, {0.25, 0.3, 1.5, 0, true});
  EXPECT_NEAR(area.separator_mm2, 5.5 * 0.3, 1e-9);
  EXPECT_NEAR(area.wedge_mm2, 5.5 * 1.5, 1e-9);
  EXPECT_NEAR(area.net_mm2, area.gross_mm2 - area.liner_mm2 - area.separator_mm2 - area.wedge_mm2, 1e-9);
  EXPECT_EQ(Of(ParallelSided{6, 20, 2.5, 0.8}, {0.25, 0.3, 1.5, 0, false}).separator_mm2, 0);
  const Area coated = Of(ParallelSided{6, 20, 2.5, 0.8}, {0, 0, 0, 0.25, false});
  EXPECT_DOUBLE_EQ(coated.liner_mm2, Of(ParallelSided{6, 20, 2.5, 0.8}, {0.25, 0, 0, 0, false}).liner_mm2);
}

TEST(NetArea, EstimatesTheInsulationOfAMeasuredArea) {
  const Area area = Of(MeasuredArea{100}, {0.25, 0, 0, 0, false});
  EXPECT_NEAR(area.liner_mm2, 10, 1e-9);
  EXPECT_TRUE(area.insulation_estimated);
  EXPECT_FALSE(area.mean_width_mm.has_value());
  EXPECT_FALSE(Of(MeasuredArea{100}).insulation_estimated);
  EXPECT_THAT(area.rules, testing::SizeIs(1));
}

TEST(NetArea, ShrinksWithThickerLiner) {
  double before = std::numeric_limits<double>::infinity();
  for (double liner : {0.0, 0.1, 0.2, 0.35, 0.5, 1.0}) {
    const double net = Of(ParallelTooth{110, 36, 5, 18, 2.5, 0.8}, {liner, 0, 0, 0, false}).net_mm2;
    EXPECT_LT(net, before);
    before = net;
  }
}

TEST(NetArea, RefusesDimensionsThatCannotBe) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_THAT(WrongFields(ParallelSided{6, 20, 6.01, 0.8}), ElementsAre("opening_mm"));
  EXPECT_THAT(WrongFields(ParallelSided{6, 20, 6, 0.8}), IsEmpty());
  EXPECT_THAT(WrongFields(ParallelSided{6, 20, 2, 20}), ElementsAre("opening_depth_mm"));
  EXPECT_THAT(WrongFields(ParallelSided{6, 20, 2, 19.9}), IsEmpty());
  EXPECT_THAT(WrongFields(ParallelSided{nan, -20, nan, 1e9}),
              ElementsAre("width_mm", "opening_mm", "depth_mm", "opening_depth_mm"));
  EXPECT_THAT(WrongFields(ParallelTooth{110, 36, 9.9, 18, 0, 0.8}), ElementsAre("tooth_width_mm"));
  EXPECT_THAT(WrongFields(ParallelTooth{110, 36, 9.7, 18, 0, 0.8}), IsEmpty());
  EXPECT_THAT(WrongFields(ParallelTooth{0, 0, 0, 0, 0, 0}),
              IsSupersetOf({"bore_mm", "slots", "tooth_width_mm", "depth_mm"}));
  EXPECT_THAT(WrongFields(ParallelTooth{110, 721, 0.1, 18, 0, 0.8}), ElementsAre("slots"));
  EXPECT_THAT(WrongFields(RoundBottomed{8, 8.2, 5, 2, 1}), ElementsAre("bottom_diameter_mm"));
  EXPECT_THAT(WrongFields(Round{5, 5.01}), ElementsAre("opening_mm"));
  EXPECT_THAT(WrongFields(Round{1e9, 0}), ElementsAre("diameter_mm"));
  EXPECT_THAT(WrongFields(MeasuredArea{0}), ElementsAre("gross_mm2"));
  EXPECT_THAT(WrongFields(MeasuredArea{std::numeric_limits<double>::infinity()}), ElementsAre("gross_mm2"));
  EXPECT_THAT(WrongFields(MeasuredArea{100}, {-0.1, nan, -1, 1e9, true}),
              ElementsAre("liner_mm", "separator_mm", "wedge_mm", "coating_mm"));
}

TEST(NetArea, RefusesInsulationThatLeavesNoRoom) {
  EXPECT_THAT(WrongFields(ParallelSided{6, 20, 2, 1}, {3, 0, 0, 0, false}), ElementsAre("liner_mm"));
  EXPECT_THAT(WrongFields(ParallelSided{6, 20, 2, 1}, {2.3, 0, 0, 0, false}), IsEmpty());
  EXPECT_THAT(WrongFields(ParallelSided{6, 20, 2, 1}, {0.25, 0, 25, 0, false}), ElementsAre("liner_mm", "wedge_mm"));
  EXPECT_THAT(WrongFields(ParallelSided{6, 20, 2, 1}, {0, 0, 0, 4, false}), ElementsAre("coating_mm"));
}

}  // namespace
}  // namespace coilwright::slot
