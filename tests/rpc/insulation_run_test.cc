// The stream of an insulation run: portions do not matter, wrong items are told one by one, what was read is kept.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "calls/loopback.h"
#include "rpc/methods.h"
#include "rpc/services.h"
#include "simulated/winding.h"
#include "standards/errors.h"

namespace coilwright::calls {
namespace {

using ::testing::ElementsAre;
using ::testing::UnorderedElementsAre;

using RunRequest = v1::RunInsulationTestRequest;
using RunResponse = v1::RunInsulationTestResponse;

void AddSample(double seconds, double megohms, RunRequest* request) {
  v1::InsulationSample* sample = request->add_samples();
  sample->set_seconds(seconds);
  sample->set_test_volts_dc(500);
  sample->set_insulation_megohms(megohms);
  sample->set_winding_celsius(24);
}

RunRequest Opening() {
  RunRequest request;
  request.mutable_setup()->set_rated_volts(400);
  request.mutable_setup()->set_winding_kind(v1::INSULATED_WINDING_KIND_FORM_WOUND);
  return request;
}

RunRequest Readings(double to_seconds) {
  const simulated::Winding winding;
  RunRequest all;
  for (double t = 0.5; t <= to_seconds; ++t) AddSample(t, winding.MegohmsAt(t, 500), &all);
  return all;
}

// The last answer of a run whose samples come so many to a message.
RunResponse Summary(const RunRequest& all, int portion) {
  const auto session = rpc::RunInsulationTest();
  RunRequest request = Opening();
  RunResponse response;
  for (int i = 0; i < all.samples_size(); ++i) {
    *request.add_samples() = all.samples(i);
    if (request.samples_size() < portion && i + 1 < all.samples_size()) continue;
    response.Clear();
    EXPECT_TRUE(session->Take(request, &response).ok());
    EXPECT_EQ(response.samples_taken() + response.samples_refused(), i + 1);
    request.Clear();
  }
  response.Clear();
  EXPECT_TRUE(*session->Finish(&response));
  return response;
}

TEST(RunInsulationTest, PortionsGiveTheSameSummaryToTheByte) {
  const RunRequest all = Readings(620);
  const RunResponse one_by_one = Summary(all, 1);
  EXPECT_TRUE(one_by_one.final());
  EXPECT_EQ(one_by_one.samples_taken(), all.samples_size());
  ASSERT_EQ(one_by_one.marks_size(), 3);
  const simulated::Winding winding;
  for (const v1::InsulationMark& mark : one_by_one.marks())
    EXPECT_NEAR(mark.insulation_megohms() / winding.MegohmsAt(mark.mark_seconds(), 500), 1, 1e-4);
  for (const int portion : {2, 7, 60, 1000})
    EXPECT_EQ(Summary(all, portion).SerializeAsString(), one_by_one.SerializeAsString()) << portion;
}

TEST(RunInsulationTest, WrongItemsAreRefusedOneByOneAndTheRunGoesOn) {
  const auto session = rpc::RunInsulationTest();
  RunRequest request = Opening();
  for (const double seconds : {10.0, 9.0, 10.0, 2e6, std::nan(""), 11.0}) AddSample(seconds, 100, &request);
  AddSample(12, 2e9, &request);
  AddSample(13, 100, &request);
  request.mutable_samples(7)->set_current_microamps(50);
  AddSample(14, 2000, &request);
  request.mutable_samples(8)->set_over_range(true);
  RunResponse response;
  ASSERT_TRUE(*session->Take(request, &response));
  std::vector<int> refused, refusals;
  std::vector<std::string> fields;
  for (const v1::RefusedSample& one : response.refused()) {
    refused.push_back(one.index());
    refusals.push_back(one.refusal());
    EXPECT_EQ(one.status().code(), static_cast<int>(grpc::StatusCode::INVALID_ARGUMENT));
    v1::FieldViolations violations;
    ASSERT_EQ(one.status().details_size(), 1);
    ASSERT_TRUE(violations.ParseFromString(one.status().details(0).value()));
    ASSERT_EQ(violations.field_violations_size(), 1);
    fields.push_back(violations.field_violations(0).field());
  }
  EXPECT_THAT(refused, ElementsAre(1, 2, 3, 4, 6, 7));
  EXPECT_THAT(refusals, ElementsAre(v1::SAMPLE_REFUSAL_OUT_OF_ORDER, v1::SAMPLE_REFUSAL_REPEATED,
                                    v1::SAMPLE_REFUSAL_NOT_A_READING, v1::SAMPLE_REFUSAL_NOT_A_READING,
                                    v1::SAMPLE_REFUSAL_NOT_A_READING, v1::SAMPLE_REFUSAL_CONTRADICTORY));
  EXPECT_THAT(fields,
              ElementsAre("samples[1].seconds", "samples[2].seconds", "samples[3].seconds", "samples[4].seconds",
                          "samples[6].insulation_megohms", "samples[7].insulation_megohms"));
  EXPECT_EQ(response.samples_taken(), 3);
  EXPECT_EQ(response.samples_refused(), 6);
  EXPECT_EQ(response.samples_over_range(), 1);
  EXPECT_TRUE(response.at_least());
  EXPECT_FALSE(response.cautions().empty());
  // A refused one leaves no trace in what comes of the others.
  request.Clear();
  AddSample(15, 100, &request);
  response.Clear();
  ASSERT_TRUE(*session->Take(request, &response));
  EXPECT_EQ(response.last_seconds(), 15);
  EXPECT_TRUE(response.refused().empty());
}

// A ramp to 500 V within 50 s, then a current below what the instrument shows.
TEST(RunInsulationTest, FullVoltageAndTheLeastCurrentGoOverTheWire) {
  RunRequest request = Opening();
  request.mutable_setup()->set_least_current_microamps(0.01);
  for (int i = 1; i <= 115; ++i) {
    v1::InsulationSample* sample = request.add_samples();
    sample->set_seconds(i);
    sample->set_test_volts_dc(std::min(10 * i, 500));
    sample->set_current_microamps(0);
    sample->set_winding_celsius(24);
  }
  const auto session = rpc::RunInsulationTest();
  RunResponse response;
  ASSERT_TRUE(session->Take(request, &response).ok());
  EXPECT_EQ(response.samples_over_range(), 115);
  response.Clear();
  ASSERT_TRUE(*session->Finish(&response));
  EXPECT_EQ(response.full_voltage_at_seconds(), 50);
  ASSERT_EQ(response.marks_size(), 2);
  EXPECT_EQ(response.marks(1).run_seconds(), 110);
  EXPECT_NEAR(response.marks(1).insulation_megohms(), 50000, 1e-6);
  EXPECT_TRUE(response.marks(1).at_least());
  EXPECT_EQ(response.judged().verdict(), v1::MEGOHM_VERDICT_PASS);
  request.mutable_setup()->set_least_current_microamps(0);
  EXPECT_TRUE(absl::IsInvalidArgument(rpc::RunInsulationTest()->Take(request, &response).status()));
}

TEST(RunInsulationTest, AnEarthFaultIsAVerdict) {
  RunRequest all;
  for (int i = 1; i <= 69; ++i) AddSample(i, 0, &all);
  const RunResponse response = Summary(all, 7);
  EXPECT_TRUE(response.stop());
  EXPECT_EQ(response.judged().verdict(), v1::MEGOHM_VERDICT_FAIL);
  EXPECT_THAT(response.judged().reason(), testing::HasSubstr("earth fault"));
}

std::vector<std::string> WrongFields(const absl::Status& status) {
  EXPECT_TRUE(absl::IsInvalidArgument(status)) << status;
  std::vector<std::string> fields;
  for (const standards::FieldError& error : standards::FieldErrorsOf(status)) fields.push_back(error.field);
  return fields;
}

TEST(RunInsulationTest, AWrongSetupNamesItsFields) {
  RunResponse response;
  RunRequest request = Opening();
  request.mutable_setup()->set_rated_volts(-5);
  request.mutable_setup()->set_charge_seconds(100);
  request.mutable_setup()->mutable_instrument()->set_uncertainty_ratio(2);
  request.mutable_setup()->set_test_volts_dc(std::nan(""));
  EXPECT_THAT(WrongFields(rpc::RunInsulationTest()->Take(request, &response).status()),
              UnorderedElementsAre("setup.rated_volts", "setup.charge_seconds", "setup.instrument.uncertainty_ratio",
                                   "setup.test_volts_dc"));
  request.Clear();
  AddSample(1, 100, &request);
  EXPECT_THAT(WrongFields(rpc::RunInsulationTest()->Take(request, &response).status()), ElementsAre("setup"));
  const auto session = rpc::RunInsulationTest();
  ASSERT_TRUE(session->Take(Opening(), &response).ok());
  EXPECT_THAT(WrongFields(session->Take(Opening(), &response).status()), ElementsAre("setup"));
}

// Over a socket: the message that ends the stream does not cost what was read before it.
TEST(RunInsulationTest, BreakingOffKeepsWhatItHad) {
  const Loopback loopback;
  const auto stub = v1::InsulationRunService::NewStub(loopback.channel());
  grpc::ClientContext context;
  const auto stream = stub->RunInsulationTest(&context);
  RunResponse response;
  ASSERT_TRUE(stream->Write(Opening()) && stream->Read(&response));
  ASSERT_TRUE(stream->Write(Readings(200)) && stream->Read(&response));
  EXPECT_EQ(response.marks_size(), 2);
  EXPECT_TRUE(response.has_forecast());
  ASSERT_TRUE(stream->Write(Readings(1200)));
  ASSERT_TRUE(stream->Read(&response));
  EXPECT_TRUE(response.final());
  EXPECT_EQ(response.samples_taken(), 200);
  EXPECT_EQ(response.marks_size(), 2);
  EXPECT_TRUE(response.has_fit() && response.has_judged() && response.absorption_ratio().has_value());
  EXPECT_NEAR(response.discharge_seconds(), 4 * response.last_seconds(), 1e-9);
  EXPECT_FALSE(stream->Read(&response));
  EXPECT_EQ(stream->Finish().error_code(), grpc::StatusCode::INVALID_ARGUMENT);
}

}  // namespace
}  // namespace coilwright::calls
