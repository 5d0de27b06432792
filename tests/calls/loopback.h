#pragma once

#include <chrono>
#include <memory>
#include <string>

#include "absl/strings/str_cat.h"
#include "calls/methods.h"
#include "calls/test_archive.h"
#include "rpc/server.h"

namespace coilwright::calls {

// Options of a server that keeps the archive of the tests.
inline rpc::ServerOptions WithTestArchive() {
  rpc::ServerOptions options;
  options.archive = TestArchive();
  return options;
}

// A server on a free port of loopback and a channel of its own to it.
class Loopback {
 public:
  explicit Loopback(const rpc::ServerOptions& options = {})
      : server_(*rpc::Server::Start(options)), channel_(NewChannel()) {}

  // Channels with equal arguments share one connection; each of these has its own.
  std::shared_ptr<grpc::Channel> NewChannel(grpc::ChannelArguments arguments = {}) const {
    arguments.SetInt(GRPC_ARG_USE_LOCAL_SUBCHANNEL_POOL, 1);
    return grpc::CreateCustomChannel(absl::StrCat("127.0.0.1:", server_->port()), grpc::InsecureChannelCredentials(),
                                     arguments);
  }

  grpc::Status Call(const AnyMethod& method, const Message& request, Message* response) const {
    grpc::ClientContext context;
    context.set_deadline(std::chrono::system_clock::now() + std::chrono::seconds(60));
    return method.stub(channel_, &context, request, response);
  }

  rpc::Server& server() { return *server_; }
  const std::shared_ptr<grpc::Channel>& channel() const { return channel_; }

 private:
  std::unique_ptr<rpc::Server> server_;
  std::shared_ptr<grpc::Channel> channel_;
};

}  // namespace coilwright::calls
