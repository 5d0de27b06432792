#pragma once

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/time/time.h"
#include "archive/archive.h"
#include "rpc/call_log.h"
#include "rpc/server.h"

namespace coilwright {

// What is watched. All of it lives longer than the metrics.
struct Watched {
  const rpc::Server* server = nullptr;
  std::shared_ptr<archive::Archive> archive;  // null for none
  std::shared_ptr<rpc::CallLog> log;
  // Certificates by what they are, "server" or "authority", with the end of each.
  std::vector<std::pair<std::string, absl::Time>> certificates;
  std::string version;
};

// Figures for Prometheus at http://HOST:PORT/metrics, in plain text, as long as this lives; the address stays taken
// until the process ends. docs/operations.md lists them.
class Metrics {
 public:
  // Port 0 takes a free one. UNAVAILABLE where the address is taken or cannot be bound.
  static absl::StatusOr<std::unique_ptr<Metrics>> Serve(const std::string& host, int port, Watched watched);
  ~Metrics();
  Metrics(const Metrics&) = delete;
  Metrics& operator=(const Metrics&) = delete;

  int port() const { return port_; }

 private:
  class Collected;
  struct Own;
  Metrics();
  std::unique_ptr<Own> own_;
  int port_ = 0;
};

}  // namespace coilwright
