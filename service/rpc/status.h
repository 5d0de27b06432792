#pragma once

#include "absl/status/status.h"
#include "grpcpp/support/status.h"

namespace coilwright::rpc {

// The one place that makes a grpc::Status. Wrong fields become google.rpc.BadRequest violations inside a
// google.rpc.Status in the details trailer. A client drops trailers above about 8 KiB and then reports something else,
// so the message is cut at 512 bytes, the violations at 20 ("and N more") and the details at 3 KiB.
grpc::Status ToGrpcStatus(const absl::Status& status);

}  // namespace coilwright::rpc
