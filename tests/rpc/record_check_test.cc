// The record check over a real socket: what it answers, and that a plan carries it.
#include <gmock/gmock.h>

#include "calls/loopback.h"
#include "calls/samples.h"
#include "calls/walk.h"

namespace coilwright::calls {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

class RecordCheckCall : public ::testing::Test {
 protected:
  v1::RecordCheck CheckOf(const v1::CheckRecordRequest& request) {
    v1::CheckRecordResponse answer;
    const grpc::Status status = loopback_.Call(Named("CheckRecord"), request, &answer);
    EXPECT_TRUE(status.ok()) << status.error_message();
    return answer.check();
  }
  Loopback loopback_;
};

TEST_F(RecordCheckCall, CallsTheDemoSoundAndASlipByItsName) {
  v1::CheckRecordRequest request;
  *request.mutable_record() = DemoRecord();
  const v1::RecordCheck sound = CheckOf(request);
  EXPECT_EQ(sound.verdict(), v1::CHECK_VERDICT_SOUND);
  EXPECT_EQ(sound.moment(), v1::CHECK_MOMENT_CUT);
  EXPECT_FALSE(sound.has_next());

  request.mutable_record()->mutable_winding()->set_turns_per_coil(70);
  request.mutable_record()->clear_evidence();
  const v1::RecordCheck wrong = CheckOf(request);
  EXPECT_EQ(wrong.verdict(), v1::CHECK_VERDICT_EXPLAINED);
  ASSERT_EQ(wrong.explanations(0).corrections_size(), 1);
  EXPECT_EQ(wrong.explanations(0).corrections(0).slip(), "turns_doubled");
  EXPECT_EQ(wrong.explanations(0).corrections(0).should_read(), "35");
  EXPECT_GE(wrong.explanations(0).group_probability(), wrong.explanations(0).probability());
  EXPECT_TRUE(wrong.has_next());
  EXPECT_THAT(wrong.may_be_destroyed_next(), HasSubstr("nothing"));
}

// A value counted three times is doubted less: not by counts of something else.
TEST_F(RecordCheckCall, RefusesCountsThatContradictWhatTheyAreFor) {
  const auto status_of = [&](int turns, const std::vector<double>& counts) {
    v1::CheckRecordRequest request;
    *request.mutable_record() = DemoRecord();
    request.mutable_record()->mutable_winding()->set_turns_per_coil(turns);
    request.mutable_record()->clear_evidence();
    v1::FieldEvidence* evidence = request.mutable_record()->add_evidence();
    evidence->set_field("winding.turns_per_coil");
    for (const double count : counts) evidence->add_repeats(count);
    v1::CheckRecordResponse answer;
    return loopback_.Call(Named("CheckRecord"), request, &answer);
  };
  EXPECT_TRUE(status_of(35, {35, 35, 36}).ok());
  EXPECT_TRUE(status_of(35, {}).ok());
  for (const auto& counts : std::vector<std::vector<double>>{{70, 70, 70}, {35, 70, 18}, {33, 33, 33}}) {
    const grpc::Status refused = status_of(35, counts);
    EXPECT_EQ(refused.error_code(), grpc::StatusCode::INVALID_ARGUMENT);
    EXPECT_THAT(ViolationsOf(refused).fields, ::testing::ElementsAre("record.evidence[0].repeats"));
  }
}

// Every field a correction names is one of the contract, and probabilities are shares.
TEST_F(RecordCheckCall, NamesFieldsOfTheContract) {
  for (const auto& good : GoodRequests("CheckRecord")) {
    const v1::RecordCheck check = CheckOf(static_cast<const v1::CheckRecordRequest&>(*good));
    double sum = check.unexplained_probability();
    const auto expect_path = [](const v1::Correction& c) {
      EXPECT_TRUE(PathExists(v1::WindingRecord::descriptor(), c.field())) << c.field();
      EXPECT_NE(c.recorded(), c.should_read()) << c.slip();
    };
    for (const v1::Explanation& e : check.explanations()) {
      sum += e.probability();
      EXPECT_EQ(e.agreements_size(), check.agreements_size());
      for (const v1::Correction& c : e.corrections()) expect_path(c);
    }
    for (const v1::Correction& c : check.unseen()) expect_path(c);
    EXPECT_LE(sum, 1 + 1e-9);
  }
}

TEST_F(RecordCheckCall, TakesARecordThatIsNotCountedYet) {
  v1::CheckRecordRequest request;
  *request.mutable_record() = DemoRecord();
  request.mutable_record()->mutable_winding()->clear_turns_per_coil();
  request.mutable_record()->mutable_winding()->clear_strands();
  const v1::RecordCheck check = CheckOf(request);
  EXPECT_EQ(check.moment(), v1::CHECK_MOMENT_INTACT);
  EXPECT_EQ(check.verdict(), v1::CHECK_VERDICT_UNDECIDED);
  EXPECT_THAT(check.agreements(), Not(IsEmpty()));
}

TEST_F(RecordCheckCall, StandsInThePlanAndDoesNotDependOnItsChange) {
  v1::PlanRewindRequest request = static_cast<const v1::PlanRewindRequest&>(*GoodRequests("PlanRewind")[0]);
  request.mutable_record()->mutable_winding()->set_connection(v1::CONNECTION_DELTA);
  v1::PlanRewindResponse plan, changed;
  ASSERT_TRUE(loopback_.Call(Named("PlanRewind"), request, &plan).ok());
  EXPECT_EQ(plan.record_check().verdict(), v1::CHECK_VERDICT_EXPLAINED);
  EXPECT_EQ(plan.record_check().explanations(0).corrections(0).field(), "winding.connection");
  request.mutable_change()->set_rated_volts(400);
  ASSERT_TRUE(loopback_.Call(Named("PlanRewind"), request, &changed).ok());
  EXPECT_EQ(changed.record_check().SerializeAsString(), plan.record_check().SerializeAsString());
}

}  // namespace
}  // namespace coilwright::calls
