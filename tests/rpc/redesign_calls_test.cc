// A changed winding and a reconnection as a client sees them.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "calls/samples.h"

namespace coilwright::calls {
namespace {

using testing::HasSubstr;

v1::PlanRewindRequest ToRedesign() {
  v1::PlanRewindRequest request = Parse<v1::PlanRewindRequest>(kInduction);
  request.mutable_record()->mutable_machine()->mutable_slot()->mutable_depth()->set_mm(16);
  request.mutable_wires()->set_most_sizes(1);
  request.mutable_wires()->set_best(3);
  return request;
}

grpc::Status Ask(const v1::PlanRewindRequest& request, v1::PlanRewindResponse* plan) {
  return Named("PlanRewind").body(request, plan);
}

// 36/4, throw 1-9 to 1-8: turns with the chord factors sin 80 and sin 70, the same distribution.
TEST(RedesignCalls, AnotherPitch) {
  v1::PlanRewindRequest request = ToRedesign();
  request.mutable_change()->set_coil_pitch_slots(7);
  v1::PlanRewindResponse plan;
  ASSERT_TRUE(Ask(request, &plan).ok());
  const double degree = std::acos(-1.0) / 180;
  EXPECT_NEAR(plan.turns().exact_turns_per_coil(), 19 * std::sin(80 * degree) / std::sin(70 * degree), 1e-9);
  EXPECT_EQ(plan.pattern().throw_text(), "1-9");
  EXPECT_EQ(plan.pattern_planned().throw_text(), "1-8");
  EXPECT_NEAR(plan.turns().flux_ratio(), plan.turns().exact_turns_per_coil() / plan.turns().turns_per_coil(), 1e-12);
  EXPECT_LT(plan.mean_turn_planned_metres().nominal(), plan.mean_turn_metres().nominal());
  EXPECT_THAT(plan.mean_turn_planned_method(), HasSubstr("measured on the old coils"));
  EXPECT_GE(plan.findings_planned_size(), 4);
}

TEST(RedesignCalls, AlternatingTurnsAreOfferedAndTaken) {
  v1::PlanRewindRequest request = ToRedesign();
  request.mutable_change()->set_rated_volts(400 * 19.33 / 19);  // a third of a turn more
  v1::PlanRewindResponse offered, taken;
  ASSERT_TRUE(Ask(request, &offered).ok());
  EXPECT_EQ(offered.turns().turns_per_coil(), 19);
  ASSERT_TRUE(offered.turns().has_alternating());
  const v1::CoilGroup& group = offered.turns().alternating().groups(0);
  EXPECT_EQ(group.count(), 12);
  ASSERT_EQ(group.coils_size(), 3);
  EXPECT_EQ(group.coils(0).turns() + group.coils(1).turns() + group.coils(2).turns(), 58);
  EXPECT_EQ(group.coils(1).turns(), 20) << "in the middle, so that the axis stays";
  request.mutable_change()->set_alternating_turns(true);
  ASSERT_TRUE(Ask(request, &taken).ok());
  EXPECT_EQ(taken.turns().turns_per_coil(), 0);
  EXPECT_EQ(taken.turns().groups(0).DebugString(), group.DebugString());
  EXPECT_LT(std::abs(taken.turns().rounding_ratio() - 1), std::abs(offered.turns().rounding_ratio() - 1));
}

TEST(RedesignCalls, NothingPlannedAnewWhereNothingChanges) {
  v1::PlanRewindResponse plan;
  ASSERT_TRUE(Ask(ToRedesign(), &plan).ok());
  EXPECT_FALSE(plan.has_pattern_planned());
  EXPECT_FALSE(plan.has_mean_turn_planned_metres());
  EXPECT_EQ(plan.findings_planned_size(), 0);
  EXPECT_EQ(plan.turns().flux_ratio(), 1);
}

TEST(RedesignCalls, RefusalsNameTheirFields) {
  v1::PlanRewindRequest magnets;
  *magnets.mutable_record() = DemoRecord();
  magnets.mutable_change()->set_poles(8);
  v1::PlanRewindResponse plan;
  grpc::Status status = Ask(magnets, &plan);
  EXPECT_EQ(status.error_code(), grpc::StatusCode::INVALID_ARGUMENT);
  EXPECT_THAT(status.error_message(), HasSubstr("change.poles"));
  v1::PlanRewindRequest uneven = ToRedesign();
  uneven.mutable_change()->set_poles(18);
  uneven.mutable_change()->set_coil_pitch_slots(2);
  status = Ask(uneven, &plan);
  EXPECT_EQ(status.error_code(), grpc::StatusCode::FAILED_PRECONDITION);
  EXPECT_THAT(status.error_message(), HasSubstr("as changed, no balanced three-phase winding"));
}

TEST(RedesignCalls, ReconnectionsAreSortedAndNameTheirRule) {
  v1::ListReconnectionsRequest request;
  *request.mutable_record() = ToRedesign().record();
  v1::ListReconnectionsResponse answer;
  ASSERT_TRUE(Named("ListReconnections").body(request, &answer).ok());
  ASSERT_EQ(answer.reconnections_size(), 6);
  double before = 0;
  int recorded = 0;
  for (const v1::Reconnection& way : answer.reconnections()) {
    EXPECT_GT(way.rated_volts(), before);
    before = way.rated_volts();
    recorded += way.as_recorded();
    EXPECT_FALSE(way.has_wanted_volts_ratio());
    const double line = way.connection() == v1::CONNECTION_STAR ? 1 : std::sqrt(3.0);
    EXPECT_NEAR(way.rated_volts(), 400 / line / way.parallel_circuits(), 1e-9);
  }
  EXPECT_EQ(recorded, 1);
  bool named = false;
  for (const v1::RuleUse& use : answer.rule_uses()) named = named || use.rule() == "plan.reconnection";
  EXPECT_TRUE(named);
  request.clear_record();
  EXPECT_EQ(Named("ListReconnections").body(request, &answer).error_code(), grpc::StatusCode::INVALID_ARGUMENT);
}

}  // namespace
}  // namespace coilwright::calls
