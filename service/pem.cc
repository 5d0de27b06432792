#include "pem.h"

#include <openssl/err.h>
#include <openssl/pem.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>
#include <sys/stat.h>

#include <algorithm>
#include <ctime>
#include <fstream>
#include <memory>
#include <utility>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"

namespace coilwright {
namespace {

template <auto kFree>
struct Freed {
  template <typename T>
  void operator()(T* object) const {
    kFree(object);
  }
};
using Bio = std::unique_ptr<BIO, Freed<BIO_free>>;
using X509Certificate = std::unique_ptr<X509, Freed<X509_free>>;
using Key = std::unique_ptr<EVP_PKEY, Freed<EVP_PKEY_free>>;
using Context = std::unique_ptr<SSL_CTX, Freed<SSL_CTX_free>>;

constexpr size_t kMostBytes = 1 << 20;

Bio Memory(const std::string& text) { return Bio(BIO_new_mem_buf(text.data(), static_cast<int>(text.size()))); }

absl::Status Wrong(const PemFile& file, absl::string_view got, absl::string_view accepted) {
  ERR_clear_error();
  return absl::InvalidArgumentError(absl::StrCat(file.flag, ": ", file.path, ": got ", got, ", accepted: ", accepted));
}

// What OpenSSL has to say, in its own words.
std::string Reason() {
  const char* reason = ERR_reason_error_string(ERR_peek_last_error());
  return reason == nullptr ? "no reason given" : reason;
}

// What the PEM blocks of a file are, for an error: "a PRIVATE KEY".
std::string Blocks(const PemFile& file) {
  const Bio text = Memory(file.text);
  std::vector<std::string> names;
  char* name = nullptr;
  char* header = nullptr;
  unsigned char* bytes = nullptr;
  long size = 0;
  while (names.size() < 4 && PEM_read_bio(text.get(), &name, &header, &bytes, &size) == 1) {
    names.push_back(absl::StrCat("a ", name));
    OPENSSL_free(name);
    OPENSSL_free(header);
    OPENSSL_free(bytes);
  }
  ERR_clear_error();
  if (!names.empty()) return absl::StrJoin(names, ", ");
  return file.text.empty() ? "an empty file" : "no PEM text";
}

std::string Subject(const X509* certificate) {
  const Bio out(BIO_new(BIO_s_mem()));
  X509_NAME_print_ex(out.get(), X509_get_subject_name(certificate), 0, XN_FLAG_ONELINE & ~ASN1_STRFLGS_ESC_MSB);
  const char* text = nullptr;
  const long size = BIO_get_mem_data(out.get(), &text);
  return size > 0 ? std::string(text, static_cast<size_t>(size)) : "a subject without a name";
}

absl::Time TimeOf(const ASN1_TIME* time) {
  std::tm parts = {};
  return ASN1_TIME_to_tm(time, &parts) == 1 ? absl::FromTM(parts, absl::UTCTimeZone()) : absl::InfinitePast();
}

Certificate Told(const X509* certificate) {
  return {Subject(certificate), TimeOf(X509_get0_notBefore(certificate)), TimeOf(X509_get0_notAfter(certificate))};
}

std::string Day(absl::Time time) { return absl::FormatTime("%Y-%m-%d %H:%M UTC", time, absl::UTCTimeZone()); }

// All certificates of a file.
absl::StatusOr<std::vector<X509Certificate>> Certificates(const PemFile& file, absl::string_view accepted) {
  const Bio text = Memory(file.text);
  std::vector<X509Certificate> read;
  while (X509* next = PEM_read_bio_X509(text.get(), nullptr, nullptr, nullptr)) read.emplace_back(next);
  const bool at_end = ERR_GET_REASON(ERR_peek_last_error()) == PEM_R_NO_START_LINE;
  ERR_clear_error();
  if (read.empty()) return Wrong(file, Blocks(file), accepted);
  if (!at_end) return Wrong(file, absl::StrCat("a damaged certificate after ", read.size()), accepted);
  return read;
}

// What is wrong with the dates of a certificate; empty where it is valid.
std::string WrongDates(const Certificate& told, absl::Time now) {
  if (told.ends < now) return absl::StrCat("a certificate of ", told.subject, " that expired ", Day(told.ends));
  if (told.begins > now) return absl::StrCat("a certificate of ", told.subject, " that begins ", Day(told.begins));
  return "";
}

absl::Status CheckKey(const PemFile& chain, X509* certificate, const PemFile& file) {
  const std::string wanted =
      absl::StrCat("the private key of the certificate in ", chain.path, ", without a passphrase");
  bool asked = false;
  const auto ask = [](char*, int, int, void* data) {
    *static_cast<bool*>(data) = true;
    return -1;
  };
  const Key key(PEM_read_bio_PrivateKey(Memory(file.text).get(), nullptr, ask, &asked));
  if (asked) return Wrong(file, "a key behind a passphrase", wanted);
  if (key == nullptr) return Wrong(file, Blocks(file), wanted);
  if (X509_check_private_key(certificate, key.get()) != 1) return Wrong(file, "the key of another certificate", wanted);
  // As gRPC will do it: too short keys and broken digests are refused by the system's policy.
  const Context context(SSL_CTX_new(TLS_method()));
  if (context != nullptr && (SSL_CTX_use_certificate(context.get(), certificate) != 1 ||
                             SSL_CTX_use_PrivateKey(context.get(), key.get()) != 1)) {
    return Wrong(chain, absl::StrCat("a certificate that OpenSSL refuses (", Reason(), ")"),
                 "such as an EC P-256 or RSA 2048 key, signed with SHA-256");
  }
  ERR_clear_error();
  return absl::OkStatus();
}

}  // namespace

std::string Certificate::says() const { return absl::StrCat(subject, ", valid until ", Day(ends)); }

absl::StatusOr<PemFile> ReadPem(absl::string_view flag, const std::string& path) {
  PemFile pem{std::string(flag), path, std::string(kMostBytes + 1, '\0')};
  std::ifstream file(path, std::ios::binary);
  if (file) file.read(&pem.text[0], static_cast<std::streamsize>(pem.text.size()));
  const bool read = file.is_open() && !file.bad() && (!file.fail() || file.eof());
  if (!read) return Wrong(pem, "a file that cannot be read", "a file in PEM");
  pem.text.resize(static_cast<size_t>(file.gcount()));
  if (pem.text.size() > kMostBytes) return Wrong(pem, "more than 1 MiB", "a file in PEM");
  return pem;
}

absl::StatusOr<Certificate> CheckIdentity(const PemFile& chain, const PemFile& key, CertificateOf use, absl::Time now) {
  constexpr char kAccepted[] = "a certificate in PEM, those of its issuers after it";
  const auto certificates = Certificates(chain, kAccepted);
  if (!certificates.ok()) return certificates.status();
  for (size_t i = 0; i < certificates->size(); ++i) {
    X509* certificate = (*certificates)[i].get();
    if (const std::string wrong = WrongDates(Told(certificate), now); !wrong.empty())
      return Wrong(chain, wrong, "one that is valid now");
    if (i > 0 && X509_check_issued(certificate, (*certificates)[i - 1].get()) != X509_V_OK) {
      return Wrong(chain, absl::StrCat("a certificate of ", Subject(certificate), " after one that it did not issue"),
                   kAccepted);
    }
  }
  X509* own = certificates->front().get();
  const bool server = use == CertificateOf::kServer;
  if (X509_check_purpose(own, server ? X509_PURPOSE_SSL_SERVER : X509_PURPOSE_SSL_CLIENT, 0) != 1) {
    return Wrong(chain, absl::StrCat("a certificate of ", Subject(own), " that is not for this use"),
                 server ? "one whose extended key usage allows serverAuth, or that has none"
                        : "one whose extended key usage allows clientAuth, or that has none");
  }
  if (absl::Status checked = CheckKey(chain, own, key); !checked.ok()) return checked;
  return Told(own);
}

absl::StatusOr<std::vector<Certificate>> CheckAuthorities(const PemFile& file, absl::Time now) {
  constexpr char kAccepted[] = "certificates of authorities in PEM";
  const auto certificates = Certificates(file, kAccepted);
  if (!certificates.ok()) return certificates.status();
  std::vector<Certificate> told;
  std::string wrong;
  for (const X509Certificate& certificate : *certificates) {
    told.push_back(Told(certificate.get()));
    if (X509_check_ca(certificate.get()) == 0) {
      return Wrong(file, absl::StrCat("a certificate of ", told.back().subject, ", which is no authority"), kAccepted);
    }
    if (wrong.empty()) wrong = WrongDates(told.back(), now);
  }
  const auto valid = [&](const Certificate& one) { return WrongDates(one, now).empty(); };
  if (std::none_of(told.begin(), told.end(), valid)) return Wrong(file, wrong, "at least one that is valid now");
  return told;
}

bool OthersMayRead(const std::string& path) {
  struct stat status = {};
  return stat(path.c_str(), &status) == 0 && (status.st_mode & S_IROTH) != 0;
}

}  // namespace coilwright
