#include "encryption.h"

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/time/clock.h"
#include "pem.h"

namespace coilwright::cli {

std::vector<Flag> EncryptionFlags() {
  return {{"ca", "FILE", "", "speak TLS with the server, whose certificate is of an authority in this file (PEM)"},
          {"cert", "FILE", "", "the certificate that this client shows, those of its issuers after it (PEM)"},
          {"key", "FILE", "", "its private key (PEM)"},
          {"server-name", "NAME", "", "name in the certificate of the server, where it is not that of its address"}};
}

absl::StatusOr<Encryption> ReadEncryption(const Arguments& arguments) {
  Encryption read;
  constexpr struct {
    const char* flag;
    const char* other;
  } kNeeds[] = {{"ca", "server"}, {"cert", "key"}, {"key", "cert"}, {"cert", "ca"}, {"server-name", "ca"}};
  for (const auto& [flag, other] : kNeeds) {
    if (!arguments.Has(flag)) continue;
    if (arguments.Text(flag).empty())
      return absl::InvalidArgumentError(absl::StrCat("--", flag, ": got nothing, accepted: a value"));
    if (!arguments.Has(other)) {
      return absl::InvalidArgumentError(
          absl::StrCat("--", flag, " without --", other, ", accepted: both (--ca turns TLS with a --server on)"));
    }
  }
  if (!arguments.Has("ca")) return read;
  read.ca = arguments.Text("ca");
  read.server_name = arguments.Text("server-name");
  const absl::Time now = absl::Now();
  grpc::SslCredentialsOptions options;
  const auto authorities = ReadPem("--ca", read.ca);
  if (!authorities.ok()) return authorities.status();
  if (const auto checked = CheckAuthorities(*authorities, now); !checked.ok()) return checked.status();
  options.pem_root_certs = authorities->text;
  if (arguments.Has("cert")) {
    read.certificate = true;
    const auto chain = ReadPem("--cert", arguments.Text("cert"));
    if (!chain.ok()) return chain.status();
    const auto key = ReadPem("--key", arguments.Text("key"));
    if (!key.ok()) return key.status();
    if (const auto checked = CheckIdentity(*chain, *key, CertificateOf::kClient, now); !checked.ok())
      return checked.status();
    options.pem_cert_chain = chain->text;
    options.pem_private_key = key->text;
  }
  read.credentials = grpc::SslCredentials(options);
  return read;
}

std::string Hint(const Encryption& encryption, const std::string& reason) {
  const bool closed = absl::StrContains(reason, "Socket closed") || absl::StrContains(reason, "Connection reset");
  if (encryption.ca.empty()) {
    return closed ? "it hung up at once: if it speaks TLS, say so with --ca FILE, the authority of its certificate"
                  : "";
  }
  if (absl::StrContains(reason, "wrong version number"))
    return "it does not speak TLS: leave --ca, --cert and --key out, if it is meant to be in plain text";
  if (absl::StrContains(reason, "handshake failed")) {
    return absl::StrCat("its certificate is not of an authority in ", encryption.ca,
                        ", or not valid at this time of this machine's clock");
  }
  if (absl::StrContains(reason, "not in peer certificate"))
    return "its certificate is for another name: reach it by that one, or give it with --server-name NAME";
  if (!closed) return "";
  return encryption.certificate
             ? "it hung up: the certificate of --cert is not of an authority it takes, or not valid at its clock"
             : "it hung up: if it wants a client certificate, give one with --cert FILE and --key FILE";
}

}  // namespace coilwright::cli
