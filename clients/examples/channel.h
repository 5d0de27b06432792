#pragma once

#include <cstdio>
#include <fstream>
#include <iterator>
#include <memory>
#include <string>

#include "grpcpp/grpcpp.h"

// The channel that the words after the name of an example ask for: HOST:PORT, in plain text; by TLS with --ca FILE, the
// authority of the server's certificate, and --cert FILE --key FILE where the server asks who calls. Null for anything
// else, with a line that says why.
inline std::shared_ptr<grpc::Channel> ChannelAskedFor(int argc, char** argv, const char* usage) {
  std::string address;
  grpc::SslCredentialsOptions tls;
  bool wrong = false;
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    std::string* pem = word == "--ca"     ? &tls.pem_root_certs
                       : word == "--cert" ? &tls.pem_cert_chain
                       : word == "--key"  ? &tls.pem_private_key
                                          : nullptr;
    if (pem != nullptr && i + 1 < argc) {
      std::ifstream file(argv[++i]);
      pem->assign(std::istreambuf_iterator<char>(file), {});
      if (!pem->empty()) continue;
      std::fprintf(stderr, "%s: got %s, which cannot be read, accepted: a file in PEM\n", word.c_str(), argv[i]);
      return nullptr;
    }
    wrong = wrong || word.empty() || word[0] == '-' || !address.empty();
    address = word;
  }
  const bool own = !tls.pem_cert_chain.empty();
  wrong = wrong || address.empty() || own == tls.pem_private_key.empty() || (own && tls.pem_root_certs.empty());
  if (wrong) return std::fprintf(stderr, "usage: %s\n", usage), nullptr;
  return grpc::CreateChannel(
      address, tls.pem_root_certs.empty() ? grpc::InsecureChannelCredentials() : grpc::SslCredentials(tls));
}
