#pragma once

#include "absl/status/status.h"
#include "absl/strings/string_view.h"
#include "coilwright/v1/status.pb.h"
#include "grpcpp/support/status.h"

namespace coilwright::rpc {

// The one place that makes a grpc::Status. Wrong fields become google.rpc.BadRequest violations inside a
// google.rpc.Status in the details trailer. A client drops trailers above about 8 KiB and then reports something else,
// so the message is cut at 512 bytes, the violations at 20 ("and N more") and the details at 3 KiB.
grpc::Status ToGrpcStatus(const absl::Status& status);

// The same for one of many things in an OK answer: a google.rpc.Status with the violations in its details, under the
// same caps.
v1::StatusDetails DetailsOf(const absl::Status& status);

// "INVALID_ARGUMENT", as the documentation of gRPC writes it.
absl::string_view NameOf(grpc::StatusCode code);

}  // namespace coilwright::rpc
