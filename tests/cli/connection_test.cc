#include "connection.h"

#include <gmock/gmock.h>

#include "coilwright/v1/rule_service.pb.h"
#include "coilwright/v1/status.pb.h"
#include "command.h"

namespace coilwright::cli {
namespace {

using testing::HasSubstr;

FieldNamer ByFlag() {
  static const auto* const arguments =
      new absl::StatusOr<Arguments>(Arguments::Parse({"--volts", "0"}, {{"volts", "V", "rated_volts", ""}}));
  return FlagNamer(**arguments);
}

grpc::Status WrongFields(const std::vector<std::pair<std::string, std::string>>& fields) {
  v1::FieldViolations violations;
  for (const auto& [field, description] : fields) {
    auto* violation = violations.add_field_violations();
    violation->set_field(field);
    violation->set_description(description);
  }
  v1::StatusDetails details;
  auto* any = details.add_details();
  any->set_type_url("type.googleapis.com/google.rpc.BadRequest");
  any->set_value(violations.SerializeAsString());
  return {grpc::StatusCode::INVALID_ARGUMENT, "2 wrong fields", details.SerializeAsString()};
}

TEST(ErrorLines, GiveOneLinePerWrongField) {
  const absl::Status status = ErrorLines(WrongFields({{"rated_volts", "got 0 V, accepted: 1 to 15000 V"},
                                                      {"machine.core.slots", "got 0,\naccepted: 3 to 720"}}),
                                         ByFlag(), "");
  EXPECT_EQ(status.message(),
            "--volts (rated_volts): got 0 V, accepted: 1 to 15000 V\nmachine.core.slots: got 0, accepted: 3 to 720");
  EXPECT_EQ(ExitStatus(status), kExitWrongInput);
}

TEST(ErrorLines, SurviveDetailsThatAreNotOurs) {
  const absl::Status status =
      ErrorLines({grpc::StatusCode::INVALID_ARGUMENT, "bad\nrequest", "\x01\xFFgarbage"}, ByFlag(), "");
  EXPECT_EQ(status.message(), "bad request");
}

TEST(ErrorLines, SortCodesByWhoCanHelp) {
  const auto exit = [](grpc::StatusCode code) { return ExitStatus(ErrorLines({code, "x"}, ByFlag(), "")); };
  EXPECT_EQ(exit(grpc::StatusCode::INVALID_ARGUMENT), 2);
  EXPECT_EQ(exit(grpc::StatusCode::NOT_FOUND), 3);
  EXPECT_EQ(exit(grpc::StatusCode::FAILED_PRECONDITION), 3);
  EXPECT_EQ(exit(grpc::StatusCode::UNAVAILABLE), 4);
  EXPECT_EQ(exit(grpc::StatusCode::INTERNAL), 4);
  EXPECT_EQ(exit(grpc::StatusCode::DEADLINE_EXCEEDED), 4);
  EXPECT_EQ(ExitStatus(absl::OkStatus()), 0);
}

TEST(Connection, SaysThatNobodyListens) {
  // Port 1 of loopback (tcpmux, RFC 1078) is served by nothing here.
  Connection connection("127.0.0.1:1", 5, nullptr);
  v1::ListRulesResponse answer;
  const absl::Status status = connection.Call(v1::ListRulesRequest(), &answer, ByFlag());
  EXPECT_THAT(std::string(status.message()), HasSubstr("no answer from 127.0.0.1:1"));
  EXPECT_EQ(ExitStatus(status), kExitServer);
}

TEST(Connection, AServiceThatAnswersIsNotSaidToBeSilent) {
  const std::string message = "reading or writing a.db: disk I/O error";
  v1::StatusDetails details;
  details.set_message(message);
  const grpc::Status answered(grpc::StatusCode::UNAVAILABLE, message, details.SerializeAsString());
  EXPECT_EQ(ErrorLines(answered, ByFlag(), "127.0.0.1:1").message(), message);
  const grpc::Status silent(grpc::StatusCode::UNAVAILABLE, "connection refused");
  EXPECT_EQ(ErrorLines(silent, ByFlag(), "127.0.0.1:1").message(), "no answer from 127.0.0.1:1: connection refused");
}

TEST(Connection, SaysThatItsOwnServiceDidNotStart) {
  Connection connection("", 5, [](const OwnArchive&) { return absl::InternalError("out of threads"); });
  v1::ListRulesResponse answer;
  const absl::Status status = connection.Call(v1::ListRulesRequest(), &answer, ByFlag());
  EXPECT_EQ(status.message(), "out of threads");
  EXPECT_EQ(ExitStatus(status), kExitServer);
}

}  // namespace
}  // namespace coilwright::cli
