#pragma once

#include <string>
#include <vector>

#include "absl/status/status.h"
#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "absl/time/time.h"

// Certificates and keys as files in PEM, checked before gRPC gets them: of a wrong one it says nothing to the caller.
// Every error is INVALID_ARGUMENT, one line: flag, file, what was found, what is accepted.
namespace coilwright {

struct PemFile {
  std::string flag;  // that named it, with its dashes
  std::string path;
  std::string text;
};

// Reads a file of at most 1 MiB.
absl::StatusOr<PemFile> ReadPem(absl::string_view flag, const std::string& path);

// A certificate as people are told of it.
struct Certificate {
  std::string subject;  // "CN = bench 3, O = Harbour Lane"
  absl::Time begins;
  absl::Time ends;
  std::string says() const;  // "CN = bench 3, valid until 2027-03-01"
};

// Whose certificate it is: a server's and a client's name different uses.
enum class CertificateOf { kServer, kClient };

// The certificate that `chain` begins with: those after it must each have issued the one before, all must be valid at
// `now`, it must be good for its use, and `key` its private key, without a passphrase and strong enough for OpenSSL.
absl::StatusOr<Certificate> CheckIdentity(const PemFile& chain, const PemFile& key, CertificateOf use, absl::Time now);

// The certificates of authorities, of which at least one must be valid at `now`.
absl::StatusOr<std::vector<Certificate>> CheckAuthorities(const PemFile& file, absl::Time now);

// Whether everybody on this machine may read the file.
bool OthersMayRead(const std::string& path);

}  // namespace coilwright
