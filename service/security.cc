#include "security.h"

#include <utility>

#include "absl/strings/str_cat.h"
#include "coilwright/v1/roles_file.pb.h"
#include "grpcpp/security/server_credentials.h"
#include "json_file.h"
#include "pem.h"

namespace coilwright {
namespace {

// A certificate is renewed before this.
constexpr absl::Duration kSoon = absl::Hours(24 * 30);

absl::Status CheckFlags(const SecurityFlags& flags) {
  const auto needs = [](const char* flag, const std::string& given, const char* other, const std::string& beside,
                        const char* why) {
    if (given.empty() || !beside.empty()) return absl::OkStatus();
    return absl::InvalidArgumentError(absl::StrCat(flag, ": got ", given, " without ", other, ", ", why));
  };
  constexpr char kPair[] = "accepted: both, the certificate of this server and its private key";
  constexpr char kNobodyToAsk[] = "accepted: together with TLS";
  for (absl::Status wrong :
       {needs("--tls_cert", flags.tls_cert, "--tls_key", flags.tls_key, kPair),
        needs("--tls_key", flags.tls_key, "--tls_cert", flags.tls_cert, kPair),
        needs("--tls_client_ca", flags.tls_client_ca, "--tls_cert and --tls_key", flags.tls_cert, kNobodyToAsk),
        needs("--roles", flags.roles, "--tls_client_ca", flags.tls_client_ca,
              "accepted: together with it, for roles belong to client certificates")}) {
    if (!wrong.ok()) return wrong;
  }
  if (flags.tls_cert.empty() && !IsLoopback(flags.host) && !flags.plain_text_beyond_loopback) {
    return absl::InvalidArgumentError(absl::StrCat(
        "--host: got ", flags.host,
        " in plain text, accepted: 127.0.0.1, TLS by --tls_cert and --tls_key with --tls_client_ca to say who may "
        "call, or --plain_text_beyond_loopback on a network where everybody may read and write everything"));
  }
  return absl::OkStatus();
}

absl::StatusOr<std::shared_ptr<const rpc::Access>> ReadRoles(const std::string& name, Security* security) {
  if (name.empty()) {
    security->says.emplace_back("every client with such a certificate may do everything; --roles says who may do what");
    return rpc::Access::Make(nullptr);
  }
  v1::RolesFile roles;
  const auto source = ReadJsonFile(name, &roles);
  if (!source.ok()) return source.status();
  auto access = rpc::Access::Make(&roles);
  if (!access.ok()) return Placed(*source, access.status());
  security->says.push_back(absl::StrCat("gives roles to clients by ", name, ", ", roles.clients_size(),
                                        roles.clients_size() == 1 ? " entry" : " entries",
                                        "; a certificate that is not listed may do nothing"));
  return access;
}

}  // namespace

bool IsLoopback(const std::string& host) {
  const bool number = host.find_first_not_of("0123456789.") == std::string::npos;
  return (number && host.rfind("127.", 0) == 0) || host == "localhost" || host == "[::1]" || host == "::1";
}

absl::StatusOr<Security> ReadSecurity(const SecurityFlags& flags, absl::Time now) {
  if (absl::Status wrong = CheckFlags(flags); !wrong.ok()) return wrong;
  Security security;
  const bool beyond = !IsLoopback(flags.host);
  if (flags.tls_cert.empty()) {
    if (beyond) {
      security.warnings.push_back(absl::StrCat("listening on ", flags.host,
                                               " in plain text: whoever is on this network may read and write "
                                               "everything"));
    }
    return security;
  }
  const auto chain = ReadPem("--tls_cert", flags.tls_cert);
  if (!chain.ok()) return chain.status();
  const auto key = ReadPem("--tls_key", flags.tls_key);
  if (!key.ok()) return key.status();
  const auto own = CheckIdentity(*chain, *key, CertificateOf::kServer, now);
  if (!own.ok()) return own.status();
  security.says.push_back(absl::StrCat("speaks TLS as ", own->says()));
  security.ends.emplace_back("server", own->ends);
  if (own->ends < now + kSoon)
    security.warnings.push_back(absl::StrCat("--tls_cert: ", flags.tls_cert, " expires in less than 30 days"));
  if (OthersMayRead(flags.tls_key)) {
    security.warnings.push_back(
        absl::StrCat("--tls_key: everybody on this machine may read ", flags.tls_key, "; chmod o-r keeps it secret"));
  }
  grpc::SslServerCredentialsOptions options(flags.tls_client_ca.empty()
                                                ? GRPC_SSL_DONT_REQUEST_CLIENT_CERTIFICATE
                                                : GRPC_SSL_REQUEST_AND_REQUIRE_CLIENT_CERTIFICATE_AND_VERIFY);
  options.pem_key_cert_pairs.push_back({key->text, chain->text});
  if (flags.tls_client_ca.empty()) {
    if (beyond) {
      security.warnings.push_back(absl::StrCat("listening on ", flags.host,
                                               " without --tls_client_ca: whoever reaches it may read and write "
                                               "everything"));
    }
  } else {
    const auto authorities = ReadPem("--tls_client_ca", flags.tls_client_ca);
    if (!authorities.ok()) return authorities.status();
    const auto told = CheckAuthorities(*authorities, now);
    if (!told.ok()) return told.status();
    for (const Certificate& authority : *told) {
      security.says.push_back(absl::StrCat("takes client certificates of ", authority.says()));
      security.ends.emplace_back("authority", authority.ends);
    }
    options.pem_root_certs = authorities->text;
    auto access = ReadRoles(flags.roles, &security);
    if (!access.ok()) return access.status();
    security.access = *std::move(access);
  }
  security.credentials = grpc::SslServerCredentials(options);
  return security;
}

}  // namespace coilwright
