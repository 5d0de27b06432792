#pragma once

#include <memory>
#include <string>

#include "google/protobuf/descriptor.h"
#include "grpcpp/grpcpp.h"
#include "nlohmann/json.hpp"

// Requests and the answers they must have, in JSON, that the suites of all clients run: <Service>.<Method>.json beside
// this file. README.md there says what they look like.
namespace coilwright::golden {

using Json = nlohmann::ordered_json;

// A case anew: what was asked, as it stands, and what the service at the channel answers today.
Json Played(const std::shared_ptr<grpc::Channel>& channel, const google::protobuf::MethodDescriptor& method,
            const Json& asked);

// Where two values differ first, with both, or "". Numbers are equal within a relative 1e-9: the last digits are the
// compiler's.
std::string DifferenceOf(const Json& expected, const Json& actual);

}  // namespace coilwright::golden
