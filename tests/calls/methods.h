#pragma once

#include <memory>
#include <ostream>
#include <string>
#include <vector>

#include "google/protobuf/message.h"
#include "grpcpp/grpcpp.h"
#include "rpc/archive_methods.h"
#include "rpc/methods.h"

namespace coilwright::calls {

using google::protobuf::Message;

// A method of the contract without its types, so that one test can walk them all.
struct AnyMethod {
  std::string name;
  const Message* request;  // prototypes
  const Message* response;
  bool archived;                                                    // answers from the archive of the tests
  grpc::Status (*body)(const Message& request, Message* response);  // as the server runs it, without a socket
  grpc::Status (*stub)(const std::shared_ptr<grpc::Channel>& channel, grpc::ClientContext* context,
                       const Message& request, Message* response);  // through the generated stub
};

// Names the tests that run once per method.
inline void PrintTo(const AnyMethod& method, std::ostream* out) { *out << method.name; }

// All of them; a test holds the list against the descriptors.
const std::vector<AnyMethod>& Methods();
const AnyMethod& Named(const std::string& name);

}  // namespace coilwright::calls
