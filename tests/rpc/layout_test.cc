// The words of the layout service: fields of errors, what is assumed, what is left out.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "absl/status/statusor.h"
#include "calls/samples.h"
#include "standards/errors.h"

namespace coilwright::rpc {
namespace {

using calls::Parse;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

absl::StatusOr<v1::DescribeLayoutResponse> Describe(const std::string& request) {
  v1::DescribeLayoutResponse response;
  const absl::Status status = DescribeLayout(Parse<v1::DescribeLayoutRequest>(request), &response);
  if (!status.ok()) return status;
  return response;
}

absl::StatusOr<v1::CompareLayoutsResponse> Compare(const std::string& request) {
  v1::CompareLayoutsResponse response;
  const absl::Status status = CompareLayouts(Parse<v1::CompareLayoutsRequest>(request), &response);
  if (!status.ok()) return status;
  return response;
}

std::vector<std::string> Fields(const absl::Status& status) {
  std::vector<std::string> fields;
  for (const auto& error : standards::FieldErrorsOf(status)) fields.push_back(error.field);
  return fields;
}

TEST(DescribeLayout, NamesItsWrongFieldsAsTheContractDoes) {
  EXPECT_THAT(Fields(Describe("").status()), ElementsAre("layout.slots", "layout.poles", "layout.coil_pitch_slots"));
  EXPECT_THAT(Fields(Describe("layout { slots: 36 poles: 5 coil_pitch_slots: 36 }").status()),
              ElementsAre("layout.poles", "layout.coil_pitch_slots"));
  EXPECT_THAT(Fields(Describe("layout { slots: 36 poles: 4 coil_pitch_slots: 8 layers: LAYERS_DOUBLE coil_form: "
                              "COIL_FORM_CHAIN }")
                         .status()),
              ElementsAre("layout.coil_form"));
  EXPECT_THAT(Fields(Describe("layout { slots: 36 poles: 4 coil_pitch_slots: 8 first_slot: 37 }").status()),
              ElementsAre("layout.first_slot"));
  const absl::Status circuits =
      Describe("layout { slots: 36 poles: 4 coil_pitch_slots: 8 } parallel_circuits: 3").status();
  EXPECT_THAT(Fields(circuits), ElementsAre("parallel_circuits"));
  EXPECT_THAT(standards::FieldErrorsOf(circuits)[0].accepted, HasSubstr("1, 2, 4"));
}

TEST(DescribeLayout, SaysWhatItAssumed) {
  const auto tooth = Describe("layout { slots: 12 poles: 10 coil_pitch_slots: 1 }");
  ASSERT_TRUE(tooth.ok()) << tooth.status();
  EXPECT_EQ(tooth->layout().coil_form(), v1::COIL_FORM_TOOTH_COIL);
  EXPECT_EQ(tooth->layout().layers(), v1::LAYERS_DOUBLE);
  EXPECT_EQ(tooth->layout().connection_end(), v1::MACHINE_END_NON_DRIVE);
  EXPECT_EQ(tooth->layout().first_slot(), 1);
  EXPECT_EQ(tooth->connections().connection(), v1::CONNECTION_STAR);
  EXPECT_EQ(tooth->waves(tooth->waves_size() - 1).order(), 17);  // 12 slots and 5 pole pairs
  const auto chain = Describe("layout { slots: 24 poles: 4 coil_pitch_slots: 5 coil_form: COIL_FORM_CHAIN }");
  ASSERT_TRUE(chain.ok()) << chain.status();
  EXPECT_EQ(chain->layout().layers(), v1::LAYERS_SINGLE);
}

// 42/6, seven thirds of a slot per pole and phase, is worked as an example in print with a distribution factor; no
// balanced three-phase winding exists for it.
TEST(DescribeLayout, OfAnUnbalancedPairHoldsTheReasonAndNoLayout) {
  const auto answer = Describe("layout { slots: 42 poles: 6 coil_pitch_slots: 7 }");
  ASSERT_TRUE(answer.ok()) << answer.status();
  EXPECT_FALSE(answer->balanced());
  EXPECT_THAT(answer->reason(), HasSubstr("2 1/3 slots per pole and phase"));
  EXPECT_THAT(answer->neighbours().slots(), ElementsAre(36, 45));
  EXPECT_THAT(answer->neighbours().poles(), ElementsAre(4, 8));
  EXPECT_THAT(answer->coils(), IsEmpty());
  EXPECT_THAT(answer->factors(), IsEmpty());
  EXPECT_FALSE(answer->has_connections());
}

TEST(DescribeLayout, TracesItsOwnConnectionList) {
  const auto answer = Describe(
      "layout { slots: 36 poles: 4 coil_pitch_slots: 8 phase_order: PHASE_ORDER_AGAINST_SLOTS } "
      "connection: CONNECTION_DELTA parallel_circuits: 4");
  ASSERT_TRUE(answer.ok()) << answer.status();
  EXPECT_TRUE(answer->connections().traced_sound());
  ASSERT_EQ(answer->connections().circuits_size(), 12);
  for (const v1::LaidCircuit& circuit : answer->connections().circuits()) {
    EXPECT_EQ(circuit.series_coils(), 3);
    EXPECT_NEAR(circuit.emf_ratio(), 0.945214, 1e-6);  // the factor in print for 36/4, throw 1-9
    const double expected = circuit.phase() == v1::PHASE_U ? 0 : circuit.phase() == v1::PHASE_V ? 240 : 120;
    EXPECT_NEAR(circuit.emf_angle_electrical_degrees(), expected, 1e-9);
  }
  EXPECT_TRUE(answer->rotation().as_iec_60034_8());
}

TEST(DescribeLayout, BringsOutSixLeads) {
  const auto answer =
      Describe("layout { slots: 24 poles: 4 coil_pitch_slots: 5 } connection: CONNECTION_OPEN parallel_circuits: 2");
  ASSERT_TRUE(answer.ok()) << answer.status();
  const auto star = Describe("layout { slots: 24 poles: 4 coil_pitch_slots: 5 } parallel_circuits: 2");
  const v1::ConnectionList& list = answer->connections();
  EXPECT_EQ(list.connection(), v1::CONNECTION_OPEN);
  EXPECT_TRUE(list.traced_sound());
  for (int lead = 0; lead < 3; ++lead) {
    EXPECT_EQ(list.joints(lead).kind(), v1::JOINT_KIND_LEAD);
    EXPECT_EQ(list.joints(3 + lead).kind(), v1::JOINT_KIND_END_LEAD);
    EXPECT_EQ(list.joints(lead).lead(), lead + 1);
    EXPECT_EQ(list.joints(3 + lead).lead(), lead + 1);
    EXPECT_EQ(list.joints(lead).ends_size(), 2);
    EXPECT_EQ(list.joints(3 + lead).ends_size(), 2);
  }
  EXPECT_THAT(answer->notes(), ::testing::Contains(HasSubstr("in delta U1 meets W2")));
  // What the ends are joined to moves no emf: factors and axes are those of the star.
  ASSERT_EQ(answer->factors_size(), star->factors_size());
  for (int i = 0; i < answer->factors_size(); ++i) {
    EXPECT_EQ(answer->factors(i).winding_factor(), star->factors(i).winding_factor());
  }
  for (int i = 0; i < 3; ++i) EXPECT_EQ(answer->axes(i).electrical_degrees(), star->axes(i).electrical_degrees());
}

// A record says how the machine runs.
TEST(DescribeLayout, AloneKnowsAnOpenConnection) {
  v1::PlanRewindRequest request;
  *request.mutable_record() = calls::DemoRecord();
  request.mutable_record()->mutable_winding()->set_connection(v1::CONNECTION_OPEN);
  request.mutable_change()->set_connection(v1::CONNECTION_OPEN);
  v1::PlanRewindResponse plan;
  const absl::Status status = PlanRewind(request, &plan);
  EXPECT_THAT(Fields(status), ElementsAre("record.winding.connection", "change.connection"));
  EXPECT_EQ(standards::FieldErrorsOf(status)[0].given, "CONNECTION_OPEN");
  EXPECT_THAT(standards::FieldErrorsOf(status)[0].accepted, HasSubstr("star_open"));
}

// 24/4, throw 1-6, written down coil by coil in the direction of the current: the answer is that of the pattern.
TEST(DescribeLayout, OfTracedCoilsIsThatOfTheirPattern) {
  const auto pattern = Describe("layout { slots: 24 poles: 4 coil_pitch_slots: 5 } parallel_circuits: 2");
  ASSERT_TRUE(pattern.ok());
  v1::DescribeLayoutRequest request =
      Parse<v1::DescribeLayoutRequest>("layout { slots: 24 poles: 4 } parallel_circuits: 2");
  for (const v1::LaidCoil& laid : pattern->coils()) {
    v1::TracedCoil* coil = request.add_coils();
    coil->set_phase(laid.phase());
    coil->set_go_slot(laid.reversed() ? laid.return_slot() : laid.go_slot());
    coil->set_return_slot(laid.reversed() ? laid.go_slot() : laid.return_slot());
  }
  v1::DescribeLayoutResponse traced;
  ASSERT_TRUE(DescribeLayout(request, &traced).ok());
  EXPECT_EQ(traced.layout().ShortDebugString(),
            "slots: 24 poles: 4 coil_pitch_slots: 5 layers: LAYERS_DOUBLE connection_end: MACHINE_END_NON_DRIVE");
  v1::DescribeLayoutResponse same = *pattern;
  *same.mutable_layout() = traced.layout();
  for (v1::LaidSlot& slot : *same.mutable_slots()) {  // which side lies on top no trace tells
    for (v1::LaidSide& side : *slot.mutable_sides()) side.clear_position();
  }
  EXPECT_EQ(traced.DebugString(), same.DebugString());
}

TEST(DescribeLayout, OfTracedCoilsNamesWhatIsWrong) {
  EXPECT_THAT(Fields(Describe("layout { slots: 6 } coils { phase: PHASE_U go_slot: 1 }").status()),
              ElementsAre("coils[0].return_slot", "layout.poles"));
  EXPECT_THAT(
      Fields(Describe("layout { slots: 6 poles: 3 } coils { phase: PHASE_U go_slot: 1 return_slot: 4 }").status()),
      ElementsAre("layout.poles"));
  EXPECT_THAT(
      Fields(Describe("layout { slots: 6 poles: 2 } coils { phase: PHASE_U go_slot: 1 return_slot: 7 }").status()),
      ElementsAre("coils[0].return_slot"));
  const std::string three =
      "layout { slots: 6 poles: 2 } coils { phase: PHASE_U go_slot: 1 return_slot: 4 } "
      "coils { phase: PHASE_V go_slot: 3 return_slot: 6 } ";
  const std::string good = three + "coils { phase: PHASE_W go_slot: 5 return_slot: 2 }";
  EXPECT_THAT(Fields(Describe(good + "parallel_circuits: 2").status()), ElementsAre("parallel_circuits"));
  const auto turned = Describe(three + "coils { phase: PHASE_W go_slot: 2 return_slot: 5 }");
  ASSERT_TRUE(turned.ok()) << turned.status();
  EXPECT_FALSE(turned->balanced());
  EXPECT_FALSE(turned->has_neighbours());
  EXPECT_THAT(turned->reason(), HasSubstr("W has 1 coil, factor 1.0000, axis at 150.0"));
}

TEST(CompareLayouts, NamesItsWrongFieldsAsTheContractDoes) {
  EXPECT_THAT(Fields(Compare("first { pattern { slots: 24 poles: 4 coil_pitch_slots: 30 } } second { coils { phase: "
                             "PHASE_U go_slot: 1 } }")
                         .status()),
              ElementsAre("first.pattern.coil_pitch_slots", "second.coils[0].return_slot", "second.pattern.slots",
                          "second.pattern.poles"));
  EXPECT_THAT(
      Fields(Compare(R"(first { pattern { slots: 6 poles: 2 } coils { phase: PHASE_U go_slot: 1 return_slot: 7 } }
                                second { pattern { slots: 6 poles: 3 } coils { phase: PHASE_U go_slot: 1 return_slot: 4 } })")
                 .status()),
      ElementsAre("first.coils[0].return_slot", "second.pattern.poles"));
  const absl::Status unbalanced = Compare(R"(first { pattern { slots: 24 poles: 4 coil_pitch_slots: 5 } }
                                             second { pattern { slots: 42 poles: 6 coil_pitch_slots: 7 } })")
                                      .status();
  EXPECT_EQ(unbalanced.code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_THAT(std::string(unbalanced.message()), HasSubstr("the second layout"));
}

TEST(CompareLayouts, TakesATracedWinding) {
  const auto answer = Compare(R"(
    first { pattern { slots: 3 poles: 2 } coils { phase: PHASE_U go_slot: 1 return_slot: 2 }
            coils { phase: PHASE_V go_slot: 2 return_slot: 3 } coils { phase: PHASE_W go_slot: 3 return_slot: 1 } }
    second { pattern { slots: 3 poles: 2 coil_form: COIL_FORM_TOOTH_COIL } })");
  ASSERT_TRUE(answer.ok()) << answer.status();
  EXPECT_TRUE(answer->drop_in() && answer->same_coils() && answer->same_rotation());
  EXPECT_THAT(answer->differences(), IsEmpty());
  EXPECT_THAT(answer->axis_shift_electrical_degrees(), ElementsAre(0, 0, 0));
}

}  // namespace
}  // namespace coilwright::rpc
