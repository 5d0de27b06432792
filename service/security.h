#pragma once

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/time/time.h"
#include "grpcpp/grpcpp.h"
#include "rpc/access.h"

namespace coilwright {

// What the flags of coilwrightd say about who may listen in and who may call; empty names: not given.
struct SecurityFlags {
  std::string host;
  std::string tls_cert;
  std::string tls_key;
  std::string tls_client_ca;
  std::string roles;
  bool plain_text_beyond_loopback = false;
};

struct Security {
  std::shared_ptr<grpc::ServerCredentials> credentials;  // null: plain text
  std::shared_ptr<const rpc::Access> access;             // null: everybody may call everything
  std::vector<std::pair<std::string, absl::Time>> ends;  // of the certificates: "server", "authority"
  std::vector<std::string> says;                         // for the start, one line each
  std::vector<std::string> warnings;
};

// Reads and checks what the flags name. INVALID_ARGUMENT where a flag lacks another, a file is wrong (see pem.h and
// rpc::Access::Make), or plain text would leave this machine unasked.
absl::StatusOr<Security> ReadSecurity(const SecurityFlags& flags, absl::Time now);

// Whether only this machine can reach a server that listens there.
bool IsLoopback(const std::string& host);

}  // namespace coilwright
