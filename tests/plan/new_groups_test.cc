// Concentric groups for new coils where nobody gives them. Factors by hand: sum of T sin(90 y / tau) over the sum of T.
#include <gmock/gmock.h>

#include <cmath>

#include "plan/machines.h"
#include "plan/random_machine.h"

namespace coilwright::plan {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;
using winding::CoilForm;
using winding::Layers;

Record Concentric(int slots, int poles, Layers layers, std::vector<CoilGroup> groups) {
  Record record = OnAnotherStator(slots, poles);
  record.winding.layers = layers;
  record.winding.form = CoilForm::kConcentric;
  record.winding.coil_pitch.reset();
  record.winding.turns_per_coil.reset();
  record.winding.groups = std::move(groups);
  return record;
}

// Made up: 36 slots, 4 poles, spans 6, 8 and 10.
Record Unequal() { return Concentric(36, 4, Layers::kDouble, {{{{6, 8}, {8, 14}, {10, 17}}, 12}}); }

std::vector<int> Spans(const CoilGroup& group) {
  std::vector<int> spans;
  for (const GroupCoil& coil : group.coils) spans.push_back(coil.span_slots);
  return spans;
}

std::vector<int> Turns(const CoilGroup& group) {
  std::vector<int> turns;
  for (const GroupCoil& coil : group.coils) turns.push_back(coil.turns);
  return turns;
}

double Sine(double spans_over_pole_pitch) { return std::sin(kPi / 2 * spans_over_pole_pitch); }

TEST(NewGroups, KeepTheRatioOfTurnsWhereTheGroupKeepsItsCoils) {
  Change change;
  change.coil_pitch = 7;
  const TurnsPlan turns = TurnsOf(Unequal(), change);
  ASSERT_EQ(turns.groups.size(), 1U);
  EXPECT_EQ(turns.groups[0].count, 12);
  EXPECT_THAT(Spans(turns.groups[0]), ElementsAre(5, 7, 9));
  const double was = 8 * Sine(6.0 / 9) + 14 * Sine(8.0 / 9) + 17 * Sine(10.0 / 9);
  const double is = 8 * Sine(5.0 / 9) + 14 * Sine(7.0 / 9) + 17 * Sine(9.0 / 9);
  EXPECT_NEAR(turns.exact_turns_per_coil, 13 * was / is, 1e-9);
  EXPECT_THAT(Turns(turns.groups[0]), ElementsAre(8, 14, 18)) << "8.26, 14.45 and 17.55 exactly";
  EXPECT_NEAR(turns.rounding_ratio, 1, 0.01);
  EXPECT_THAT(turns.notes, Contains(HasSubstr("spans 5/7/9 slots, turns in the recorded ratio 8/14/17")));
}

TEST(NewGroups, OfTheRecordedPitchAreTheRecordedOnes) {
  Change change;
  change.coil_pitch = 8;
  const TurnsPlan turns = TurnsOf(Unequal(), change);
  EXPECT_NEAR(turns.exact_turns_per_coil, 13, 1e-9);
  ASSERT_EQ(turns.groups.size(), 1U);
  EXPECT_THAT(Spans(turns.groups[0]), ElementsAre(6, 8, 10));
  EXPECT_THAT(Turns(turns.groups[0]), ElementsAre(8, 14, 17));
  EXPECT_NEAR(turns.rounding_ratio, 1, 1e-12);
}

// However the recorded coils are written down, the inner one is the one that spans least.
TEST(NewGroups, GoByTheSpansOfTheRecordedCoils) {
  Change change;
  change.coil_pitch = 7;
  const Record outer_first = Concentric(36, 4, Layers::kDouble, {{{{10, 17}, {8, 14}, {6, 8}}, 12}});
  EXPECT_THAT(Turns(TurnsOf(outer_first, change).groups[0]), ElementsAre(8, 14, 18));
}

// 36/4 has three slots per pole and phase, 36/6 two: nothing says how two coils share the turns of three.
TEST(NewGroups, OfAnotherNumberOfCoilsHaveEqualTurns) {
  Change change;
  change.poles = 6;
  change.coil_pitch = 5;
  const TurnsPlan turns = TurnsOf(Unequal(), change);
  ASSERT_EQ(turns.groups.size(), 1U);
  EXPECT_EQ(turns.groups[0].count, 18);
  EXPECT_THAT(Spans(turns.groups[0]), ElementsAre(4, 6));
  // The air gap holds: 4/6 of the flux of a pole.
  const double was = (8 * Sine(6.0 / 9) + 14 * Sine(8.0 / 9) + 17 * Sine(10.0 / 9)) / 39;
  const double is = (Sine(4.0 / 6) + Sine(6.0 / 6)) / 2;
  EXPECT_NEAR(turns.exact_turns_per_coil, 13 * was / is * 6 / 4, 1e-9);
  EXPECT_LE(std::abs(turns.groups[0].coils[0].turns - turns.groups[0].coils[1].turns), 1);
  EXPECT_THAT(turns.notes, Contains(HasSubstr("equal turns, as no recorded groups of as many coils")));
}

// One layer joins a whole belt of three slots in a group per pole pair, two layers in one per pole: the coils of a
// group stay three, the machine has half as many groups.
TEST(NewGroups, CarryTheirTurnsFromTwoLayersToOne) {
  Change change;
  change.layers = Layers::kSingle;
  change.coil_pitch = 9;
  const TurnsPlan turns = TurnsOf(Unequal(), change);
  ASSERT_EQ(turns.groups.size(), 1U);
  EXPECT_EQ(turns.groups[0].count, 6);
  EXPECT_THAT(Spans(turns.groups[0]), ElementsAre(7, 9, 11));
  const double was = 8 * Sine(6.0 / 9) + 14 * Sine(8.0 / 9) + 17 * Sine(10.0 / 9);
  const double is = 8 * Sine(7.0 / 9) + 14 * Sine(9.0 / 9) + 17 * Sine(11.0 / 9);
  EXPECT_NEAR(turns.exact_turns_per_coil, 13 * 2 * was / is, 1e-9);
  EXPECT_THAT(turns.notes, Contains(HasSubstr("recorded ratio 8/14/17")));
}

// 30 slots and 4 poles, two and a half slots per pole and phase: groups of three and of two coils in turn, each with
// the turns of its like.
TEST(NewGroups, OfBothSizesOfAFractionalWindingCarryTheirOwn) {
  Change change;
  change.coil_pitch = 6;
  const Record record = Concentric(30, 4, Layers::kDouble, {{{{5, 18}, {7, 20}, {9, 22}}, 6}, {{{6, 21}, {8, 23}}, 6}});
  const RewindPlan plan = PlanOf(record, change);
  std::vector<std::vector<int>> spans;
  for (const CoilGroup& group : plan.turns.groups) spans.push_back(Spans(group));
  EXPECT_THAT(spans, ::testing::UnorderedElementsAre(ElementsAre(4, 6, 8), ElementsAre(5, 7)));
  EXPECT_THAT(plan.turns.notes, Contains(HasSubstr("18/20/22")));
  EXPECT_THAT(plan.turns.notes, Contains(HasSubstr("21/23")));
}

TEST(NewGroups, OfUnlikeRecordedGroupsHaveEqualTurns) {
  Change change;
  change.coil_pitch = 7;
  const Record record =
      Concentric(36, 4, Layers::kDouble, {{{{6, 8}, {8, 14}, {10, 17}}, 6}, {{{6, 7}, {8, 15}, {10, 17}}, 6}});
  EXPECT_THAT(TurnsOf(record, change).notes, Contains(HasSubstr("equal turns, as no recorded groups")));
}

TEST(NewGroups, OfALapWindingHaveItsEqualTurns) {
  Change change;
  change.form = CoilForm::kConcentric;
  const TurnsPlan turns = TurnsOf(InductionMotor(), change);
  EXPECT_THAT(turns.notes, Contains(HasSubstr("spans 6/8/10 slots, equal turns. Give groups")));
  change.groups = {{{{6, 8}, {8, 14}, {10, 17}}, 12}};
  EXPECT_THAT(TurnsOf(InductionMotor(), change).notes, Not(Contains(HasSubstr("not given"))));
}

}  // namespace
}  // namespace coilwright::plan
