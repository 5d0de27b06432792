#include "rpc/status.h"

#include <algorithm>
#include <iterator>
#include <string>

#include "absl/strings/str_cat.h"
#include "coilwright/v1/status.pb.h"
#include "standards/errors.h"

namespace coilwright::rpc {
namespace {

constexpr size_t kMessageBytes = 512;
constexpr size_t kDetailBytes = 3072;
constexpr size_t kViolations = 20;
constexpr size_t kFieldBytes = 200;

// Cuts at a character boundary of UTF-8 and marks the cut.
std::string Cut(absl::string_view text, size_t bytes) {
  if (text.size() <= bytes) return std::string(text);
  size_t end = bytes - 3;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0) == 0x80) --end;
  return absl::StrCat(text.substr(0, end), "...");
}

v1::FieldViolations ViolationsOf(const std::vector<standards::FieldError>& errors) {
  v1::FieldViolations violations;
  size_t bytes = 0;
  for (const standards::FieldError& error : errors) {
    const std::string field = Cut(error.field, kFieldBytes);
    const std::string description =
        absl::StrCat("got ", Cut(error.given, kFieldBytes), ", accepted: ", Cut(error.accepted, kFieldBytes));
    bytes += field.size() + description.size() + 8;
    const size_t shown = static_cast<size_t>(violations.field_violations_size());
    if (shown == kViolations || bytes > kDetailBytes - 256) {
      auto* more = violations.add_field_violations();
      more->set_description(absl::StrCat("and ", errors.size() - shown, " more"));
      break;
    }
    auto* violation = violations.add_field_violations();
    violation->set_field(field);
    violation->set_description(description);
  }
  return violations;
}

}  // namespace

v1::StatusDetails DetailsOf(const absl::Status& status) {
  v1::StatusDetails details;
  details.set_code(static_cast<int>(status.code()));
  details.set_message(Cut(status.message(), kMessageBytes));
  if (const std::vector<standards::FieldError> errors = standards::FieldErrorsOf(status); !errors.empty()) {
    google::protobuf::Any* any = details.add_details();
    any->set_type_url("type.googleapis.com/google.rpc.BadRequest");
    ViolationsOf(errors).SerializeToString(any->mutable_value());
  }
  return details;
}

grpc::Status ToGrpcStatus(const absl::Status& status) {
  if (status.ok()) return grpc::Status::OK;
  v1::StatusDetails details = DetailsOf(status);
  const std::string message = details.message();
  // The message is in the trailer twice otherwise.
  if (details.details_size() > 0) details.set_message(Cut(message, 128));
  return grpc::Status(static_cast<grpc::StatusCode>(status.code()), message, details.SerializeAsString());
}

absl::string_view NameOf(grpc::StatusCode code) {
  constexpr absl::string_view kNames[] = {
      "OK",        "CANCELLED",      "UNKNOWN",           "INVALID_ARGUMENT",   "DEADLINE_EXCEEDED",
      "NOT_FOUND", "ALREADY_EXISTS", "PERMISSION_DENIED", "RESOURCE_EXHAUSTED", "FAILED_PRECONDITION",
      "ABORTED",   "OUT_OF_RANGE",   "UNIMPLEMENTED",     "INTERNAL",           "UNAVAILABLE",
      "DATA_LOSS", "UNAUTHENTICATED"};
  const auto number = static_cast<size_t>(code);
  return number < std::size(kNames) ? kNames[number] : "UNKNOWN";
}

}  // namespace coilwright::rpc
