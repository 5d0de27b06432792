// The most that a request may ask for, and more than that: each is answered or refused at the cost of a bounded number
// of plans, so that no caller can hold a thread.
#include <gtest/gtest.h>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "calls/cost.h"
#include "calls/samples.h"
#include "calls/walk.h"

namespace coilwright::calls {
namespace {

grpc::Status Costed(const char* method, const Message& request) {
  const std::unique_ptr<Message> answer(Named(method).response->New());
  const double start = ProcessorSeconds();
  const grpc::Status status = Named(method).body(request, answer.get());
  const double plans = (ProcessorSeconds() - start) / PlanSeconds();
  EXPECT_LT(plans, kMostPlans) << method << ": " << status.error_message();
  EXPECT_TRUE(FaultsOf(status, request.GetDescriptor(), *answer).empty()) << status.error_message();
  return status;
}

// A shelf of so many wires between two diameters, no two alike, in every system at once.
v1::WireChoice Shelf(int wires, int most_in_hand, double thinnest_mm, double thickest_mm) {
  v1::WireChoice choice;
  for (int i = 0; i < wires; ++i) {
    const double bare_mm = thinnest_mm + (thickest_mm - thinnest_mm) * i / wires;
    v1::WireSize* wire = choice.add_stock()->mutable_wire();
    wire->mutable_bare_diameter()->set_mm(bare_mm);
    wire->mutable_overall_diameter()->set_mm(bare_mm * 1.08);
  }
  choice.set_most_wires_in_hand(most_in_hand);
  choice.set_most_sizes(3);
  choice.set_best(100);
  choice.set_least_area_ratio(0.5);
  choice.set_greatest_area_ratio(2.0);
  return choice;
}

TEST(GreatestRequests, ShelvesOfTwoHundredAndFiftyWires) {
  for (const auto& [thinnest_mm, thickest_mm] : {std::pair{0.05, 1.3}, {0.5, 0.6}, {0.99, 1.0}, {0.02, 0.05}}) {
    for (const double area_mm2 : {0.0005, 0.01, 0.3, 1.0, 7.0, 20.0, 900.0}) {
      for (const double tolerance : {0.001, 0.01, 0.1}) {
        for (const double fullness : {0.05, 0.4, 1.5}) {
          v1::ChooseStrandsRequest request;
          request.mutable_target_area()->set_mm2(area_mm2);
          *request.mutable_choice() = Shelf(250, 12, thinnest_mm, thickest_mm);
          request.mutable_choice()->set_area_tolerance_ratio(tolerance);
          request.mutable_choice()->set_greatest_fullness_ratio(fullness);
          request.set_slot_net_area_mm2(100);
          request.set_turns_in_slot(40);
          EXPECT_TRUE(Costed("ChooseStrands", request).ok());
        }
      }
    }
  }
}

// Nothing is within reach, so that no early end helps: every wire may be taken once, or the slot is all but full.
TEST(GreatestRequests, ShelvesFromWhichNothingCanBeMade) {
  for (const double fullness : {0.05, 0.7, 1.5}) {
    for (const double area_mm2 : {2.0, 8.0, 12.0, 16.0}) {
      for (const int wires : {100, 250, 500}) {
        const bool once = wires == 250;
        v1::ChooseStrandsRequest request;
        request.mutable_target_area()->set_mm2(area_mm2);
        *request.mutable_choice() = Shelf(wires, 3000 / wires, 0.2, 1.2);
        request.mutable_choice()->set_least_area_ratio(1.0);
        request.mutable_choice()->set_greatest_area_ratio(1.0);
        request.mutable_choice()->set_greatest_fullness_ratio(fullness);
        request.set_slot_net_area_mm2(100);
        request.set_turns_in_slot(5);
        if (once) {
          for (auto& stocked : *request.mutable_choice()->mutable_stock()) stocked.set_length_left_metres(100);
          request.mutable_length_per_strand()->set_metres(60);
        }
        EXPECT_TRUE(Costed("ChooseStrands", request).ok());
      }
    }
  }
}

TEST(GreatestRequests, MoreThanCanBeSearchedInTimeIsRefused) {
  v1::ChooseStrandsRequest request;
  request.mutable_target_area()->set_mm2(1);
  *request.mutable_choice() = Shelf(101, 30, 0.2, 1.2);
  EXPECT_EQ(ViolationsOf(Costed("ChooseStrands", request)).fields,
            std::vector<std::string>{"choice.most_wires_in_hand"});
  request.mutable_choice()->set_most_sizes(2);
  EXPECT_TRUE(Costed("ChooseStrands", request).ok());
  *request.mutable_choice() = Shelf(501, 1, 0.2, 1.2);
  EXPECT_EQ(ViolationsOf(Costed("ChooseStrands", request)).fields, std::vector<std::string>{"choice.stock"});
}

TEST(GreatestRequests, APlanFromAShelfOfTwoHundredAndFiftyWires) {
  v1::PlanRewindRequest request;
  *request.mutable_record() = DemoRecord();
  *request.mutable_wires() = Shelf(250, 12, 0.2, 1.2);
  EXPECT_TRUE(Costed("PlanRewind", request).ok());
}

// 720 groups of 200 coils is all that a reader takes; every one of them wrong in two fields.
TEST(GreatestRequests, AHundredThousandWrongCoils) {
  for (const bool empty : {true, false}) {
    v1::PlanRewindRequest request;
    *request.mutable_record() = DemoRecord();
    for (int g = 0; g < 720; ++g) {
      v1::CoilGroup* group = request.mutable_record()->mutable_winding()->add_groups();
      for (int c = 0; c < 200; ++c) {
        v1::GroupCoil* coil = group->add_coils();
        if (!empty) coil->set_turns(0);
      }
    }
    EXPECT_EQ(Costed("PlanRewind", request).error_code(), grpc::StatusCode::INVALID_ARGUMENT);
  }
}

TEST(GreatestRequests, AMillionReadingsAreRefusedWithoutLookingAtThem) {
  v1::JudgeMegohmsRequest request;
  request.set_rated_volts(400);
  for (int i = 0; i < 1000000; ++i) request.add_readings();
  EXPECT_EQ(Costed("JudgeMegohms", request).error_code(), grpc::StatusCode::INVALID_ARGUMENT);
  for (auto& reading : *request.mutable_readings())
    reading.set_insulation_megohms(std::numeric_limits<double>::quiet_NaN());
  EXPECT_EQ(Costed("JudgeMegohms", request).error_code(), grpc::StatusCode::INVALID_ARGUMENT);
}

TEST(GreatestRequests, FiveHundredReadings) {
  const auto good = GoodRequests("JudgeMegohms").front();
  v1::JudgeMegohmsRequest request;
  request.CopyFrom(*good);
  while (request.readings_size() < 500) *request.add_readings() = request.readings(0);
  EXPECT_TRUE(Costed("JudgeMegohms", request).ok());
  *request.add_readings() = request.readings(0);
  EXPECT_EQ(Costed("JudgeMegohms", request).error_code(), grpc::StatusCode::INVALID_ARGUMENT);
}

// A document costs by its text.
TEST(GreatestRequests, CertificatesOfManyReadingsWithLongNames) {
  v1::MakeTestCertificateRequest request;
  v1::JudgeReadingsRequest* const readings = request.mutable_readings();
  readings->CopyFrom(*GoodRequests("JudgeReadings").front());
  while (readings->readings_size() < 100) *readings->add_readings() = readings->readings(0);
  const auto named = [&](size_t bytes) {
    for (int i = 0; i < readings->readings_size(); ++i)
      readings->mutable_readings(i)->mutable_instrument()->set_name(absl::StrCat(i, " ", std::string(bytes, 'y')));
    return Costed("MakeTestCertificate", request);
  };
  EXPECT_TRUE(named(0).ok());
  EXPECT_TRUE(named(400).ok());
  EXPECT_EQ(ViolationsOf(named(1900)).fields, std::vector<std::string>{"document"});
}

TEST(GreatestRequests, EightCatalogues) {
  v1::PlanRewindRequest request;
  *request.mutable_record() = DemoRecord();
  for (const auto system : {v1::WIRE_SYSTEM_AWG, v1::WIRE_SYSTEM_IEC_R20, v1::WIRE_SYSTEM_IEC_R40, v1::WIRE_SYSTEM_SWG,
                            v1::WIRE_SYSTEM_AWG, v1::WIRE_SYSTEM_IEC_R20, v1::WIRE_SYSTEM_IEC_R40, v1::WIRE_SYSTEM_SWG})
    request.mutable_wires()->add_systems(system);
  request.mutable_wires()->set_most_wires_in_hand(30);
  request.mutable_wires()->set_best(100);
  const grpc::Status status = Costed("PlanRewind", request);
  EXPECT_TRUE(status.ok()) << status.error_message();
}

}  // namespace
}  // namespace coilwright::calls
