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
