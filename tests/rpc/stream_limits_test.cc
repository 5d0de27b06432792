// Limits for machine after machine: each answer is what the unary call gives, to the byte, and a wrong machine stops
// nobody.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calls/loopback.h"
#include "calls/samples.h"
#include "calls/walk.h"
#include "rpc/methods.h"
#include "rpc/services.h"

namespace coilwright::calls {
namespace {

using ::testing::ElementsAre;

// Good, odd and wrong ones.
std::vector<v1::GetTestLimitsRequest> Machines() {
  std::vector<v1::GetTestLimitsRequest> machines;
  for (const auto& good : GoodRequests("GetTestLimits"))
    machines.push_back(static_cast<const v1::GetTestLimitsRequest&>(*good));
  for (const double rated_volts : {0.0, 24.0, 230.0, 690.0, 13800.0, 1e6, std::numeric_limits<double>::quiet_NaN()}) {
    for (int family = v1::STANDARD_FAMILY_UNSPECIFIED; family <= v1::StandardFamily_MAX + 1; ++family) {
      v1::GetTestLimitsRequest machine;
      machine.set_rated_volts(rated_volts);
      machine.mutable_choice()->set_family(static_cast<v1::StandardFamily>(family));
      machines.push_back(machine);
    }
  }
  machines.emplace_back();
  return machines;
}

TEST(StreamTestLimits, EachAnswerIsThatOfTheUnaryCallToTheByte) {
  const std::vector<v1::GetTestLimitsRequest> machines = Machines();
  v1::StreamTestLimitsRequest request;
  for (const auto& machine : machines) *request.add_machines()->mutable_limits() = machine;
  for (int i = 0; i < request.machines_size(); ++i) request.mutable_machines(i)->set_label(absl::StrCat("m", i));
  const auto session = rpc::StreamTestLimits();
  int right = 0, wrong = 0;
  for (int times = 0; times < 3; ++times) {
    v1::StreamTestLimitsResponse response;
    const auto answered = session->Take(request, &response);
    ASSERT_TRUE(answered.ok() && *answered);
    ASSERT_EQ(response.answers_size(), request.machines_size());
    for (int i = 0; i < response.answers_size(); ++i) {
      const auto& answer = response.answers(i);
      EXPECT_EQ(answer.label(), absl::StrCat("m", i));
      v1::GetTestLimitsResponse unary;
      const grpc::Status status = Named("GetTestLimits").body(machines[static_cast<size_t>(i)], &unary);
      if (status.ok()) {
        ++right;
        EXPECT_EQ(answer.limits().SerializeAsString(), unary.SerializeAsString());
      } else {
        ++wrong;
        v1::StatusDetails trailer;
        ASSERT_TRUE(trailer.ParseFromString(status.error_details()));
        EXPECT_EQ(answer.status().code(), static_cast<int>(status.error_code()));
        EXPECT_EQ(answer.status().message(), status.error_message());
        ASSERT_EQ(answer.status().details_size(), trailer.details_size());
        for (int d = 0; d < trailer.details_size(); ++d)
          EXPECT_EQ(answer.status().details(d).SerializeAsString(), trailer.details(d).SerializeAsString());
      }
    }
  }
  EXPECT_GT(right, 30);
  EXPECT_GT(wrong, 30);
}

TEST(StreamTestLimits, AWrongMachineIsToldAndTheStreamGoesOn) {
  const Loopback loopback;
  const auto stub = v1::TestLimitService::NewStub(loopback.channel());
  grpc::ClientContext context;
  const auto stream = stub->StreamTestLimits(&context);
  v1::StreamTestLimitsRequest request;
  for (const double rated_volts : {400.0, -5.0, 230.0})
    request.add_machines()->mutable_limits()->set_rated_volts(rated_volts);
  request.add_machines()->set_label(std::string(201, 'x'));
  for (int times = 0; times < 2; ++times) {
    ASSERT_TRUE(stream->Write(request));
    v1::StreamTestLimitsResponse response;
    ASSERT_TRUE(stream->Read(&response));
    ASSERT_EQ(response.answers_size(), 4);
    EXPECT_TRUE(response.answers(0).has_limits());
    EXPECT_TRUE(response.answers(2).has_limits());
    const auto& status = response.answers(1).status();
    const grpc::Status as_call(static_cast<grpc::StatusCode>(status.code()), status.message(),
                               status.SerializeAsString());
    EXPECT_EQ(as_call.error_code(), grpc::StatusCode::INVALID_ARGUMENT);
    EXPECT_THAT(ViolationsOf(as_call).fields, ElementsAre("rated_volts"));
    EXPECT_EQ(response.answers(3).status().code(), static_cast<int>(grpc::StatusCode::INVALID_ARGUMENT));
    EXPECT_EQ(response.answers(3).label(), "");
  }
  stream->WritesDone();
  EXPECT_TRUE(stream->Finish().ok());
}

TEST(StreamTestLimits, AMessageHoldsOneTo256Machines) {
  const auto session = rpc::StreamTestLimits();
  v1::StreamTestLimitsRequest request;
  v1::StreamTestLimitsResponse response;
  EXPECT_TRUE(absl::IsInvalidArgument(session->Take(request, &response).status()));
  for (int i = 0; i < 256; ++i) request.add_machines()->mutable_limits()->set_rated_volts(400);
  EXPECT_TRUE(session->Take(request, &response).ok());
  request.add_machines();
  response.Clear();
  EXPECT_TRUE(absl::IsInvalidArgument(session->Take(request, &response).status()));
}

}  // namespace
}  // namespace coilwright::calls
