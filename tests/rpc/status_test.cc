// The one place that makes a status: what it caps, and that standard tooling reads it. Trailers above about 8 KiB are
// dropped by clients (gRPC 1.51, GRPC_ARG_MAX_METADATA_SIZE), who then report something else.
#include "rpc/status.h"

#include <gmock/gmock.h>

#include "absl/strings/str_cat.h"
#include "calls/walk.h"
#include "rpc/reader.h"
#include "standards/errors.h"

namespace coilwright::rpc {
namespace {

using calls::Violations;
using calls::ViolationsOf;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

std::vector<standards::FieldError> Errors(int count, const std::string& given) {
  std::vector<standards::FieldError> errors;
  for (int i = 0; i < count; ++i) errors.push_back({absl::StrCat("f", i), given, "more than 0 mm"});
  return errors;
}

v1::StatusDetails DetailsOf(const grpc::Status& status) {
  v1::StatusDetails details;
  EXPECT_TRUE(details.ParseFromString(status.error_details()));
  return details;
}

TEST(Status, OkIsOk) { EXPECT_TRUE(ToGrpcStatus(absl::OkStatus()).ok()); }

TEST(Status, CodeAndMessageCarryOver) {
  const grpc::Status status = ToGrpcStatus(absl::NotFoundError("no rule \"x\""));
  EXPECT_EQ(status.error_code(), grpc::StatusCode::NOT_FOUND);
  EXPECT_EQ(status.error_message(), "no rule \"x\"");
  EXPECT_EQ(DetailsOf(status).code(), 5);  // google.rpc.Code.NOT_FOUND
  EXPECT_EQ(DetailsOf(status).message(), "no rule \"x\"");
  EXPECT_THAT(DetailsOf(status).details(), IsEmpty());
}

TEST(Status, AWrongFieldIsAViolation) {
  const grpc::Status status = ToGrpcStatus(standards::InvalidField("a.b[2]", "-3 mm", "more than 0 mm"));
  const Violations violations = ViolationsOf(status);
  EXPECT_THAT(violations.fields, ElementsAre("a.b[2]"));
  EXPECT_THAT(violations.descriptions, ElementsAre("got -3 mm, accepted: more than 0 mm"));
  EXPECT_EQ(violations.more, "");
}

// The wire format of google.rpc.Status and BadRequest, byte by byte, as googleapis/rpc/status.proto and
// error_details.proto number their fields: code 1, details 3; Any type_url 1, value 2; violations 1; field 1,
// description 2.
TEST(Status, DetailsHaveTheBytesOfGoogleRpcStatus) {
  const grpc::Status status = ToGrpcStatus(standards::InvalidField("f", "1", "2"));
  const std::string violation = std::string("\x0a\x01") + "f" + "\x12\x12" + "got 1, accepted: 2";
  const std::string bad_request = std::string("\x0a\x17") + violation;
  const std::string url = "type.googleapis.com/google.rpc.BadRequest";
  const std::string any = std::string("\x0a\x29") + url + "\x12\x19" + bad_request;
  const std::string message = "f: got 1, accepted: 2";
  EXPECT_EQ(status.error_details(), std::string("\x08\x03\x12\x15") + message + "\x1a\x46" + any);
}

TEST(Status, TwentyAreListedAndTheRestCounted) {
  EXPECT_THAT(ViolationsOf(ToGrpcStatus(standards::InvalidFields(Errors(20, "0 mm")))).fields, SizeIs(20));
  EXPECT_EQ(ViolationsOf(ToGrpcStatus(standards::InvalidFields(Errors(20, "0 mm")))).more, "");
  const Violations of_21 = ViolationsOf(ToGrpcStatus(standards::InvalidFields(Errors(21, "0 mm"))));
  EXPECT_THAT(of_21.fields, SizeIs(20));
  EXPECT_EQ(of_21.more, "and 1 more");
  EXPECT_EQ(ViolationsOf(ToGrpcStatus(standards::InvalidFields(Errors(100, "0 mm")))).more, "and 80 more");
}

TEST(Status, LongTextsAreCutAndNothingExceedsItsCap) {
  for (const int count : {1, 10, 20, 100, 1000}) {
    for (const std::string& given : {std::string(50, 'x'), std::string(10000, 'x'), std::string(9999, '\n')}) {
      const grpc::Status status = ToGrpcStatus(standards::InvalidFields(Errors(count, given)));
      EXPECT_LE(status.error_message().size(), 512u);
      EXPECT_LE(status.error_details().size(), 3072u);
      const Violations violations = ViolationsOf(status);
      ASSERT_FALSE(violations.fields.empty());
      const int listed = static_cast<int>(violations.fields.size());
      EXPECT_EQ(violations.more, listed == count ? "" : absl::StrCat("and ", count - listed, " more"));
    }
  }
}

// A string field of a message must be UTF-8: a letter cut in half makes the whole of the details unreadable.
TEST(Status, LettersAreNeverCutInHalf) {
  for (int shift = 0; shift < 4; ++shift) {
    std::string text(static_cast<size_t>(shift), 'x');
    for (int i = 0; i < 400; ++i) text += "\xf0\x9f\x94\xa7";  // four bytes a letter
    const grpc::Status status = ToGrpcStatus(standards::InvalidField("f", text, text));
    EXPECT_THAT(ViolationsOf(status).fields, ElementsAre("f")) << shift;
    DetailsOf(ToGrpcStatus(absl::NotFoundError(text)));
  }
}

TEST(Status, SeparatorsInWhatWasGivenDoNotMakeMoreViolations) {
  const grpc::Status status = ToGrpcStatus(standards::InvalidField("f",
                                                                   "a\x1e"
                                                                   "b\x1f"
                                                                   "c\x1e",
                                                                   "d"));
  EXPECT_THAT(ViolationsOf(status).fields, ElementsAre("f"));
  EXPECT_THAT(ViolationsOf(status).descriptions, ElementsAre(HasSubstr("a b c")));
}

}  // namespace
}  // namespace coilwright::rpc
