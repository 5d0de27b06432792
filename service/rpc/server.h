#pragma once

#include <chrono>
#include <memory>
#include <string>

#include "absl/status/statusor.h"
#include "archive/archive.h"
#include "grpcpp/grpcpp.h"

namespace coilwright::v1 {
class SettingsFile;
}

namespace coilwright::rpc {

class Access;
class CallLog;
struct ServerFigures;

struct ServerOptions {
  std::string host = "127.0.0.1";  // loopback unless told otherwise
  int port = 0;                    // 0: a free port, see Server::port()
  bool listen = true;              // false: in this process only
  // How the listener speaks; null: plain text. With `access`, credentials that verify client certificates.
  std::shared_ptr<grpc::ServerCredentials> credentials;
  // Who may call what; null: everybody everything. Health and reflection are left to the credentials.
  std::shared_ptr<const Access> access;
  // Where calls are logged; null: nowhere.
  std::shared_ptr<CallLog> log;
  int greatest_message_bytes = 4 << 20;
  int most_streams = 512;  // open at once, of all methods
  std::chrono::milliseconds stream_idle = std::chrono::hours(1);
  // The shop's own settings, read in Start; null: none. They hold for the process: the server started last sets them.
  const v1::SettingsFile* settings = nullptr;
  // Null: none is kept, and the calls that need one say so. Kept as long as the server.
  std::shared_ptr<archive::Archive> archive;
};

// All services of the contract with health and reflection, listening or in-process.
class Server {
 public:
  // UNAVAILABLE when the address is taken or cannot be bound, or gRPC does not take the credentials, INVALID_ARGUMENT
  // for a port outside 0..65535 and for wrong settings, every field of them.
  static absl::StatusOr<std::unique_ptr<Server>> Start(const ServerOptions& options);
  ~Server();

  int port() const { return port_; }
  // A channel to this server that crosses no socket.
  std::shared_ptr<grpc::Channel> InProcessChannel();
  // Streams open now.
  int open_streams() const;
  // What it has done and what waits, for whoever watches; see figures.h.
  ServerFigures Figures() const;
  // Stops taking calls (health says NOT_SERVING), lets running ones finish until the deadline, then ends streams with
  // UNAVAILABLE and cancels what is left.
  void Shutdown(std::chrono::milliseconds grace);

 private:
  struct Services;
  explicit Server(const ServerOptions& options);
  std::unique_ptr<Services> services_;
  std::unique_ptr<grpc::Server> server_;
  int port_ = 0;
};

}  // namespace coilwright::rpc
