// coilwrightd told to serve by certificates, keys and addresses that will not do: one line that says why, exit status
// 2, and no archive made.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <filesystem>

#include "absl/strings/str_cat.h"
#include "calls/authority.h"
#include "calls/daemon.h"

namespace coilwright::calls {
namespace {

using ::testing::EndsWith;
using ::testing::HasSubstr;
using ::testing::Not;

class Certificates : public ::testing::Test {
 protected:
  std::string Refused(std::vector<std::string> flags) const {
    const std::string archive = folder_.path() + "/archive.db";
    flags.insert(flags.end(), {"--port=0", "--archive=" + archive});
    Daemon daemon(flags);
    EXPECT_EQ(daemon.Wait(), 2);
    EXPECT_FALSE(std::filesystem::exists(archive));
    const std::string errors = daemon.Errors();
    EXPECT_EQ(std::count(errors.begin(), errors.end(), '\n'), 1) << errors;
    EXPECT_THAT(errors, HasSubstr("accepted: "));
    return errors;
  }
  std::string RefusedPair(const std::string& certificate, const std::string& key) const {
    return Refused({"--tls_cert=" + folder_.Write("c.pem", certificate), "--tls_key=" + folder_.Write("k.pem", key)});
  }

  const CertificateFolder folder_;
  const Authority authority_{"Harbour Lane authority"};
  const Issued own_ = authority_.Issue({"server", true});
};

TEST_F(Certificates, ThatWillNotDoAreToldByFlagAndFile) {
  EXPECT_THAT(RefusedPair(own_.certificate, authority_.Issue({"x", true}).key),
              HasSubstr(absl::StrCat("--tls_key: ", folder_.path(), "/k.pem: got the key of another certificate")));
  EXPECT_THAT(RefusedPair("garbage", own_.key),
              HasSubstr(absl::StrCat("--tls_cert: ", folder_.path(), "/c.pem: got no PEM text")));
  EXPECT_THAT(RefusedPair("", own_.key), HasSubstr("got an empty file"));
  EXPECT_THAT(RefusedPair(own_.key, own_.certificate), HasSubstr("--tls_cert: "));
  EXPECT_THAT(RefusedPair(own_.certificate, own_.certificate),
              HasSubstr("k.pem: got a CERTIFICATE, accepted: the private"));
  EXPECT_THAT(RefusedPair(own_.certificate.substr(0, 300), own_.key), HasSubstr("--tls_cert: "));
  EXPECT_THAT(RefusedPair(own_.certificate + own_.certificate.substr(0, 300), own_.key),
              HasSubstr("got a damaged certificate after 1"));
  const Issued old = authority_.Issue({"server", true, -7200, -3600});
  EXPECT_THAT(RefusedPair(old.certificate, old.key), HasSubstr("got a certificate of CN = server that expired "));
  const Issued early = authority_.Issue({"server", true, 3600, 7200});
  EXPECT_THAT(RefusedPair(early.certificate, early.key), HasSubstr("got a certificate of CN = server that begins "));
  const Issued client = authority_.Issue({"bench 3"});
  EXPECT_THAT(RefusedPair(client.certificate, client.key), HasSubstr("that is not for this use"));
  EXPECT_THAT(RefusedPair(own_.certificate + Authority("Other").certificate(), own_.key),
              HasSubstr("got a certificate of CN = Other after one that it did not issue"));
}

TEST_F(Certificates, AreGivenTogether) {
  const std::string certificate = "--tls_cert=" + folder_.Write("c.pem", own_.certificate);
  const std::string key = "--tls_key=" + folder_.Write("k.pem", own_.key);
  const std::string ca = "--tls_client_ca=" + folder_.Write("ca.pem", authority_.certificate());
  EXPECT_THAT(Refused({certificate}), HasSubstr("without --tls_key"));
  EXPECT_THAT(Refused({key}), HasSubstr("without --tls_cert"));
  EXPECT_THAT(Refused({ca}), HasSubstr("without --tls_cert and --tls_key"));
  EXPECT_THAT(Refused({certificate, key, "--roles=r.json"}), HasSubstr("without --tls_client_ca"));
  EXPECT_THAT(
      Refused({certificate, key, "--tls_client_ca=" + folder_.path() + "/c.pem"}),
      HasSubstr("--tls_client_ca: " + folder_.path() + "/c.pem: got a certificate of CN = server, which is no"));
}

TEST_F(Certificates, AreToldAtTheStartWithWhoMayDoWhat) {
  const Issued soon = authority_.Issue({"server", true, -3600, 20 * 86400});
  const std::string key = folder_.Write("k.pem", soon.key);
  chmod(key.c_str(), 0644);
  Daemon daemon({"--port=0", "--tls_cert=" + folder_.Write("c.pem", soon.certificate), "--tls_key=" + key,
                 "--tls_client_ca=" + folder_.Write("ca.pem", authority_.certificate())});
  EXPECT_GT(PortIn(daemon.Line()), 0);
  EXPECT_THAT(daemon.Line(), HasSubstr("speaks TLS as CN = server, valid until 20"));
  EXPECT_THAT(daemon.Line(), HasSubstr("takes client certificates of CN = Harbour Lane authority, valid until 20"));
  EXPECT_THAT(daemon.Line(), EndsWith("may do everything; --roles says who may do what"));
  daemon.Signal(SIGTERM);
  EXPECT_EQ(daemon.Wait(), 0);
  const std::string errors = daemon.Errors();
  EXPECT_THAT(errors, HasSubstr("expires in less than 30 days"));
  EXPECT_THAT(errors, HasSubstr("everybody on this machine may read " + key));
}

TEST_F(Certificates, PlainTextStaysOnThisMachineUnlessAsked) {
  for (const char* host : {"0.0.0.0", "[::]", "::", "192.0.2.1", "127.example"}) {
    EXPECT_THAT(Refused({absl::StrCat("--host=", host)}), HasSubstr("in plain text, accepted: 127.0.0.1, TLS by"))
        << host;
  }
  Daemon asked({"--port=0", "--host=0.0.0.0", "--plain_text_beyond_loopback"});
  EXPECT_THAT(asked.Line(), HasSubstr("listening on 0.0.0.0:"));
  asked.Signal(SIGTERM);
  EXPECT_EQ(asked.Wait(), 0);
  EXPECT_THAT(asked.Errors(), HasSubstr("warning: listening on 0.0.0.0 in plain text: whoever is on this network"));
  Daemon loopback({"--port=0"});
  EXPECT_GT(PortIn(loopback.Line()), 0);
  loopback.Signal(SIGTERM);
  EXPECT_EQ(loopback.Wait(), 0);
  EXPECT_THAT(loopback.Errors(), Not(HasSubstr("warning")));
}

}  // namespace
}  // namespace coilwright::calls
