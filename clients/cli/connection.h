#pragma once

#include <functional>
#include <memory>
#include <string>

#include "absl/status/statusor.h"
#include "encryption.h"
#include "flags.h"
#include "google/protobuf/message.h"
#include "grpcpp/grpcpp.h"

namespace coilwright::cli {

// Starts a service in this process, with or without an archive, in place of one started before, and gives a channel to
// it.
struct OwnArchive {
  bool kept = false;
  bool may_make = false;  // where there is none yet
};
using OwnService = std::function<absl::StatusOr<std::shared_ptr<grpc::Channel>>(const OwnArchive& archive)>;

// What a person calls a field of the request: the flag that set it, the line of the file it stands in, or its path.
using FieldNamer = std::function<std::string(const std::string& field)>;

// "--volts (rated_volts)" for a field that a flag sets, else its path.
FieldNamer FlagNamer(const Arguments& arguments);

// The service a command asks: at an address, or in this process. Nothing is opened before the first call, and no
// archive before the first call of a method that needs one.
class Connection {
 public:
  Connection(std::string server, double deadline_seconds, OwnService own_service, Encryption encryption = {})
      : server_(std::move(server)),
        deadline_seconds_(deadline_seconds),
        own_service_(std::move(own_service)),
        encryption_(std::move(encryption)) {}

  // Calls the method of the contract that takes this request; every method has a request type of its own.
  // Errors: see ErrorLines. UNIMPLEMENTED where no method takes it.
  absl::Status Call(const google::protobuf::Message& request, google::protobuf::Message* answer,
                    const FieldNamer& name);
  absl::Status Call(const google::protobuf::MethodDescriptor& method, const google::protobuf::Message& request,
                    google::protobuf::Message* answer, const FieldNamer& name);

  // Likewise for a method that writes. Tried again where nobody answered or the service was too busy, until the
  // deadline or five times, always with one request id (made here where the request has none) so that it is applied
  // once. An error after which nobody knows whether it was applied says how to find out.
  absl::Status Write(google::protobuf::Message* request, google::protobuf::Message* answer, const FieldNamer& name);

  // For a stream: the channel all calls use, opened on first use.
  absl::StatusOr<std::shared_ptr<grpc::Channel>> Channel() { return Channel({}); }
  // Lets this command make an archive where its service in this process finds none. Methods that write something new
  // into one may do so by themselves; whoever only reads or changes has mistyped the name of the file.
  void MayMakeArchive() { may_make_archive_ = true; }
  // ErrorLines of this connection, with a hint where the two sides may not speak the same way.
  absl::Status Told(const grpc::Status& error, const FieldNamer& name) const;

 private:
  absl::StatusOr<std::shared_ptr<grpc::Channel>> Channel(OwnArchive archive);
  absl::Status CallFor(double seconds, const google::protobuf::MethodDescriptor& method,
                       const google::protobuf::Message& request, google::protobuf::Message* answer,
                       const FieldNamer& name);

  std::string server_;
  double deadline_seconds_;
  OwnService own_service_;
  Encryption encryption_;
  std::shared_ptr<grpc::Channel> channel_;
  bool keeps_archive_ = false;
  bool may_make_archive_ = false;
};

// An error of the service as text, one line per wrong field: "--volts (rated_volts): got 0 V, accepted: ...".
// The code is kept; a server that cannot be reached is named by `server`.
absl::Status ErrorLines(const grpc::Status& error, const FieldNamer& name, const std::string& server);

}  // namespace coilwright::cli
