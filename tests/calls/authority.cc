#include "calls/authority.h"

#include <openssl/bio.h>
#include <openssl/ec.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/x509v3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "gtest/gtest.h"

namespace coilwright::calls {
namespace {

using Certificate = std::unique_ptr<X509, decltype(&X509_free)>;
using Key = std::unique_ptr<EVP_PKEY, decltype(&EVP_PKEY_free)>;

void Demand(bool done) {
  if (!done) std::abort();
}

std::string Text(const std::unique_ptr<BIO, decltype(&BIO_free)>& out) {
  const char* bytes = nullptr;
  const long size = BIO_get_mem_data(out.get(), &bytes);
  return std::string(bytes, static_cast<size_t>(size));
}

std::string Pem(X509* certificate) {
  const std::unique_ptr<BIO, decltype(&BIO_free)> out(BIO_new(BIO_s_mem()), BIO_free);
  Demand(PEM_write_bio_X509(out.get(), certificate) == 1);
  return Text(out);
}

std::string Pem(EVP_PKEY* key) {
  const std::unique_ptr<BIO, decltype(&BIO_free)> out(BIO_new(BIO_s_mem()), BIO_free);
  Demand(PEM_write_bio_PrivateKey(out.get(), key, nullptr, nullptr, 0, nullptr, nullptr) == 1);
  return Text(out);
}

void Extend(X509* certificate, X509* issuer, int nid, const std::string& value) {
  X509V3_CTX context;
  X509V3_set_ctx(&context, issuer, certificate, nullptr, nullptr, 0);
  X509_EXTENSION* extension = X509V3_EXT_conf_nid(nullptr, &context, nid, value.c_str());
  Demand(extension != nullptr && X509_add_ext(certificate, extension, -1) == 1);
  X509_EXTENSION_free(extension);
}

// Of a key and a common name, not signed yet.
Certificate Unsigned(EVP_PKEY* key, const std::string& common_name, int64_t begins, int64_t ends) {
  static long serial = 1000;
  Certificate certificate(X509_new(), X509_free);
  X509_set_version(certificate.get(), 2);
  ASN1_INTEGER_set(X509_get_serialNumber(certificate.get()), ++serial);
  X509_gmtime_adj(X509_getm_notBefore(certificate.get()), begins);
  X509_gmtime_adj(X509_getm_notAfter(certificate.get()), ends);
  X509_set_pubkey(certificate.get(), key);
  X509_NAME_add_entry_by_txt(X509_get_subject_name(certificate.get()), "CN", MBSTRING_UTF8,
                             reinterpret_cast<const unsigned char*>(common_name.data()),
                             static_cast<int>(common_name.size()), -1, 0);
  return certificate;
}

}  // namespace

struct Authority::Own {
  Key key{EVP_EC_gen("P-256"), EVP_PKEY_free};
  Certificate certificate{nullptr, X509_free};
};

Authority::Authority(const std::string& common_name) : own_(std::make_unique<Own>()) {
  own_->certificate = Unsigned(own_->key.get(), common_name, -86400, 365 * 86400);
  X509* own = own_->certificate.get();
  X509_set_issuer_name(own, X509_get_subject_name(own));
  Extend(own, own, NID_basic_constraints, "critical,CA:TRUE");
  Extend(own, own, NID_key_usage, "critical,keyCertSign,cRLSign");
  Demand(X509_sign(own, own_->key.get(), EVP_sha256()) > 0);
  certificate_ = Pem(own);
}

Authority::~Authority() = default;

Issued Authority::Issue(const Wanted& wanted) const {
  const Key key(EVP_EC_gen("P-256"), EVP_PKEY_free);
  const Certificate certificate = Unsigned(key.get(), wanted.common_name, wanted.begins_seconds, wanted.ends_seconds);
  X509* issuer = own_->certificate.get();
  X509_set_issuer_name(certificate.get(), X509_get_subject_name(issuer));
  Extend(certificate.get(), issuer, NID_ext_key_usage, wanted.server ? "serverAuth" : "clientAuth");
  if (wanted.server && !wanted.name.empty())
    Extend(certificate.get(), issuer, NID_subject_alt_name, "DNS:" + wanted.name + ",IP:127.0.0.1");
  Demand(X509_sign(certificate.get(), own_->key.get(), EVP_sha256()) > 0);
  return {Pem(certificate.get()), Pem(key.get())};
}

CertificateFolder::CertificateFolder() : path_(::testing::TempDir() + "coilwright_pem_XXXXXX") {
  Demand(mkdtemp(path_.data()) != nullptr);
}

CertificateFolder::~CertificateFolder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

std::string CertificateFolder::Write(const std::string& name, const std::string& text) const {
  const std::string file = path_ + "/" + name;
  std::ofstream(file, std::ios::binary | std::ios::trunc) << text;
  chmod(file.c_str(), S_IRUSR | S_IWUSR);
  return file;
}

}  // namespace coilwright::calls
