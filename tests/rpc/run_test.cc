// The guards around every body: an exception in a gRPC handler reaches the client as UNIMPLEMENTED, so none may leave.
#include <gmock/gmock.h>

#include <limits>
#include <new>
#include <stdexcept>

#include "calls/walk.h"
#include "rpc/call.h"
#include "rpc/methods.h"

namespace coilwright::rpc {
namespace {

using calls::ViolationsOf;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

using Request = v1::GetTestLimitsRequest;
using Response = v1::GetTestLimitsResponse;

grpc::Status RunOn(Method<Request, Response> method, const Request& request = {}) {
  Response response;
  return Run(method, request, &response);
}

TEST(Run, GivesWhatTheBodySays) {
  EXPECT_TRUE(RunOn([](const Request&, Response*) { return absl::OkStatus(); }).ok());
  const grpc::Status status =
      RunOn([](const Request&, Response*) -> absl::Status { return absl::FailedPreconditionError("no rule reaches"); });
  EXPECT_EQ(status.error_code(), grpc::StatusCode::FAILED_PRECONDITION);
  EXPECT_EQ(status.error_message(), "no rule reaches");
}

TEST(Run, HoldsExceptionsBack) {
  const grpc::Status thrown =
      RunOn([](const Request&, Response*) -> absl::Status { throw std::runtime_error("left the table"); });
  EXPECT_EQ(thrown.error_code(), grpc::StatusCode::UNKNOWN);
  EXPECT_THAT(thrown.error_message(), HasSubstr("left the table"));
  EXPECT_EQ(RunOn([](const Request&, Response*) -> absl::Status { throw std::bad_alloc(); }).error_code(),
            grpc::StatusCode::RESOURCE_EXHAUSTED);
  EXPECT_EQ(RunOn([](const Request&, Response*) -> absl::Status { throw 42; }).error_code(), grpc::StatusCode::UNKNOWN);
}

TEST(Run, RefusesUnreadableNumbersWhateverTheBodySays) {
  Request request;
  request.set_rated_volts(std::numeric_limits<double>::quiet_NaN());
  request.mutable_rated_power()->set_hp(std::numeric_limits<double>::infinity());
  request.set_winding_kind(static_cast<v1::InsulatedWindingKind>(77));
  const grpc::Status status = RunOn([](const Request&, Response*) { return absl::OkStatus(); }, request);
  EXPECT_EQ(status.error_code(), grpc::StatusCode::INVALID_ARGUMENT);
  EXPECT_THAT(ViolationsOf(status).fields, ElementsAre("rated_volts", "rated_power.hp", "winding_kind"));
}

TEST(Run, SaysAtOnceWhatCannotBeReadAndWhatTheBodyFound) {
  Request request;
  request.set_rated_volts(std::numeric_limits<double>::quiet_NaN());
  const grpc::Status status = RunOn(
      [](const Request&, Response*) { return standards::InvalidField("built_year", "1066", "1880 to 2200"); }, request);
  EXPECT_THAT(ViolationsOf(status).fields, ElementsAre("rated_volts", "built_year"));
}

}  // namespace
}  // namespace coilwright::rpc
