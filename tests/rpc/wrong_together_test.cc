// Fields that are wrong together: every one is named in one answer, and a plate that contradicts itself is told which
// of its figures do.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calls/loopback.h"
#include "calls/samples.h"
#include "calls/walk.h"

namespace coilwright::calls {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::IsEmpty;
using ::testing::UnorderedElementsAre;

class WrongTogether : public ::testing::Test {
 protected:
  WrongTogether() { *demo_.mutable_record() = DemoRecord(); }

  std::vector<std::string> Refused(const v1::PlanRewindRequest& request) {
    v1::PlanRewindResponse plan;
    const grpc::Status status = loopback_.Call(Named("PlanRewind"), request, &plan);
    EXPECT_EQ(status.error_code(), grpc::StatusCode::INVALID_ARGUMENT) << status.error_message();
    EXPECT_THAT(FaultsOf(status, request.GetDescriptor(), plan), IsEmpty());
    return ViolationsOf(status).fields;
  }
  v1::Nameplate& Plate(v1::PlanRewindRequest& request) {
    return *request.mutable_record()->mutable_machine()->mutable_nameplate();
  }

  Loopback loopback_;
  v1::PlanRewindRequest demo_;
  v1::PlanRewindRequest induction_ = Parse<v1::PlanRewindRequest>(kInduction);
};

TEST_F(WrongTogether, FiveWrongFieldsAreFiveViolations) {
  Plate(demo_).set_rated_volts(-5);
  demo_.mutable_record()->mutable_machine()->mutable_core()->set_slots(0);
  demo_.mutable_record()->mutable_winding()->set_turns_per_coil(0);
  demo_.mutable_record()->mutable_winding()->mutable_strands(0)->mutable_wire()->set_designation("AWG 99 heavy");
  demo_.mutable_settings()->set_waste_share(3);
  EXPECT_THAT(Refused(demo_),
              UnorderedElementsAre("record.machine.nameplate.rated_volts", "record.machine.core.slots",
                                   "record.winding.turns_per_coil", "record.winding.strands[0].wire.designation",
                                   "settings.waste_share"));
}

TEST_F(WrongTogether, OddPoles) {
  Plate(demo_).set_poles(7);
  EXPECT_THAT(Refused(demo_), Contains("record.machine.nameplate.poles"));
}

TEST_F(WrongTogether, PolesBesidePolePairs) {
  Plate(demo_).set_pole_pairs(8);
  EXPECT_THAT(Refused(demo_), ElementsAre("record.machine.nameplate.pole_pairs"));
}

// 50 Hz and four poles: 1500 rpm is synchronous, where no induction motor has torque.
TEST_F(WrongTogether, SpeedAtAndAboveSynchronous) {
  for (const double rpm : {1500.0, 1560.0}) {
    Plate(induction_).set_speed_rpm(rpm);
    EXPECT_THAT(Refused(induction_), Contains("record.machine.nameplate.speed_rpm")) << rpm;
  }
}

// Eight poles at 3000 rpm have 200 Hz.
TEST_F(WrongTogether, FrequencyOfAMagnetMachineBesideItsSpeed) {
  Plate(demo_).set_frequency_hz(150);
  EXPECT_THAT(Refused(demo_), ElementsAre("record.machine.nameplate.speed_rpm"));
  Plate(demo_).set_frequency_hz(200);
  v1::PlanRewindResponse plan;
  EXPECT_TRUE(loopback_.Call(Named("PlanRewind"), demo_, &plan).ok());
}

// 20 Nm at 1430 rpm is 3.0 kW, not the 4 hp times 2 of a plate misread.
TEST_F(WrongTogether, PowerBesideTorqueAndSpeed) {
  Plate(induction_).mutable_rated_power()->set_hp(8);
  EXPECT_THAT(Refused(induction_), ElementsAre("record.machine.nameplate.rated_power"));
}

TEST_F(WrongTogether, PeakAmperesThatAreNotTheRootOfTwoTimesRms) {
  Plate(demo_).set_line_amps_peak(5.4);
  EXPECT_THAT(Refused(demo_), ElementsAre("record.machine.nameplate.line_amps_peak"));
}

// 50 V per 1000 rpm line to line rms is 0.827 Nm/A: sqrt(3) * 50 / 104.72.
TEST_F(WrongTogether, TorqueConstantBesideVoltageConstant) {
  Plate(demo_).set_torque_constant_nm_per_arms(0.48);
  EXPECT_THAT(Refused(demo_), ElementsAre("record.machine.nameplate.torque_constant_nm_per_arms"));
  Plate(demo_).set_torque_constant_nm_per_arms(0.827);
  v1::PlanRewindResponse plan;
  EXPECT_TRUE(loopback_.Call(Named("PlanRewind"), demo_, &plan).ok());
}

TEST_F(WrongTogether, KindsThatAreNotPlannedYetAreNamed) {
  demo_.mutable_record()->mutable_machine()->set_kind(v1::MACHINE_KIND_DC_ARMATURE);
  EXPECT_THAT(Refused(demo_), ElementsAre("record.machine.kind"));
}

// Ten slots cannot be shared by three phases.
TEST_F(WrongTogether, PatternsThatCannotBeBalancedAreNoWrongField) {
  demo_.mutable_record()->mutable_machine()->mutable_core()->set_slots(10);
  demo_.mutable_record()->mutable_machine()->mutable_core()->mutable_tooth_width()->set_mm(8);
  v1::PlanRewindResponse plan;
  const grpc::Status status = loopback_.Call(Named("PlanRewind"), demo_, &plan);
  EXPECT_EQ(status.error_code(), grpc::StatusCode::FAILED_PRECONDITION) << status.error_message();
}

TEST_F(WrongTogether, ChangesThatNeedLessThanHalfATurnOrMoreThanARecordHolds) {
  induction_.mutable_record()->mutable_winding()->set_turns_per_coil(1);
  induction_.mutable_change()->set_rated_volts(10);
  EXPECT_THAT(Refused(induction_), ElementsAre("change"));
  induction_.mutable_record()->mutable_winding()->set_turns_per_coil(5000);
  induction_.mutable_change()->set_rated_volts(4000);
  EXPECT_THAT(Refused(induction_), ElementsAre("change"));
}

}  // namespace
}  // namespace coilwright::calls
