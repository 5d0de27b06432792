#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

namespace coilwright::calls {

// A certificate and its key, in PEM.
struct Issued {
  std::string certificate;
  std::string key;
};

struct Wanted {
  std::string common_name;
  bool server = false;  // else of a client
  // Valid from and until this many seconds from now.
  int64_t begins_seconds = -3600;
  int64_t ends_seconds = 90 * 86400;
  std::string name = "localhost";  // of a server, beside 127.0.0.1; empty: for neither
};

// An authority that lives as long as a test, with a key nobody else has.
class Authority {
 public:
  explicit Authority(const std::string& common_name);
  ~Authority();
  Authority(const Authority&) = delete;
  Authority& operator=(const Authority&) = delete;

  const std::string& certificate() const { return certificate_; }
  Issued Issue(const Wanted& wanted) const;

 private:
  struct Own;
  std::unique_ptr<Own> own_;
  std::string certificate_;
};

// Files in a folder that goes with the test.
class CertificateFolder {
 public:
  CertificateFolder();
  ~CertificateFolder();
  CertificateFolder(const CertificateFolder&) = delete;
  CertificateFolder& operator=(const CertificateFolder&) = delete;

  // Writes a file that its owner alone may read, and gives its whole path.
  std::string Write(const std::string& name, const std::string& text) const;
  const std::string& path() const { return path_; }

 private:
  std::string path_;
};

}  // namespace coilwright::calls
