#pragma once

#include <memory>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "flags.h"
#include "grpcpp/grpcpp.h"

namespace coilwright::cli {

// How a server is spoken to: in plain text, by TLS, or by TLS with a certificate of our own.
struct Encryption {
  std::shared_ptr<grpc::ChannelCredentials> credentials = grpc::InsecureChannelCredentials();
  std::string ca;            // the file of --ca; empty: plain text
  bool certificate = false;  // one is shown
  std::string server_name;   // the certificate of the server is for this name; empty: for its address
};

// --ca, --cert, --key and --server-name.
std::vector<Flag> EncryptionFlags();

// Reads what those flags name. INVALID_ARGUMENT where one lacks another or --server, or a file is wrong.
absl::StatusOr<Encryption> ReadEncryption(const Arguments& arguments);

// What may be the matter where a server was not reached and gRPC gave this reason: what each side expected of the
// other. Empty where the reason speaks for itself.
std::string Hint(const Encryption& encryption, const std::string& reason);

}  // namespace coilwright::cli
